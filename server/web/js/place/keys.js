/** Aiming with the keyboard: arrow keys move the aim, with Shift finely; Enter places, Escape leaves. */

/** How far a key moves the aim, CSS px. */
export const KEY_STEPS = { coarse: 6, fine: 0.5 };

const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/**
 * Returns where a key moves the aim, or null for a key that does not.
 * @param {[number, number] | null} aim null: not aiming yet, which begins in the middle
 * @param {{key: string, shiftKey: boolean}} event
 * @param {number} size of the square
 */
export function keyed(aim, event, size) {
    const way = WAYS[event.key];
    if (!way) {
        return null;
    }
    const step = event.shiftKey ? KEY_STEPS.fine : KEY_STEPS.coarse;
    const from = aim ?? [size / 2, size / 2];
    return from.map((v, i) => Math.min(Math.max(v + step * way[i], 0), size));
}

/**
 * @param {HTMLElement} square
 * @param {object} to
 * @param {() => number} to.size
 * @param {(aim: [number, number]) => void} to.onaim
 * @param {(aim: [number, number]) => void} to.onplace
 * @param {() => void} to.onleave
 */
export function aimKeys(square, to) {
    let aim = null;
    const leave = () => {
        if (aim !== null) {
            aim = null;
            to.onleave();
        }
    };
    square.addEventListener('keydown', (event) => {
        if (event.target !== square || event.ctrlKey || event.altKey || event.metaKey) {
            return;
        }
        const next = keyed(aim, event, to.size());
        if (next !== null) {
            event.preventDefault();
            aim = next;
            to.onaim(aim);
        } else if ((event.key === 'Enter' || event.key === ' ') && aim !== null) {
            event.preventDefault();
            const at = aim;
            leave();
            to.onplace(at);
        } else if (event.key === 'Escape') {
            leave();
        }
    });
    square.addEventListener('blur', leave);
    return { forget: () => { aim = null; } };
}
