/** Moving an arrow that is placed, by four large buttons and a step. */

import { h } from '../dom.js';

const WAYS = [
    { name: 'left', by: [-1, 0], sign: '◀' },
    { name: 'up', by: [0, 1], sign: '▲' },
    { name: 'down', by: [0, -1], sign: '▼' },
    { name: 'right', by: [1, 0], sign: '▶' },
];

/**
 * Returns the steps on a face, mm: the usual one first, a fine one, a coarse one.
 * @param {number} radius_mm
 */
export function stepsOn(radius_mm) {
    return radius_mm <= 300 ? [1, 0.2, 5] : [2, 0.5, 10];
}

/** Returns where an arrow is after a step; to a tenth of a mm, as the record keeps it. */
export function nudged([x, y], by, step_mm) {
    return [x + by[0] * step_mm, y + by[1] * step_mm].map((v) => Math.round(v * 10) / 10);
}

/**
 * Makes the buttons.
 * @param {object} to
 * @param {number} to.radius_mm of the face
 * @param {(by: [number, number], step_mm: number, words: string) => void} to.onmove
 */
export function nudge(to) {
    const steps = stepsOn(to.radius_mm);
    let at = 0;
    const length = () => `${steps[at]} mm`;
    const ways = WAYS.map(({ name, by, sign }) => h('button', {
        class: 'place-key nudge', type: 'button', 'aria-label': `Move ${name}`, onclick: () => to.onmove(by, steps[at], `${length()} ${name}`),
    }, sign));
    const step = h('button', { class: 'place-key nudge-step', type: 'button', onclick: () => turn(1) });
    const turn = (by) => {
        at = (at + by) % steps.length;
        step.textContent = `± ${length()}`;
        step.setAttribute('aria-label', `Step ${length()}; tap for ${steps[(at + 1) % steps.length]} mm`);
    };
    turn(0);
    const element = h('div', { class: 'nudges', role: 'group', 'aria-label': 'Move the arrow' }, ...ways, step);
    return Object.assign(element, {
        enabled: (yes) => { ways.forEach((way) => { way.disabled = !yes; }); },
    });
}
