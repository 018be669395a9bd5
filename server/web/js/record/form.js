/** What was typed and what was wrong with it: said next to the field, and nothing typed is lost. */

import { h, field, line, choice } from '../dom.js';

const under_way = new WeakSet();

/** Says that something was written: it is sent on, and the chip counts anew. */
export function written(app) {
    app.sync.sync();
    app.sync.look().catch(app.fail);
}

/**
 * Runs what a touch in `place` began, once at a time; an error is said next to the field that it names, or else at the
 * top. Returns what `work` does, or undefined.
 */
export async function tried(app, place, work) {
    if (under_way.has(place)) return undefined;
    under_way.add(place);
    forgive(place);
    try {
        return await work();
    } catch (e) {
        if (!pointOut(place, e)) app.fail(e);
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
    const named = ({ name, dataset }) => [name, dataset.field].some((key) => key && (key === e.field || e.field.endsWith(`.${key}`) || e.field.startsWith(`${key}.`)));
    const input = e.field && [...place.querySelectorAll('[name], [data-field]')].find(named);
    if (!input) return false;
    for (let around = input.closest('details'); around; around = around.parentElement.closest('details')) around.open = true;
    const words = h('p', { class: 'wrong', id: `${input.id || e.field}w`, role: 'alert', tabindex: -1 }, e.message);
    if (input.name) {
        input.setAttribute('aria-invalid', 'true');
        describe(input, [...(input.getAttribute('aria-describedby')?.split(' ') ?? []), words.id]);
    }
    (input.closest('.field') ?? input).append(words);
    (input.name ? input : words).focus();
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

/** Makes a field for a moment; the phone's own clock and calendar where it has them. */
export function moment(words, at, props = {}, hint = null) {
    return field(words, h('input', { type: 'datetime-local', name: 'at', ...props, value: wall(at) }), hint);
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
        [input.name, input.type === 'datetime-local' ? (typedMoment(input.value) ?? '') : input.value]));
}

/** Returns the words with a capital at their beginning. */
export const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);

/** Makes the cautions of the model; the style says "Care." before each. */
export function cautions(list) {
    return (list ?? []).map((words) => h('p', { class: 'caution' }, capital(words.replace(/^care[:.]\s*/i, ''))));
}
