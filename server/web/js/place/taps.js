/**
 * What is tapped on a picture to say where the face lies in it: five points or more on one ring, the middle, the top.
 * Pure: states in, states out.
 *
 * @typedef {[number, number]} Point px of the picture, y down
 *
 * @typedef {object} Taps
 * @property {'ring' | 'middle' | 'top' | 'check' | 'arrows'} step what is tapped or shown now
 * @property {number} radius_mm of the ring that is tapped
 * @property {Point[]} ring
 * @property {Point | null} middle
 * @property {Point | null} top
 */

/** The fewest taps that fix a ring. */
const LEAST_RING = 5;

/** @returns {Taps} */
export function noTaps(radius_mm) {
    return { step: 'ring', radius_mm, ring: [], middle: null, top: null };
}

/**
 * Returns the rings that can be tapped, the widest first: it fixes the picture best.
 * @param {import('./face.js').Face} face
 * @returns {{radius_mm: number, words: string}[]}
 */
export function tappable(face) {
    const outwards = [...face.zones].sort((a, b) => b.outer_radius_mm - a.outer_radius_mm);
    return outwards.map((zone) => ({
        radius_mm: zone.outer_radius_mm,
        words: `Outer line of the ${zone.points}${zone.colour ? ` (${zone.colour})` : ''}`,
    }));
}

/** Puts a tap where the step wants it; the middle and the top lead on by themselves. */
export function tappedAt(taps, at) {
    switch (taps.step) {
        case 'ring':
            return { ...taps, ring: [...taps.ring, at] };
        case 'middle':
            return { ...taps, middle: at, step: taps.top === null ? 'top' : 'check' };
        case 'top':
            return { ...taps, top: at, step: 'check' };
        default:
            return taps;
    }
}

/** Takes back the last tap. */
export function untapped(taps) {
    switch (taps.step) {
        case 'ring':
            return { ...taps, ring: taps.ring.slice(0, -1) };
        case 'middle':
            return { ...taps, step: 'ring' };
        case 'top':
            return { ...taps, step: 'middle', middle: null };
        default:
            return { ...taps, step: 'top', top: null };
    }
}

/** Whether the ring has taps enough to go on. */
export function ringDone(taps) {
    return taps.ring.length >= LEAST_RING;
}

/** Goes on from the ring to what is not tapped yet. */
export function onwards(taps) {
    if (taps.step !== 'ring' || !ringDone(taps)) {
        return taps;
    }
    const next = taps.middle === null ? 'middle' : taps.top === null ? 'top' : 'check';
    return { ...taps, step: next };
}

/** Every tap, as the picture shows it. */
export function tapMarks(taps) {
    const ring = taps.ring.map((at, i) => ({ at, text: String(i + 1) }));
    const middle = taps.middle === null ? [] : [{ at: taps.middle, text: '+', bare: true }];
    const top = taps.top === null ? [] : [{ at: taps.top, text: '▲', bare: true }];
    return [...ring, ...middle, ...top];
}
