/** What was typed and what was wrong with it: said next to the field, and nothing typed is lost. */

import { h, field, line, choice } from '../dom.js';

const under_way = new WeakSet();

/** Says that something was written: it is sent on, and the chip counts anew. */
export function written(app) {
    app.sync.sync();
    app.sync.look().catch(app.fail);
}

/**
 * Runs what a touch in `place` began, once at a time; an error is said next to the field that it names, first of all in
 * `near`, or else at the top. Returns what `work` does, or undefined.
 */
export async function tried(app, place, work, near = place) {
    if (under_way.has(place)) return undefined;
    under_way.add(place);
    forgive(place);
    try {
        return await work();
    } catch (e) {
        if (!pointOut(near, e) && !pointOut(place, e)) app.fail(e);
        return undefined;
    } finally {
        under_way.delete(place);
    }
}

/** Takes back what was said to be wrong. */
function forgive(place) {
    place.querySelectorAll('.wrong').forEach((words) => words.remove());
    place.querySelectorAll('[aria-invalid]').forEach((input) => {
        input.removeAttribute('aria-invalid');
        describe(input, input.getAttribute('aria-describedby')?.split(' ').filter((id) => id !== `${input.id}w`) ?? []);
    });
}

function describe(input, ids) {
    if (ids.length > 0) input.setAttribute('aria-describedby', ids.join(' '));
    else input.removeAttribute('aria-describedby');
}

/** Says what was wrong below the field that the error names, or at the part of the screen that does; else false. */
function pointOut(place, e) {
    const fits = (key) => key && (key === e.field || e.field?.endsWith(`.${key}`) || e.field?.startsWith(`${key}.`));
    const input = [...place.querySelectorAll('input[data-field], [name]')].find((found) => fits(found.dataset.field ?? found.name))
        ?? [...place.querySelectorAll('[data-field]')].find((found) => fits(found.dataset.field));
    if (!input) return false;
    for (let around = input.closest('details'); around; around = around.parentElement.closest('details')) around.open = true;
    const words = h('p', { class: 'wrong', id: `${input.id || e.field}w`, role: 'alert', tabindex: -1 }, e.message);
    const typed = input.matches('input, select, textarea');
    if (typed) {
        input.setAttribute('aria-invalid', 'true');
        describe(input, [...(input.getAttribute('aria-describedby')?.split(' ') ?? []), words.id]);
    }
    (input.closest('.field') ?? input).append(words);
    (typed ? input : words).focus();
    return true;
}

/** Makes a form that is sent by its button or by Enter. */
export function form(props, send, ...children) {
    const made = h('form', { novalidate: true, ...props, onsubmit: (event) => {
        event.preventDefault();
        send(made);
    } }, ...children);
    return made;
}

/**
 * Makes a field for a moment: day and time, each with what the phone has to choose them. Where one is chosen and the
 * other is empty, that becomes today or now. The whole stands under its name in a field that is not shown.
 */
export function moment(words, at, { name = 'at', oninput } = {}, hint = null) {
    const whole = h('input', { type: 'hidden', name, value: wall(at), dataset: { moment: '' } });
    const [day, time] = [...whole.value.split('T'), ''];
    const part = (type, value, label, field_) => h('input', { type, value, 'aria-label': `${words}: ${label}`, id: `m${(moment.count = (moment.count ?? 0) + 1)}`, dataset: field_ });
    const [dayPart, timePart] = [part('date', day, 'day', { field: name }), part('time', time, 'time', {})];
    const ahead = h('p', { class: 'hint', role: 'status' });
    const joined = () => {
        const shown = new Date(`${dayPart.value}T${timePart.value}`);
        ahead.textContent = shown > Date.now() ? 'That is ahead of this phone\'s clock.' : '';
        whole.value = [dayPart.value, timePart.value].filter(Boolean).join('T');
        oninput?.({ target: whole });
    };
    const filled = (chosen, other, of) => () => {
        const now = new Date(Date.now() - new Date().getTimezoneOffset() * 60_000).toISOString().slice(0, 16).split('T');
        if (chosen.value && !other.value) other.value = now[of];
        joined();
    };
    [dayPart, timePart].forEach((input) => input.addEventListener('input', joined));
    dayPart.addEventListener('change', filled(dayPart, timePart, 1));
    timePart.addEventListener('change', filled(timePart, dayPart, 0));
    return h('fieldset', { class: 'field' }, h('legend', {}, words), h('div', { class: 'moment' }, dayPart, timePart), whole, ahead, hint && h('p', { class: 'hint' }, hint));
}

/** Returns a recorded moment as such a field holds it: the time on the wall where it was. */
export function wall(at) {
    return at ? String(at).slice(0, 16).replace(' ', 'T') : '';
}

/** Returns what the model reads of such a field; nothing for an empty one. */
export function typedMoment(value) {
    return value.trim().replace('T', ' ') || undefined;
}

/** Returns a text of several lines. */
export function text(value, props = {}) {
    const area = h('textarea', { rows: 2, maxlength: 2000, ...props });
    area.value = value ?? '';
    return area;
}

/** Makes the field of a record by its form; what it links to is fetched from the model. */
export async function fieldOf(app, { field: name, name: words, unit, form: kind, choices, of, range }, value) {
    const label = capital(unit ? `${words}, ${unit}` : words);
    const hint = range && kind === 'number' ? `From ${range[0]} to ${range[1]} ${unit}`.trim() : null;
    if (kind === 'moment') return moment(label, value, { name });
    if (kind === 'choice') return field(label, choice([nothing, ...choices.map((id) => ({ id, name: id.replaceAll('_', ' ') }))], value ?? '', { name }));
    if (kind === 'link') {
        const { things } = await app.call('things', { kind: of });
        return field(label, choice([nothing, ...things], value ?? '', { name }));
    }
    if (name === 'note' || name === 'text') return field(label, text(value, { name }));
    const inputmode = { count: 'numeric', number: 'decimal' }[kind];
    return field(label, line(value ?? '', { name, inputmode }), hint);
}

const nothing = { id: '', name: 'not noted' };

/** Returns what stands in the fields of a form, by name. */
export function valuesOf(place) {
    return Object.fromEntries([...place.querySelectorAll('[name]')].map((input) =>
        [input.name, 'moment' in input.dataset ? (typedMoment(input.value) ?? '') : input.value]));
}

/** Returns the words with a capital at their beginning. */
export const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);

/** Makes a caution of the model; the style says "Care." before it, save where it begins with "Stop." itself. */
export const caution = (words) => h('p', { class: words.startsWith('Stop. ') ? 'caution stop' : 'caution' }, words);

/** Makes the cautions of the model. */
export function cautions(list) {
    return (list ?? []).map(caution);
}
