/**
 * The placing surface of an end: the face with its arrows, the strip of arrows, the buttons that move one, and typing.
 *
 *     const it = surface({ face, arrows, shaft_mm, mode: 'press', look, typed, onchange });
 *     it.arrows(); it.undo(); it.mode('tap'); it.of(6); it.clear();
 */

import { h } from '../dom.js';
import { about } from './about.js';
import { added, altered, chosen, end, meant, placed, removed, undone } from './end.js';
import { marksOf } from './face.js';
import { faceGround } from './ground.js';
import { nudge, nudged } from './nudge.js';
import { pane } from './pane.js';
import { strip } from './strip.js';
import { typing } from './type.js';
import { faceView } from './view.js';

/** What the surface says while nothing else is to be said. */
const HINTS = {
    press: 'Press on the face, look in the loupe, lift. A slow thumb moves the aim finely.',
    tap: 'Tap the face, then tap the arrow\'s place in the zoom.',
    type: '',
};

/**
 * @param {object} options
 * @param {import('./face.js').Face} options.face
 * @param {import('./end.js').Arrow[]} options.arrows what is placed already, as of a draft
 * @param {'press' | 'tap' | 'type'} [options.mode]
 * @param {number} [options.shaft_mm] shown at its size in the loupe
 * @param {number} [options.of] how many arrows an end has, for the strip
 * @param {(arrows: object[]) => Promise<object>} options.look the call `look` for these arrows
 * @param {(text: string, face: object) => Promise<object[]>} options.typed the arrows of the call `typed`
 * @param {() => import('./ground.js').Ground} [options.makeGround] what is under the arrows, on the plane of the face
 * @param {(arrows: object[], look: object | null) => void} options.onchange after every change: save the draft here;
 *   with what the model says of the arrows as soon as it has said it
 * @param {(error: Error) => void} [options.onerror] of `look`
 * @returns {HTMLElement} with `arrows()`, `undo()`, `mode(name)`, `clear()`, `of(count)`
 */
export function surface(options) {
    const state = { face: options.face, now: end(options.arrows), seen: null, known: new WeakMap(), mode: options.mode ?? 'press', of: options.of ?? 0, asked: 0 };
    const it = parts(options, state, (next, words) => change(next, words));
    const change = (next, words) => {
        if (next === state.now) {
            return;
        }
        const same = next.arrows === state.now.arrows;
        state.now = next;
        draw(it, state);
        if (!same) {
            options.onchange(next.arrows, null);
            ask(it, state, options, words);
        }
    };
    draw(it, state);
    setMode(it, state, state.mode);
    if (state.now.arrows.length > 0) {
        ask(it, state, options, null);
    }
    return Object.assign(it.element, {
        arrows: () => state.now.arrows,
        undo: () => { change(undone(state.now), 'Undone'); },
        mode: (name) => setMode(it, state, name),
        /** Begins another end; undo does not reach behind it. */
        clear: () => {
            Object.assign(state, { now: end([]), seen: null, asked: state.asked + 1 });
            it.pane.whole();
            draw(it, state);
        },
        of: (count) => { state.of = count; draw(it, state); },
    });
}

function parts(options, state, change) {
    const place = (point) => {
        change(placed(state.now, nudged(point, [0, 0], 0)), null);
    };
    const words = h('p', { class: 'place-words', 'aria-live': 'polite', role: 'status' });
    const face = pane({
        makeGround: options.makeGround ?? (() => faceGround(options.face)), fit: (size) => faceView(options.face.radius_mm, size), mode: 'press',
        label: `${options.face.name}. Arrow keys move the aim, with Shift finely; Enter places.`,
        shaft: options.shaft_mm, onpoint: place,
        onaim: (aiming) => tell(words, state, aiming),
    });
    const arrows = strip({ onchoose: (index) => change(chosen(state.now, index)) });
    const step = nudge({
        radius_mm: options.face.radius_mm,
        onmove: (by, mm, said) => change(altered(state.now, meant(state.now), { mm: nudged(state.now.arrows[meant(state.now)].mm, by, mm) }), said),
    });
    const one = about({
        onmiss: () => change(placed(state.now, null), null),
        onset: (set) => change(altered(state.now, meant(state.now), set), null),
        onremove: () => change(removed(state.now, meant(state.now)), 'Removed'),
    });
    const typed = typing({
        face: options.face, typed: options.typed,
        onarrows: (more) => change(more.length === 1 ? placed(state.now, more[0].mm, more[0]) : added(state.now, more), null),
    });
    const element = h('div', { class: 'surface' }, h('div', { class: 'surface-face' }, face),
        h('div', { class: 'surface-keys' }, words, arrows, step, typed, one));
    return { element, pane: face, words, strip: arrows, nudge: step, about: one, typing: typed };
}

function setMode(it, state, name) {
    state.mode = name;
    it.element.dataset.mode = name;
    it.pane.mode(name);
    it.typing.hidden = name !== 'type';
    it.nudge.hidden = name === 'type';
    tell(it.words, state, 'idle');
}

function draw(it, state) {
    const { now } = state;
    const which = meant(now);
    const rings = now.arrows.map((arrow) => state.known.get(arrow) ?? null);
    it.pane.marks(marksOf(now.arrows, rings, now.chosen));
    it.pane.figures(state.seen?.figures ?? null);
    it.strip.show(now, rings, state.of);
    it.nudge.enabled(which !== null && now.arrows[which].mm !== null);
    it.about.show(which === null ? null : now.arrows[which], now.chosen, now.arrows.length);
    tell(it.words, state, 'idle');
}

/** Asks the model about the arrows, and passes over an answer that another change has overtaken. */
async function ask(it, state, options, said) {
    state.asked += 1;
    const [mine, arrows] = [state.asked, state.now.arrows];
    if (arrows.length === 0) {
        state.seen = null;
        draw(it, state);
        return;
    }
    try {
        const seen = await options.look(arrows);
        if (mine === state.asked) {
            // What was said of an arrow holds as long as the arrow is the same one.
            arrows.forEach((arrow, i) => state.known.set(arrow, seen.arrows[i]));
            Object.assign(state, { seen, said });
            draw(it, state);
            options.onchange(arrows, seen);
        }
    } catch (error) {
        options.onerror?.(error);
    }
}

function tell(words, state, aiming) {
    const text = aiming === 'leaving' ? 'Lift here to place nothing' : wordsOf(state);
    if (words.textContent !== text) {
        words.textContent = text;
    }
}

/** Returns the line of words: what the arrow meant scores and where it is. */
function wordsOf(state) {
    const which = meant(state.now);
    const one = which === null ? null : state.known.get(state.now.arrows[which]);
    if (!one) {
        return HINTS[state.mode];
    }
    const moved = state.said ? `${state.said}. ` : '';
    return `${moved}Arrow ${state.now.arrows[which].number ?? which + 1}: ${one.words}`;
}
