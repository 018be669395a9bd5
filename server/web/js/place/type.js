/** Typed entry: a whole end in one line, or one arrow by two large keys, its ring and where the hour hand points. */

import { h, once } from '../dom.js';

const HOURS = [12, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11];

/**
 * Returns the rings of a face as they are typed, the best first; M is a miss.
 * @param {import('./face.js').Face} face
 */
export function ringsOf(face) {
    const inner = face.inner10_radius_mm === null || face.inner10_radius_mm === undefined ? [] : ['X'];
    return [...inner, ...face.zones.map((zone) => String(zone.points)), 'M'];
}

/**
 * Returns an arrow as it is typed.
 * @param {string} ring
 * @param {number} hour
 * @param {boolean} half half past
 */
export function shotText(ring, hour, half) {
    return `${ring}@${hour}${half ? ':30' : ''}`;
}

/**
 * @param {object} to
 * @param {import('./face.js').Face} to.face
 * @param {(text: string) => Promise<object[]>} to.typed reads arrows from text; throws what is wrong with it
 * @param {(arrows: object[]) => void} to.onarrows
 */
export function typing(to) {
    const state = { face: to.face, ring: null, half: false };
    const wrong = h('p', { class: 'place-wrong', role: 'alert' });
    const read = async (text) => {
        wrong.textContent = '';
        try {
            to.onarrows(await to.typed(text, state.face));
            return true;
        } catch (error) {
            wrong.textContent = error.message;
            return false;
        }
    };
    const line = typedLine(read);
    const keys = h('div', { class: 'key-board' });
    drawKeys(keys, state, read);
    return h('div', { class: 'typing' }, keys, wrong, line);
}

function typedLine(read) {
    const field = h('input', {
        id: 'typed-end', class: 'typed-end', type: 'text', inputmode: 'text', autocomplete: 'off', autocapitalize: 'characters',
        autocorrect: 'off', spellcheck: 'false', enterkeyhint: 'done', 'aria-describedby': 'typed-how',
    });
    const add = once(async () => {
        const text = field.value;
        // What was typed stays until it is read, and what was typed meanwhile stays too.
        if (text.trim() !== '' && await read(text) && field.value === text) {
            field.value = '';
        }
    });
    const submit = (event) => {
        event.preventDefault();
        add(event);
    };
    return h('form', { class: 'typed-line', onsubmit: submit },
        h('label', { for: 'typed-end' }, 'Arrows of the end'),
        h('div', { class: 'typed-row' }, field, h('button', { class: 'place-key', type: 'submit' }, 'Add')),
        h('p', { id: 'typed-how', class: 'place-hint' }, 'Ring @ o\'clock, like 9@4:30 X@2 M. A flyer ends in !, a bare shaft in b.'));
}

function drawKeys(keys, state, read) {
    const again = () => drawKeys(keys, state, read);
    const ringKey = (ring) => h('button', {
        class: 'place-key ring-key', type: 'button', dataset: { key: ring }, 'aria-label': ring === 'M' ? 'Missed' : `Ring ${ring}`,
        'aria-pressed': String(state.ring === ring),
        onclick: () => (ring === 'M' ? read('M') : choose(ring)),
    }, ring);
    const choose = (ring) => {
        state.ring = state.ring === ring ? null : ring;
        again();
    };
    const hourKey = (hour) => h('button', {
        class: 'place-key hour-key', type: 'button', dataset: { key: `at ${hour}` }, disabled: state.ring === null,
        'aria-label': state.half ? `half past ${hour}` : `${hour} o'clock`,
        onclick: async () => {
            const text = shotText(state.ring, hour, state.half);
            state.ring = null;
            again();
            await read(text);
        },
    }, state.half ? `${hour}½` : String(hour));
    const half = h('button', {
        class: 'place-key half-key', type: 'button', dataset: { key: 'half' }, 'aria-pressed': String(state.half),
        onclick: () => { state.half = !state.half; again(); },
    }, 'half past');
    const held = keys.contains(document.activeElement) ? document.activeElement.dataset.key : null;
    keys.replaceChildren(
        h('p', { class: 'place-label', id: 'ring-keys' }, '1. Ring'),
        h('div', { class: 'keys', role: 'group', 'aria-labelledby': 'ring-keys' }, ...ringsOf(state.face).map(ringKey)),
        h('div', { class: 'hour-row' },
            h('p', { class: 'place-label', id: 'hour-keys' }, state.ring === null ? '2. Where the hour hand points' : `2. Where is the ${state.ring}?`), half),
        h('div', { class: 'keys', role: 'group', 'aria-labelledby': 'hour-keys' }, ...HOURS.map(hourKey)));
    refocus(keys, held);
}

/** Keys are drawn anew; who came by keyboard or screen reader stays where they were. */
function refocus(keys, held) {
    if (held === null || held === undefined) {
        return;
    }
    const again = [...keys.querySelectorAll('[data-key]')].find((key) => key.dataset.key === held);
    const next = again && !again.disabled ? again : keys.querySelector('[data-key]');
    next?.focus();
}
