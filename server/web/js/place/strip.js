/** The strip of an end's arrows: one key an arrow with what it scores. A tap chooses the arrow that is meant next. */

import { h } from '../dom.js';
import { meant } from './end.js';

/**
 * @param {object} to
 * @param {(index: number) => void} to.onchoose
 */
export function strip(to) {
    const element = h('div', { class: 'strip', role: 'group', 'aria-label': 'Arrows of this end' });
    const show = (now, rings, of) => {
        const held = element.contains(document.activeElement) ? Number(document.activeElement.dataset.arrow) : null;
        const keys = now.arrows.map((arrow, i) => key(arrow, i, now, rings[i], to.onchoose));
        const open = Array.from({ length: Math.max(0, of - keys.length) }, () => h('span', { class: 'open-arrow', 'aria-hidden': 'true' }, '·'));
        element.replaceChildren(...keys, ...open);
        if (held !== null) {
            keys[Math.min(held, keys.length - 1)]?.focus();
        }
    };
    return Object.assign(element, { show });
}

function key(arrow, i, now, one, onchoose) {
    const name = arrow.number ?? String(i + 1);
    const what = [one?.words ?? 'placed', arrow.flyer ? 'flyer' : null, arrow.bare ? 'bare shaft' : null].filter(Boolean).join(', ');
    return h('button', {
        class: `place-key arrow-key${i === meant(now) ? ' meant' : ''}`, type: 'button', dataset: { arrow: String(i) },
        'aria-pressed': String(i === now.chosen), onclick: () => onchoose(i),
    }, unseen('Arrow '), h('span', { class: 'name-of' }, `${name}${sign(arrow)}`), unseen(': '),
    h('span', { class: 'ring-of' }, one?.ring ?? '…'), unseen(`, ${what}`));
}

/** Words for a screen reader alone. */
function unseen(words) {
    return h('span', { class: 'unseen' }, words);
}

/** The signs of the typed notation. */
function sign(arrow) {
    return `${arrow.bare ? 'b' : ''}${arrow.flyer ? '!' : ''}`;
}
