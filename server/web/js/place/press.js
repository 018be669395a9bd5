/**
 * Press, look, lift: what a thumb on the placing surface means. Events in, states out; no elements.
 *
 * The aim begins where the thumb touches. A slow thumb moves it at a quarter of its own way, a fast one all the way.
 * Lifting places the arrow where the aim was a moment before, since a thumb slips as it lifts. Below the lower edge
 * the thumb places nothing, nor do two fingers, nor a touch that the system takes away.
 *
 * @typedef {[number, number]} Point
 * @typedef {object} Touch
 * @property {'down' | 'move' | 'up' | 'cancel'} type
 * @property {number} id of the pointer
 * @property {number} t ms
 * @property {Point} at CSS px in the surface
 *
 * @typedef {object} Press
 * @property {'idle' | 'aiming' | 'leaving' | 'void'} phase `void`: nothing counts until all fingers are off
 * @property {number[]} down the pointers that touch
 * @property {number | null} id the pointer that aims
 * @property {Point | null} thumb where it is
 * @property {Point | null} aim what it aims at
 * @property {{t: number, thumb: Point, aim: Point}[]} trail the last moments, oldest first
 * @property {number} since when it touched, ms
 * @property {{at: Point, held_ms: number} | null} placed set by the event that places, and only by that one
 */

/**
 * How the thumb is read. Speeds in CSS px a second, times in ms, lengths in CSS px. A slow thumb that corrects the aim
 * goes four times as far as the aim, so it may leave the surface by a good part of its own width before that cancels.
 */
export const THUMB = {
    size: 366,
    slow: 60,
    fast: 180,
    slow_gain: 0.25,
    speed_over: 50,
    ignored: 60,
    below: 56,
};

/** @type {Press} */
export const IDLE = Object.freeze({
    phase: 'idle',
    down: [],
    id: null,
    thumb: null,
    aim: null,
    trail: [],
    since: 0,
    placed: null,
});

/**
 * Returns the state after an event.
 * @param {Press} state
 * @param {Touch} touch
 * @param {typeof THUMB} [thumb]
 * @returns {Press}
 */
export function step(state, touch, thumb = THUMB) {
    const known = state.placed === null ? state : { ...state, placed: null };
    switch (touch.type) {
        case 'down':
            return pressed(known, touch, thumb);
        case 'move':
            return touch.id === known.id ? moved(known, touch, thumb) : known;
        case 'up':
            return lifted(known, touch, thumb);
        default:
            return taken(known, touch);
    }
}

function pressed(state, { id, t, at }, thumb) {
    const down = [...state.down.filter((other) => other !== id), id];
    if (down.length > 1) {
        return { ...IDLE, phase: 'void', down };
    }
    return aimed({ ...IDLE, phase: 'aiming', down, id, since: t }, t, at, at, thumb);
}

function moved(state, { t, at }, thumb) {
    if (state.phase === 'leaving') {
        // Back on the surface the aim begins anew under the thumb.
        return below(at, thumb) ? { ...state, thumb: at } : aimed({ ...state, phase: 'aiming', trail: [] }, t, at, at, thumb);
    }
    if (below(at, thumb)) {
        return { ...state, phase: 'leaving', thumb: at };
    }
    const gain = gainAt(speed(state.trail, t, at, thumb), thumb);
    const last = state.trail[state.trail.length - 1];
    const aim = last.aim.map((v, i) => v + gain * (at[i] - last.thumb[i]));
    return aimed(state, t, at, aim, thumb);
}

function lifted(state, { id, t }, thumb) {
    const down = state.down.filter((other) => other !== id);
    if (down.length > 0) {
        return { ...IDLE, phase: 'void', down };
    }
    if (state.phase !== 'aiming' || id !== state.id) {
        return IDLE;
    }
    const settled = state.trail.filter((moment) => moment.t <= t - thumb.ignored);
    const moment = settled[settled.length - 1] ?? state.trail[0];
    return { ...IDLE, placed: { at: onSurface(moment.aim, thumb), held_ms: t - state.since } };
}

function taken(state, { id }) {
    const down = state.down.filter((other) => other !== id);
    return down.length > 0 ? { ...IDLE, phase: 'void', down } : IDLE;
}

/** Keeps the moments that the speed and the lift still need. */
function aimed(state, t, at, aim, thumb) {
    const needed = t - Math.max(thumb.ignored, thumb.speed_over);
    const old = state.trail.filter((moment) => moment.t <= needed);
    const recent = state.trail.filter((moment) => moment.t > needed);
    const trail = [...old.slice(-1), ...recent, { t, thumb: at, aim }];
    return { ...state, thumb: at, aim: onSurface(aim, thumb), trail };
}

function below(at, thumb) {
    return at[1] > thumb.size + thumb.below;
}

function onSurface(at, thumb) {
    return at.map((v) => Math.min(Math.max(v, 0), thumb.size));
}

/** Returns the speed of the thumb over the last moments, so that a tremor does not count as speed. */
function speed(trail, t, at, thumb) {
    const before = trail.filter((moment) => moment.t <= t - thumb.speed_over);
    const from = before[before.length - 1] ?? trail[0];
    const way = Math.hypot(at[0] - from.thumb[0], at[1] - from.thumb[1]);
    // A first event a few ms after the touch says little of speed, so the way counts over the whole time.
    return (1000 * way) / Math.max(t - from.t, thumb.speed_over);
}

/** Returns which part of the thumb's way the aim goes. */
function gainAt(px_s, thumb) {
    const share = (px_s - thumb.slow) / (thumb.fast - thumb.slow);
    return thumb.slow_gain + (1 - thumb.slow_gain) * Math.min(Math.max(share, 0), 1);
}
