/**
 * A modelled thumb that places arrows by press, look, lift, from a seed.
 *
 * Source: modelled, from memory; nobody was measured. The orders of size follow what is published of touch: the
 * contact lies off what was meant by a bias and a scatter of 1 to 2 mm (Holz and Baudisch, 2010, on the touch point
 * and the finger), a correction is planned from what is seen about every 250 ms and errs by a part of its length
 * (Meyer et al., 1988, on submovements), the physiological tremor is at 8 to 12 Hz, and the contact slips as the
 * thumb peels off. A CSS pixel is about 0.16 mm of a phone's glass.
 */

import { IDLE, step, THUMB } from '../js/place/press.js';

/**
 * CSS px and ms. `scatter` gives a bare tap the median error of 11 px that tapping was found to have. In the loupe
 * (four times) a person sees 1 px and is content within 3 px, half a millimetre of glass.
 */
export const PERSON = {
    bias: [0, 6],
    scatter: 9,
    looks_every: 250,
    seen: 0.25,
    amplitude: 0.15,
    far: 5,
    quick_ms: 180,
    comfortable: 55,
    tremor: 0.6,
    tremor_hz: 9.5,
    content: 0.75,
    patience: 5000,
    slip: [7, 3],
    slip_ms: [45, 10],
    sample: 8,
};

/** Returns a generator of numbers from 0 to 1 (mulberry32). */
export function generator(seed) {
    let a = seed >>> 0;
    return () => {
        a = (a + 0x6d2b79f5) >>> 0;
        let t = Math.imul(a ^ (a >>> 15), 1 | a);
        t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
        return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
    };
}

function normal(random) {
    return Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}

/**
 * Places one arrow and returns where the machine put it (null: it did not), and how long that took.
 * @param {[number, number]} target CSS px
 */
export function place(target, random, options = THUMB, person = PERSON) {
    const phase = [random(), random()].map((v) => 2 * Math.PI * v);
    const shown = (at, t) => at.map((v, i) =>
        Math.round(v + person.tremor * Math.sin((2 * Math.PI * person.tremor_hz * t) / 1000 + phase[i]) + 0.2 * normal(random)));
    // Who touches beside the surface touches again.
    let hand = target.map((v, i) =>
        Math.min(Math.max(v + person.bias[i] + person.scatter * normal(random), 1), options.size - 1));
    let t = 0;
    let state = step(IDLE, { type: 'down', id: 1, t, at: shown(hand, t) }, options);
    const glide = (to, ms) => {
        const [from, begun] = [hand, t];
        while (t < begun + ms) {
            t += person.sample;
            const s = Math.min(1, (t - begun) / ms);
            const done = s * s * s * (10 - 15 * s + 6 * s * s);
            hand = from.map((v, i) => v + done * (to[i] - v));
            state = step(state, { type: 'move', id: 1, t, at: shown(hand, t) }, options);
        }
    };
    for (;;) {
        glide(hand, person.looks_every);
        const error = target.map((v, i) => v - state.aim[i] + person.seen * normal(random));
        if (Math.hypot(...error) < person.content || t > person.patience) {
            break;
        }
        // Far off the thumb goes there at once; close by it creeps, and has learnt that it has to go further.
        const far = Math.hypot(...error) > person.far;
        const reach = (far ? 1 : 1 / options.slow_gain) * (1 + person.amplitude * normal(random));
        const way = error.map((v) => reach * v);
        glide(hand.map((v, i) => v + way[i]), far ? person.quick_ms : creep(Math.hypot(...way), person));
    }
    slip(glide, hand, random, person);
    const lifted = step(state, { type: 'up', id: 1, t, at: shown(hand, t) }, options);
    return { at: lifted.placed?.at ?? null, ms: t };
}

/** Returns how long a thumb takes for a way if it never goes faster than is comfortable (minimum jerk), ms. */
function creep(way, person) {
    return Math.max(200, (1875 * way) / person.comfortable);
}

/** The contact runs away as the thumb peels off, mostly towards the wrist. */
function slip(glide, hand, random, person) {
    const ms = Math.min(75, Math.max(20, person.slip_ms[0] + person.slip_ms[1] * normal(random)));
    const way = Math.abs(person.slip[0] + person.slip[1] * normal(random));
    const angle = Math.PI / 2 + 0.6 * normal(random);
    glide([hand[0] + way * Math.cos(angle), hand[1] + way * Math.sin(angle)], ms);
}
