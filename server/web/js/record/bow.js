/** Which bow a screen is about: the one of the address, the one looked at last, or the one shot last. */

import { h, choice } from '../dom.js';
import { recall, remember } from '../remember.js';

const KEY = 'sheaf-bow';

/**
 * Returns the bow that a screen is about, or null, and the choice of another; `take` is told of the other one.
 */
export async function chosenBow(app, take) {
    const { bow, choices } = await app.call('frame', {});
    const wanted = [app.parameters.get('bow'), recall(KEY), bow?.id].find((id) => choices.bows.some((b) => b.id === id));
    const id = wanted ?? choices.bows[0]?.id ?? null;
    if (!id) return { bow: null, pick: null };
    const select = choice(choices.bows, id, { 'aria-label': 'Bow', onchange: () => {
        remember(KEY, select.value);
        take(choices.bows.find((b) => b.id === select.value));
    } });
    remember(KEY, id);
    return { bow: choices.bows.find((b) => b.id === id), pick: h('div', { class: 'field' }, select) };
}

/** Says that there is no bow yet, and where one is added. */
export function noBow() {
    return h('div', { class: 'empty' }, h('p', {}, 'No bow is recorded here yet.'), h('a', { class: 'button main', href: '#things?kind=bow&add=1' }, 'Add a bow'));
}
