/**
 * Placing on a picture of the face: it is taken or chosen, five points or more are tapped on one ring, then the middle
 * and the top; the rings are drawn over it to check; then the picture is laid flat and arrows are placed on it as on a
 * face. The picture stays on the phone: it goes to `keepPicture` and nowhere else, unless the user saves it to a file.
 */

import { h } from '../dom.js';
import { CELLS, flatten, gridOf, sideFor } from './flatten.js';
import { flatGround, pictureGround } from './ground.js';
import { pane } from './pane.js';
import { readPicture } from './picture.js';
import { fix, ringsInPicture } from './rectify.js';
import { s, short } from './shapes.js';
import { surface } from './surface.js';
import { noTaps, onwards, ringDone, tapMarks, tappable, tappedAt, untapped } from './taps.js';
import { pictureView, REACH, toPx } from './view.js';

/** What is said at each step. */
const WORDS = {
    ring: (taps) => `Tap points all around the ring's line. ${taps.ring.length} tapped; ${ringDone(taps) ? 'more make it surer' : 'five or more are needed'}.`,
    middle: () => 'Now the middle of the face.',
    top: () => 'Now the top: a point straight above the middle, such as the top of the ring.',
    check: () => 'Do the drawn rings lie on the printed ones? Press anywhere to look closer.',
};

/**
 * @param {object} options those of `surface`, and
 * @param {(method: string, input: object) => Promise<object>} options.compute the model's methods
 * @param {(blob: Blob, about: {width: number, height: number}) => Promise<void>} options.keepPicture keeps it here
 * @param {Blob} [options.picture] one that was kept
 * @param {import('./taps.js').Taps} [options.taps] what was tapped on it
 * @param {(taps: import('./taps.js').Taps) => void} [options.ontaps] after every tap: save the draft here
 * @returns {HTMLElement} with `surface()`: the surface once arrows can be placed, else null
 */
export function photo(options) {
    const it = { element: h('div', { class: 'on-picture' }), wrong: h('p', { class: 'place-wrong', role: 'alert' }), body: h('div', { class: 'photo-body' }) };
    const state = {
        options, taps: options.taps ?? noTaps(tappable(options.face)[0].radius_mm), picture: null, mode: options.mode === 'tap' ? 'tap' : 'press',
        fixed: null, placing: null,
    };
    it.element.append(it.body);
    showChoice(it, state);
    if (options.picture) {
        take(it, state, options.picture, false);
    }
    return Object.assign(it.element, {
        surface: () => state.placing,
    });
}

function showChoice(it, state) {
    const input = (words, main, capture) => {
        const field = h('input', {
            class: 'file-field', type: 'file', accept: 'image/*', capture,
            onchange: () => field.files[0] && take(it, state, field.files[0], true),
        });
        return h('label', { class: `place-key file-key${main ? ' main' : ''}` }, field, words);
    };
    it.body.replaceChildren(
        h('p', { class: 'place-words' }, 'Stand straight before the face and take the whole of it. The picture stays on this phone.'),
        h('div', { class: 'file-keys' }, input('Take a picture', true, 'environment'), input('Choose a picture', false, null)),
        it.wrong);
}

async function take(it, state, file, fresh) {
    it.wrong.textContent = '';
    try {
        state.picture = await readPicture(file);
        if (fresh) {
            state.taps = noTaps(state.taps.radius_mm);
            const { canvas, blob } = state.picture;
            await state.options.keepPicture(blob, { width: canvas.width, height: canvas.height });
        }
    } catch (error) {
        it.wrong.textContent = error.message;
    }
    if (state.picture) {
        showTaps(it, state);
    }
}

function showTaps(it, state) {
    const { canvas } = state.picture;
    const whole = { x: 0, y: 0, width: canvas.width, height: canvas.height };
    state.placing = null;
    it.pane = pane({
        makeGround: () => pictureGround(canvas), fit: (size) => pictureView(whole, size), mode: state.mode,
        label: 'Picture of the face. Arrow keys move the aim, with Shift finely; Enter taps.',
        onpoint: (point) => {
            const next = tappedAt(state.taps, within(point, canvas));
            if (next !== state.taps) {
                it.wrong.textContent = '';
                setTaps(it, state, next);
            }
        },
    });
    it.words = h('p', { class: 'place-words', role: 'status', 'aria-live': 'polite' });
    it.ring = ringChoice(it, state);
    it.keys = h('div', { class: 'photo-keys' });
    it.body.replaceChildren(h('div', { class: 'photo-places' }, h('div', { class: 'photo-face' }, it.pane),
        h('div', { class: 'surface-keys' }, it.words, it.wrong, it.ring, it.keys, savePicture(state))));
    setTaps(it, state, state.taps);
}

function within([x, y], { width, height }) {
    return [Math.min(Math.max(x, 0), width), Math.min(Math.max(y, 0), height)];
}

function ringChoice(it, state) {
    const choice = h('select', {
        id: 'ring-choice', class: 'ring-choice', onchange: () => setTaps(it, state, { ...state.taps, radius_mm: Number(choice.value) }),
    }, ...tappable(state.options.face).map(({ radius_mm, words }) => h('option', { value: radius_mm, selected: radius_mm === state.taps.radius_mm }, words)));
    return h('div', { class: 'ring-chosen' }, h('label', { for: 'ring-choice', class: 'place-label' }, 'Ring that is tapped'), choice);
}

/** Shows what was tapped; where all is tapped, asks the model and draws the rings. */
async function setTaps(it, state, taps) {
    state.taps = taps;
    state.options.ontaps?.(taps);
    it.pane.marks(taps.step === 'check' ? [] : tapMarks(taps));
    it.pane.lines(null);
    it.words.textContent = WORDS[taps.step === 'arrows' ? 'check' : taps.step](taps);
    it.ring.hidden = taps.step !== 'ring';
    showKeys(it, state);
    if (taps.step === 'check' || taps.step === 'arrows') {
        await check(it, state, taps);
    }
}

async function check(it, state, taps) {
    try {
        const fixed = await fix(state.options.compute, taps);
        const rings = await ringsInPicture(fixed, state.options.face);
        if (state.taps !== taps) {
            return;
        }
        state.fixed = fixed;
        it.pane.lines((view) => drawRings(rings, view));
        if (taps.step === 'arrows') {
            await showArrows(it, state);
        }
    } catch (error) {
        // The taps stay: one of them may be off, and can be taken back.
        it.wrong.textContent = whatIsOff(error);
        setTaps(it, state, { ...taps, step: 'ring' });
    }
}

/** Says which taps the model could not use; its own words speak of fields that nobody sees here. */
function whatIsOff(error) {
    switch (error.field) {
        case 'ring_px':
            return 'These taps fix no ring: two are in one place, or they do not go all around one line, or the middle is not inside. Take back the one that is off and tap it again.';
        case 'top_px':
            return 'The top is where the middle is: tap a point straight above the middle.';
        default:
            return error.message;
    }
}

function drawRings(rings, view) {
    const line = (points) => points.every((point) => point !== null)
        ? `M${points.map((point) => toPx(view, point).map(short).join(' ')).join('L')}Z` : '';
    const d = rings.map(line).join('');
    return s('g', { class: 'over-rings' }, s('path', { class: 'casing', d }), s('path', { class: 'line', d }));
}

function showKeys(it, state) {
    const { taps } = state;
    const key = (words, next, main, disabled = false) => h('button', {
        class: `place-key${main ? ' main' : ''}`, type: 'button', disabled, onclick: () => { it.wrong.textContent = ''; next(); },
    }, words);
    const set = (next) => () => setTaps(it, state, next);
    const back = key(taps.step === 'check' ? 'Tap again' : 'Undo tap', set(taps.step === 'check' ? { ...taps, step: 'ring' } : untapped(taps)), false,
        taps.step === 'ring' && taps.ring.length === 0);
    const other = key('Other picture', () => showChoice(it, state), false);
    const on = taps.step === 'check'
        ? key('They fit', () => showArrows(it, state), true)
        : key('Next', set(onwards(taps)), true, taps.step !== 'ring' || !ringDone(taps));
    const again = taps.step === 'ring' && taps.middle !== null
        ? [key('Middle again', set({ ...taps, step: 'middle', middle: null }), false), key('Top again', set({ ...taps, step: 'top', top: null }), false)] : [];
    const held = it.keys.contains(document.activeElement);
    it.keys.replaceChildren(back, other, ...again, on);
    if (held) {
        (on.disabled ? back : on).focus();
    }
}

function savePicture(state) {
    return h('button', {
        class: 'place-key', type: 'button', onclick: () => {
            const link = h('a', { href: URL.createObjectURL(state.picture.blob), download: 'face.jpg' });
            link.click();
            setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
        },
    }, 'Save the picture');
}

/** Lays the picture flat and places arrows on it. */
async function showArrows(it, state) {
    const { options, picture, fixed } = state;
    if (!fixed) {
        return;
    }
    const half_mm = options.face.radius_mm / REACH;
    try {
        const flat = flatCanvas(picture.canvas, await fixed.toPx(gridOf(half_mm)));
        state.taps = { ...state.taps, step: 'arrows' };
        options.ontaps?.(state.taps);
        state.placing = surface({ ...options, mode: state.mode, makeGround: () => flatGround(flat, half_mm) });
    } catch (error) {
        it.wrong.textContent = error.message;
        return;
    }
    const back = h('button', { class: 'place-key', type: 'button', onclick: () => {
        options.arrows = state.placing.arrows();
        state.taps = { ...state.taps, step: 'check' };
        showTaps(it, state);
    } }, 'Back to the rings');
    it.body.replaceChildren(h('p', { class: 'place-hint' }, 'Tap where the shaft enters the face, not the nock.'), state.placing,
        h('div', { class: 'photo-keys' }, back, savePicture(state)));
}

function flatCanvas(canvas, nodes) {
    if (nodes.length !== (CELLS + 1) ** 2) {
        throw new Error('The picture could not be laid flat; tap the ring again.');
    }
    const side = sideFor(nodes);
    const source = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
    const flat = h('canvas', { width: side, height: side });
    flat.getContext('2d').putImageData(new ImageData(flatten(source, nodes, side), side, side), 0, 0);
    return flat;
}
