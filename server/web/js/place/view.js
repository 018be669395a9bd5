/**
 * Geometry of the placing surface: a plane (the face in mm with y up, a picture in its pixels with y down) and the
 * square of CSS pixels that shows it. Pure numbers, no elements.
 *
 * @typedef {[number, number]} Point
 * @typedef {object} View
 * @property {number} size side of the square, CSS px
 * @property {number} scale CSS px a unit of the plane
 * @property {Point} origin where the plane's origin lies in the square, CSS px
 * @property {1 | -1} up 1 where the plane's y points up, -1 where it points down
 */

/** How far the outermost ring reaches, as a part of half the square; the rest is for arrows beside the face. */
export const REACH = 0.88;

/** How many times the loupe magnifies. */
export const LOUPE_TIMES = 4;

/** Diameter of the loupe and its clearance from the thumb, CSS px. */
export const LOUPE = { across: 136, clear: 44, edge: 4, settle: 16 };

/**
 * Returns the view of a whole face.
 * @param {number} radius_mm
 * @param {number} size
 * @returns {View}
 */
export function faceView(radius_mm, size) {
    return { size, scale: (REACH * size) / (2 * radius_mm), origin: [size / 2, size / 2], up: 1 };
}

/**
 * Returns the view of a part of a picture, whole in the square and in its middle.
 * @param {{x: number, y: number, width: number, height: number}} box picture px
 * @param {number} size
 * @returns {View}
 */
export function pictureView(box, size) {
    const scale = size / Math.max(box.width, box.height);
    const middle = [box.x + box.width / 2, box.y + box.height / 2];
    return { size, scale, origin: [size / 2 - scale * middle[0], size / 2 - scale * middle[1]], up: -1 };
}

/**
 * @param {View} view
 * @param {Point} point on the plane
 * @returns {Point} in the square
 */
export function toPx(view, [x, y]) {
    return [view.origin[0] + view.scale * x, view.origin[1] - view.up * view.scale * y];
}

/**
 * @param {View} view
 * @param {Point} px in the square
 * @returns {Point} on the plane
 */
export function toPlane(view, [x, y]) {
    return [(x - view.origin[0]) / view.scale, (view.up * (view.origin[1] - y)) / view.scale];
}

/**
 * Returns where a pointer is in the square, whatever the page is scaled by.
 * @param {{left: number, top: number, width: number, height: number}} rect of the square on the page
 * @param {number} size
 * @param {Point} client
 * @returns {Point}
 */
export function fromClient(rect, size, [x, y]) {
    return [((x - rect.left) * size) / rect.width, ((y - rect.top) * size) / rect.height];
}

/**
 * Returns the same square magnified about its top left corner, as the loupe shows it before it is moved.
 * @param {View} view
 * @param {number} times
 * @returns {View}
 */
export function magnified(view, times) {
    return { ...view, scale: view.scale * times, origin: [view.origin[0] * times, view.origin[1] * times] };
}

/**
 * Returns the view of the part about a point, which never leaves the whole.
 * @param {View} view of the whole
 * @param {Point} at in the square of the whole
 * @param {number} times
 * @returns {View}
 */
export function zoomed(view, at, times) {
    const half = view.size / (2 * times);
    const middle = at.map((v) => Math.min(Math.max(v, half), view.size - half));
    const origin = view.origin.map((o, i) => (o - middle[i]) * times + view.size / 2);
    return { ...view, scale: view.scale * times, origin: [origin[0], origin[1]] };
}

/**
 * Returns which part of the whole a view shows, in the whole's CSS px.
 * @param {View} whole
 * @param {View} part
 * @returns {{x: number, y: number, side: number}}
 */
export function shownPart(whole, part) {
    const times = part.scale / whole.scale;
    const [x, y] = whole.origin.map((o, i) => o - part.origin[i] / times);
    return { x, y, side: whole.size / times };
}

/**
 * Returns where the loupe goes: above the thumb, or beside it where there is no room above.
 * @param {Point} thumb in the square
 * @param {{left: number, top: number, right: number, bottom: number}} room what of the page is visible, in the square
 * @param {'above' | 'left' | 'right' | null} was where it is now; it stays there a little longer than it would go there
 * @returns {{side: 'above' | 'left' | 'right', x: number, y: number}} its top left corner
 */
export function loupePlace([x, y], room, was) {
    const { across, clear, edge, settle } = LOUPE;
    const within = (v, low, high) => Math.max(low + edge, Math.min(v, high - edge - across));
    const above = y - clear - across - (was === null || was === 'above' ? 0 : settle);
    if (above >= room.top + edge) {
        return { side: 'above', x: within(x - across / 2, room.left, room.right), y: y - clear - across };
    }
    const rightward = room.right - x - (x - room.left);
    // A right hand covers what is right of its thumb, so the left is taken where both sides have room.
    const lean = was === 'right' ? -settle : settle;
    const side = rightward > lean ? 'right' : 'left';
    const left = side === 'right' ? x + clear : x - clear - across;
    return { side, x: within(left, room.left, room.right), y: within(y - across / 2, room.top, room.bottom) };
}
