/** The loupe: what is under the thumb, four times as large, above or beside it. */

import { h } from '../dom.js';
import { drawMarks } from './face.js';
import { moveTo, s, short, slide } from './shapes.js';
import { LOUPE, LOUPE_TIMES, loupePlace, magnified } from './view.js';

/** The least radius of the ring that stands for the shaft, CSS px; a smaller one would hide in the cross. */
const LEAST_SHAFT = 3;

/**
 * @param {import('./ground.js').Ground} ground
 */
export function loupe(ground) {
    const half = LOUPE.across / 2;
    const marks = s('g', null);
    const shaft = s('g', { class: 'shaft', transform: moveTo([half, half]) });
    const over = s('svg', { class: 'lens-over', viewBox: `0 0 ${LOUPE.across} ${LOUPE.across}`, 'aria-hidden': 'true' },
        marks, crosshair(half), shaft);
    const element = h('div', { class: 'loupe', 'aria-hidden': 'true' }, ground.lens, over);
    let was = null;
    return {
        element,
        /** Gets ready for a press: what is drawn now is only moved while the thumb drags. */
        prepare(view, list, shaft_px, line) {
            const near = magnified(view, LOUPE_TIMES);
            ground.prepare(near);
            // The arrow that is about to be moved would hide where it goes.
            const others = list.filter((mark) => !mark.chosen);
            marks.replaceChildren(...(line ? [line(near)] : []), drawMarks(others, near));
            shaft.replaceChildren(...shaftRing(shaft_px * LOUPE_TIMES));
            was = null;
        },
        show(thumb, aim, room) {
            const corner = aim.map((v) => LOUPE_TIMES * v - half);
            ground.look(corner);
            slide(marks, [-corner[0], -corner[1]]);
            const place = loupePlace(thumb, room, was);
            was = place.side;
            slide(element, [place.x, place.y]);
            element.classList.add('shown');
        },
        hide() {
            element.classList.remove('shown');
        },
    };
}

function crosshair(half) {
    const gap = 13;
    const d = `M${half} 0V${half - gap}M${half} ${half + gap}V${2 * half}M0 ${half}H${half - gap}M${half + gap} ${half}H${2 * half}`;
    return s('g', { class: 'crosshair' }, s('path', { class: 'casing', d }), s('path', { class: 'line', d }),
        s('circle', { class: 'casing dot', cx: half, cy: half, r: 2.5 }), s('circle', { class: 'line dot', cx: half, cy: half, r: 1.5 }));
}

/** The shaft at its own size, so that one sees whether it touches a line. */
function shaftRing(across_px) {
    const r = across_px / 2;
    return r < LEAST_SHAFT ? [] : [s('circle', { class: 'casing', r: short(r) }), s('circle', { class: 'line', r: short(r) })];
}
