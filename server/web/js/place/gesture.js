/** Hands the pointers on an element to the machine of `press.js`, and its states to the page once a frame. */

import { IDLE, step, THUMB } from './press.js';
import { fromClient } from './view.js';

/**
 * Listens for press, look, lift on a square.
 * @param {HTMLElement} square
 * @param {object} to
 * @param {() => boolean} to.enabled
 * @param {() => number} to.size of the square, CSS px
 * @param {(rect: DOMRect) => void} to.onbegin once a press, before its first state
 * @param {(state: import('./press.js').Press) => void} to.onstate at most once a frame
 * @param {(placed: {at: [number, number], held_ms: number}) => void} to.onplaced
 * @returns {{stop: () => void}} `stop` ends a press that is under way, and places nothing
 */
export function pressOn(square, to) {
    let [state, rect, frame] = [IDLE, null, 0];
    const show = () => {
        frame = 0;
        to.onstate(state);
    };
    const take = (touch) => {
        state = step(state, touch, { ...THUMB, size: to.size() });
        frame ||= requestAnimationFrame(show);
        if (state.down.length === 0) {
            pressed.end();
        }
        if (state.placed !== null) {
            to.onplaced(state.placed);
        }
    };
    const tell = (type, event) => take({
        type, id: event.pointerId, t: event.timeStamp, at: fromClient(rect, to.size(), [event.clientX, event.clientY]),
    });
    const stop = () => [...state.down].forEach((id) => take({ type: 'cancel', id, t: 0, at: [0, 0] }));
    const pressed = whilePressed(stop);
    listenForBegin(square, to, (event) => {
        rect = square.getBoundingClientRect();
        pressed.begin();
        to.onbegin(rect);
        tell('down', event);
    });
    square.addEventListener('pointermove', (event) => {
        if (state.id === event.pointerId) {
            parts(event).forEach((part) => tell('move', part));
        }
    });
    listenForEnds(square, () => state, tell, stop);
    return { stop };
}

function listenForBegin(square, to, begin) {
    square.addEventListener('pointerdown', (event) => {
        if (!to.enabled() || event.button !== 0 || event.target.closest('button')) {
            return;
        }
        event.preventDefault();
        if (event.pointerType === 'mouse') {
            square.focus({ preventScroll: true, focusVisible: false });
        }
        hold(square, event.pointerId);
        begin(event);
    });
}

/** Returns the moves that the engine joined into one. */
function parts(event) {
    const joined = event.getCoalescedEvents?.() ?? [];
    return joined.length > 0 ? joined : [event];
}

/** A pointer that cannot be held still works as long as it stays on the square. */
function hold(square, id) {
    try {
        square.setPointerCapture(id);
    } catch {
        // The pointer is gone already; its end will be told.
    }
}

function listenForEnds(square, state, tell, stop) {
    const known = (event) => state().down.includes(event.pointerId);
    const end = (type) => (event) => {
        if (known(event)) {
            tell(type, event);
        }
    };
    square.addEventListener('pointerup', end('up'));
    square.addEventListener('pointercancel', end('cancel'));
    // Comes after pointerup as well, when the pointer is no longer known.
    square.addEventListener('lostpointercapture', end('cancel'));
    square.addEventListener('contextmenu', (event) => event.preventDefault());
    square.addEventListener('keydown', (event) => {
        if (event.key === 'Escape') {
            stop();
        }
    });
}

/** The page can go away under a thumb: a call comes in, another page comes to the front. */
function whilePressed(stop) {
    const away = ['blur', 'pagehide'];
    return {
        begin() {
            away.forEach((name) => window.addEventListener(name, stop));
            document.addEventListener('visibilitychange', stop);
        },
        end() {
            away.forEach((name) => window.removeEventListener(name, stop));
            document.removeEventListener('visibilitychange', stop);
        },
    };
}
