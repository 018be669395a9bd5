/**
 * Draws a face, the arrows on it, and what the model says of them. Colours are classes: `place.css` gives them.
 *
 * @typedef {import('./view.js').View} View
 * @typedef {[number, number]} Point
 *
 * @typedef {object} Face as the model gives it
 * @property {string} code
 * @property {string} name
 * @property {number} radius_mm
 * @property {{points: number, outer_radius_mm: number, colour?: string}[]} zones the highest first
 * @property {number | null} inner10_radius_mm
 *
 * @typedef {object} Mark
 * @property {Point} at on the plane
 * @property {string} text its number, or which arrow of the end it is
 * @property {boolean} [flyer]
 * @property {boolean} [bare]
 * @property {boolean} [missed] beside the face
 * @property {boolean} [chosen]
 */

import { moveTo, s, short } from './shapes.js';
import { toPx } from './view.js';

/** Half the side of a mark, CSS px. */
const MARK = 9;

/**
 * Draws the rings in mm about the middle, y down: its owner moves and scales it.
 * @param {Face} face
 * @returns {SVGGElement}
 */
export function drawFace(face) {
    const outwards = [...face.zones].sort((a, b) => b.outer_radius_mm - a.outer_radius_mm);
    const rings = outwards.map((zone) => s('circle', { class: `ring ring-${zone.colour ?? 'plain'}`, r: zone.outer_radius_mm }));
    const lines = outwards.map((zone, i) => s('circle', { class: `ring-line ${lineOn(zone, outwards[i - 1])}`, r: zone.outer_radius_mm }));
    const inner = face.inner10_radius_mm;
    const ten = inner === null || inner === undefined
        ? null
        : s('circle', { class: 'ring-line thin on-light', r: inner });
    const cross = outwards[outwards.length - 1].outer_radius_mm * 0.12;
    const middle = s('path', { class: 'ring-line thin on-light', d: `M${-cross} 0H${cross}M0 ${-cross}V${cross}` });
    return s('g', { class: 'face' }, ...rings, ...lines, ten, middle);
}

/** The line between two black zones is white, as printed; every other one is black. */
function lineOn(zone, outside) {
    const black = zone.colour === 'black' && outside?.colour === 'black';
    return black ? 'on-dark' : 'on-light';
}

/**
 * Returns the transform under which a face drawn by `drawFace` lies as the view has it.
 * @param {View} view
 */
export function faceTransform(view) {
    // Three digits of the scale would draw the rim of a large face half a millimetre off its marks.
    return `${moveTo(view.origin)} scale(${view.scale})`;
}

/**
 * Draws arrows at their size on the screen, whatever the view magnifies.
 * @param {Mark[]} marks
 * @param {View} view
 * @returns {SVGGElement}
 */
export function drawMarks(marks, view) {
    const later = [...marks].sort((a, b) => Number(Boolean(a.chosen)) - Number(Boolean(b.chosen)));
    return s('g', { class: 'marks' }, ...later.map((mark) => drawMark(mark, toPx(view, mark.at))));
}

/**
 * Draws one arrow: a disc; a flyer is a diamond, a bare shaft a square, both a star, one beside the face a cross.
 * @param {Mark} mark
 * @param {Point} px
 */
function drawMark(mark, px) {
    const kind = kindOf(mark);
    const shape = SHAPES[kind];
    const group = s('g', { class: `arrow-mark ${kind}${mark.chosen ? ' chosen' : ''}`, transform: moveTo(px) });
    if (mark.chosen) {
        group.append(s('circle', { class: 'halo', r: MARK + 7 }));
    }
    group.append(s('path', { class: 'casing', d: shape }), s('path', { class: 'body', d: shape }));
    group.append(s('text', { class: 'number', y: 4, 'text-anchor': 'middle' }, mark.text.slice(0, 3)));
    return group;
}

/** Returns the word for the shape of a mark. */
export function kindOf(mark) {
    if (mark.flyer && mark.bare) {
        return 'flyer-bare';
    }
    if (mark.flyer) {
        return 'flyer';
    }
    if (mark.bare) {
        return 'bare';
    }
    return mark.missed ? 'missed' : 'plain';
}

/** Each shape about its middle, CSS px. */
const SHAPES = {
    plain: `M${-MARK} 0a${MARK} ${MARK} 0 1 1 ${2 * MARK} 0a${MARK} ${MARK} 0 1 1 ${-2 * MARK} 0Z`,
    flyer: star(4, 12, 8.5),
    bare: 'M-8 -8H8V8H-8Z',
    'flyer-bare': star(8, 12.5, 8),
    missed: cross(11, 5),
};

function star(points, outer, inner) {
    const at = (i) => {
        const [r, turn] = [i % 2 === 0 ? outer : inner, (Math.PI * i) / points];
        return `${short(r * Math.sin(turn))} ${short(-r * Math.cos(turn))}`;
    };
    return `M${Array.from({ length: 2 * points }, (_, i) => at(i)).join('L')}Z`;
}

/** An upright cross with arms as wide as twice `half`. */
function cross(reach, half) {
    return `M${-half} ${-reach}H${half}V${-half}H${reach}V${half}H${half}V${reach}H${-half}V${half}H${-reach}V${-half}H${-half}Z`;
}

/**
 * Draws the mean of the arrows and the ellipses about it.
 * @param {{mpi_mm: Point, ellipse?: object | null, spread_ellipse?: object | null} | null} figures as the model gives them
 * @param {View} view
 * @returns {SVGGElement}
 */
export function drawFigures(figures, view) {
    const group = s('g', { class: 'figures' });
    if (!figures) {
        return group;
    }
    // One that is wider than the picture says only that too few arrows are there, and hides them.
    const shown = ([it]) => it && it.semi_mm[0] * view.scale < view.size / 2;
    const ellipses = [[figures.spread_ellipse, 'spread'], [figures.ellipse, 'of-mean']].filter(shown);
    for (const [ellipse, kind] of ellipses) {
        group.append(drawEllipse(ellipse, kind, 'casing', view), drawEllipse(ellipse, kind, 'line', view));
    }
    if (figures.mpi_mm) {
        const arms = 'M-10 0H10M0 -10V10';
        const mean = s('g', { class: 'mean', transform: moveTo(toPx(view, figures.mpi_mm)) });
        mean.append(s('path', { class: 'casing', d: arms }), s('path', { class: 'line', d: arms }));
        group.append(mean);
    }
    return group;
}

function drawEllipse({ centre_mm, semi_mm, angle_rad }, kind, part, view) {
    const [x, y] = toPx(view, centre_mm);
    const turn = (-180 * view.up * angle_rad) / Math.PI;
    return s('ellipse', {
        class: `ellipse ${kind} ${part}`,
        rx: short(semi_mm[0] * view.scale),
        ry: short(semi_mm[1] * view.scale),
        transform: `${moveTo([x, y])} rotate(${short(turn)})`,
    });
}

/**
 * Returns the marks of an end: those that struck, with what the model says of them.
 * @param {{mm: Point | null, number?: string, flyer?: boolean, bare?: boolean}[]} arrows
 * @param {{ring: string}[]} rings one an arrow, as far as the model has answered
 * @param {number | null} chosen
 * @returns {Mark[]}
 */
export function marksOf(arrows, rings, chosen) {
    return arrows.flatMap((arrow, i) => (arrow.mm === null ? [] : [{
        at: arrow.mm,
        text: arrow.number || String(i + 1),
        flyer: Boolean(arrow.flyer),
        bare: Boolean(arrow.bare),
        missed: rings[i]?.ring === 'M',
        chosen: i === chosen,
    }]));
}
