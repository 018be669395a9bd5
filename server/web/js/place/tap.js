/**
 * Tap, then tap in the zoom: placing with no dragging at all (WCAG 2.2, 2.5.7). The zoom stays where it is after an
 * arrow, so that a group costs one tap an arrow; the small map shows which part is in view, and a tap on it goes back.
 */

import { h } from '../dom.js';
import { moveTo, s, short } from './shapes.js';
import { fromClient, shownPart, toPlane, zoomed } from './view.js';

/** How many times the zoom magnifies. */
export const ZOOM_TIMES = 5;

/** Side of the map, CSS px. */
const MAP = 88;

/**
 * Returns what a tap means: the part to show from now on, or the point of the plane that was meant.
 * @param {import('./view.js').View} whole
 * @param {import('./view.js').View | null} part what is shown now; null: the whole
 * @param {[number, number]} at CSS px in the square
 * @returns {{part: import('./view.js').View} | {point: [number, number]}}
 */
export function tapped(whole, part, at) {
    return part === null ? { part: zoomed(whole, at, ZOOM_TIMES) } : { point: toPlane(part, at) };
}

/**
 * Listens for taps on a square.
 * @param {HTMLElement} square
 * @param {object} to
 * @param {() => boolean} to.enabled
 * @param {() => {whole: import('./view.js').View, part: import('./view.js').View | null}} to.views
 * @param {(part: import('./view.js').View) => void} to.onpart
 * @param {(point: [number, number]) => void} to.onpoint
 */
export function tapOn(square, to) {
    square.addEventListener('click', (event) => {
        // A click of the keyboard has no place.
        if (!to.enabled() || event.detail === 0 || event.target.closest('button')) {
            return;
        }
        const { whole, part } = to.views();
        const at = fromClient(square.getBoundingClientRect(), whole.size, [event.clientX, event.clientY]);
        const meant = tapped(whole, part, at);
        if (meant.part) {
            to.onpart(meant.part);
        } else {
            to.onpoint(meant.point);
        }
    });
}

/**
 * Makes the map of the part in view, which is the way back to the whole.
 * @param {import('./ground.js').Ground} ground one of its own
 * @param {(size: number) => import('./view.js').View} fit
 * @param {() => void} onback
 */
export function map(ground, fit, onback) {
    const frame = s('g', null);
    const over = s('svg', { class: 'map-over', viewBox: `0 0 ${MAP} ${MAP}`, 'aria-hidden': 'true' }, frame);
    const words = h('span', { class: 'map-words' }, 'Whole');
    const element = h('button', { class: 'map', type: 'button', 'aria-label': 'Show the whole again', onclick: onback, hidden: true },
        ground.element, over, words);
    return {
        element,
        show(whole, part) {
            element.hidden = part === null;
            if (part === null) {
                return;
            }
            const small = fit(MAP);
            ground.draw(small);
            const { x, y, side } = shownPart(whole, part);
            const less = MAP / whole.size;
            const size = { width: short(side * less), height: short(side * less) };
            frame.setAttribute('transform', moveTo([x * less, y * less]));
            frame.replaceChildren(s('rect', { class: 'casing', ...size }), s('rect', { class: 'line', ...size }));
        },
    };
}
