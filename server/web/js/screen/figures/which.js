/** Which bow and which archer a screen tells of, how they are chosen, and links from one screen to another. */

import { h, choice } from '../../dom.js';
import { recall, remember } from '../../remember.js';

const KEPT = 'sheaf-bow';

/** Returns an address within the page; what is null or undefined is left out. */
export function address(screen, asked = {}) {
    const given = Object.entries(asked).filter(([, value]) => value !== null && value !== undefined);
    const query = new URLSearchParams(given).toString();
    return query ? `${screen}?${query}` : screen;
}

/** Returns the bow of the address, else the one looked at last, else the one shot last; and all there are. */
export async function whichBow(app) {
    const { things: bows } = await app.call('things', { kind: 'bow' });
    const asked = app.parameters.get('bow');
    const wanted = asked ?? recall(KEPT);
    let bow = bows.find(({ id }) => id === wanted);
    if (!bow && asked) bow = (await app.call('things', { kind: 'bow', all: true })).things.find(({ id }) => id === asked);
    if (!bow && bows.length > 0) {
        const { bow: last } = await app.call('frame', {});
        bow = bows.find(({ id }) => id === last?.id) ?? bows[0];
    }
    if (bow) remember(KEPT, bow.id);
    return { bow, bows: bow && !bows.includes(bow) ? [bow, ...bows] : bows };
}

/** Shows what to do first where there is no bow yet. */
export function noBow(title) {
    return [h('h1', { tabindex: -1 }, title), h('div', { class: 'empty' },
        h('p', {}, 'There is no bow in the records yet. Add one and shoot a few ends with it; what is known of it then stands here.'),
        h('div', { class: 'buttons' }, link('Add a bow', 'things?kind=bow&add=1', 'main'), link('Shoot', 'shoot')))];
}

/** Makes a link that looks like a button. */
export function link(words, hash, kind = 'plain', props = {}) {
    return h('a', { class: `button ${kind}`, href: `#${hash}`, ...props }, words);
}

/** Makes the choices of bow and archer; none where there is only one of each. */
export function pickers(screen, { bow, bows, archer, archers = [] }, app, more = {}) {
    const parts = [];
    if (bows.length > 1) {
        parts.push(choice(bows, bow.id, { 'aria-label': 'Bow', onchange: (e) => app.go(address(screen, { bow: e.target.value, ...more })) }));
    }
    if (archers.length > 1) {
        parts.push(choice(archers, archer?.id, { 'aria-label': 'Archer', onchange: (e) => app.go(address(screen, { bow: bow.id, archer: e.target.value, ...more })) }));
    }
    return parts.length > 0 && h('div', { class: 'pickers noprint' }, parts);
}
