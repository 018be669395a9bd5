/**
 * The arrows of an end while it is placed, with what was before each change. Pure: states in, states out.
 *
 * @typedef {object} Arrow
 * @property {[number, number] | null} mm right and up of the middle; null: missed and not found
 * @property {string} [number] on the shaft
 * @property {boolean} [flyer] by the archer's word
 * @property {boolean} [bare] a bare shaft
 *
 * @typedef {object} End
 * @property {Arrow[]} arrows
 * @property {number | null} chosen the arrow that the next placing and the buttons mean; null: a new one, the last one
 * @property {{arrows: Arrow[], chosen: number | null}[]} before for undo, the oldest first
 */

/** How many changes can be undone. */
const UNDO = 100;

/**
 * @param {Arrow[]} arrows
 * @returns {End}
 */
export function end(arrows) {
    // What was placed before a reload can be taken back as well, arrow by arrow.
    const before = arrows.map((_, i) => ({ arrows: arrows.slice(0, i), chosen: null })).slice(-UNDO);
    return { arrows: [...arrows], chosen: null, before };
}

function changed(was, arrows, chosen) {
    const before = [...was.before, { arrows: was.arrows, chosen: was.chosen }].slice(-UNDO);
    return { arrows, chosen, before };
}

/** Returns which arrow the buttons mean: the chosen one, else the last; null when there is none. */
export function meant(now) {
    return now.chosen ?? (now.arrows.length > 0 ? now.arrows.length - 1 : null);
}

/** Adds arrows. */
export function added(now, arrows) {
    return arrows.length === 0 ? now : changed(now, [...now.arrows, ...arrows], null);
}

/** Puts the chosen arrow elsewhere, or adds one. */
export function placed(now, mm, fresh = {}) {
    return now.chosen === null ? added(now, [{ ...fresh, mm }]) : altered(now, now.chosen, { ...fresh, mm }, null);
}

/** Alters an arrow; a property that is false or empty is left out. */
export function altered(now, index, change, chosen = now.chosen) {
    const arrows = now.arrows.map((arrow, i) => {
        const whole = { ...arrow, ...change };
        const kept = Object.entries(whole).filter(([name, value]) => name === 'mm' || (value !== false && value !== '' && value !== undefined));
        return i === index ? Object.fromEntries(kept) : arrow;
    });
    return changed(now, arrows, chosen);
}

/** Takes an arrow out. */
export function removed(now, index) {
    return changed(now, now.arrows.filter((_, i) => i !== index), null);
}

/** Chooses an arrow, or no more when it was chosen. */
export function chosen(now, index) {
    return { ...now, chosen: now.chosen === index ? null : index };
}

/** Goes back before the last change. */
export function undone(now) {
    const last = now.before[now.before.length - 1];
    return last ? { arrows: last.arrows, chosen: last.chosen, before: now.before.slice(0, -1) } : now;
}
