/** The ways to place an arrow: press and lift, tap and tap, typing; and from a picture. */

import { h, button } from '../../dom.js';
import { recall, remember } from '../../remember.js';

const KEPT = 'sheaf-placing';
const MODES = [['press', 'Press, lift'], ['tap', 'Tap, tap'], ['type', 'Type']];

/** Returns the way that was chosen last. */
export const lastMode = () => recall(KEPT) ?? 'press';

/** Returns the buttons of the ways. */
export function modes(end) {
    const place = h('div', { class: 'buttons', role: 'group', 'aria-label': 'Way of placing' });
    const draw = () => place.replaceChildren(...MODES.map(([mode, words]) => button(words, () => {
        end.mode = mode;
        end.place.mode(mode);
        remember(KEPT, mode);
        draw();
    }, 'plain', { 'aria-pressed': String(end.mode === mode) })), button('From a picture', () => end.app.go('photo')));
    draw();
    return place;
}
