/**
 * What arrows are placed on: a face, or a picture of one. A ground has a part for the pane and one for the loupe;
 * `draw` follows the view of the pane, `prepare` the view of the loupe, and `look` moves the loupe's part, which is
 * all that happens while a thumb drags.
 *
 * @typedef {import('./view.js').View} View
 * @typedef {object} Ground
 * @property {Element} element
 * @property {Element} lens
 * @property {(view: View) => void} draw
 * @property {(view: View) => void} prepare
 * @property {(corner: [number, number]) => void} look the loupe's top left corner in its view, CSS px
 */

import { h } from '../dom.js';
import { drawFace, faceTransform } from './face.js';
import { s, slide } from './shapes.js';
import { LOUPE, toPx } from './view.js';

/**
 * @param {import('./face.js').Face} face
 * @returns {Ground}
 */
export function faceGround(face) {
    const [whole, near] = [drawFace(face), drawFace(face)];
    const panned = s('g', null, near);
    const element = s('svg', { class: 'ground', 'aria-hidden': 'true' }, whole);
    const lens = s('svg', { class: 'lens-ground', 'aria-hidden': 'true' }, panned);
    return {
        element,
        lens,
        draw(view) {
            element.setAttribute('viewBox', `0 0 ${view.size} ${view.size}`);
            whole.setAttribute('transform', faceTransform(view));
        },
        prepare(view) {
            near.setAttribute('transform', faceTransform(view));
        },
        look([x, y]) {
            slide(panned, [-x, -y]);
        },
    };
}

/**
 * @param {HTMLCanvasElement | ImageBitmap} picture
 * @returns {Ground}
 */
export function pictureGround(picture) {
    const [element, lens] = [h('canvas', { class: 'ground' }), h('canvas', { class: 'lens-ground' })];
    let near = null;
    return {
        element,
        lens,
        draw(view) {
            paint(element, picture, view, [0, 0], view.size);
        },
        prepare(view) {
            near = view;
        },
        look(corner) {
            paint(lens, picture, near, corner, LOUPE.across);
        },
    };
}

/** Paints the part of a picture that a square of the view shows. */
function paint(canvas, picture, view, [left, top], side) {
    const dots = Math.min(window.devicePixelRatio || 1, 3);
    const across = Math.round(side * dots);
    if (canvas.width !== across) {
        canvas.width = across;
        canvas.height = across;
    }
    const pen = canvas.getContext('2d', { alpha: false });
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.fillStyle = '#777777';
    pen.fillRect(0, 0, across, across);
    const scale = view.scale * dots;
    pen.setTransform(scale, 0, 0, scale, (view.origin[0] - left) * dots, (view.origin[1] - top) * dots);
    pen.drawImage(picture, 0, 0);
}

/**
 * A picture that was laid flat, on the plane of the face.
 * @param {HTMLCanvasElement} flat
 * @param {number} half_mm half of its side
 * @returns {Ground}
 */
export function flatGround(flat, half_mm) {
    const ground = pictureGround(flat);
    const inPx = (view) => ({
        size: view.size, scale: (view.scale * 2 * half_mm) / flat.width, origin: toPx(view, [-half_mm, half_mm]), up: -1,
    });
    return { ...ground, draw: (view) => ground.draw(inPx(view)), prepare: (view) => ground.prepare(inPx(view)) };
}
