/** What is said of one arrow beside its place: missed, flyer, bare shaft, its number; and taking it out. */

import { h } from '../dom.js';

/**
 * @param {object} to
 * @param {() => void} to.onmiss adds an arrow that was not found, or makes the chosen one such
 * @param {(set: object) => void} to.onset
 * @param {() => void} to.onremove
 */
export function about(to) {
    const state = { arrow: null };
    const key = (words, onclick) => h('button', { class: 'place-key', type: 'button', onclick }, words);
    const miss = key('Missed', to.onmiss);
    const flyer = key('Flyer', () => to.onset({ flyer: !state.arrow.flyer }));
    const bare = key('Bare', () => to.onset({ bare: !state.arrow.bare }));
    const out = key('Remove', to.onremove);
    const number = h('input', {
        class: 'arrow-number', type: 'text', placeholder: 'No.', 'aria-label': 'Number on the arrow', inputmode: 'text',
        autocomplete: 'off', maxlength: '12', enterkeyhint: 'done', onchange: () => to.onset({ number: number.value.trim() }),
    });
    bare.setAttribute('aria-label', 'Bare shaft');
    const element = h('div', { class: 'about', role: 'group', 'aria-label': 'About the arrow' }, miss, flyer, bare, number, out);
    return Object.assign(element, {
        show(arrow, chosen, count) {
            state.arrow = arrow;
            for (const [button, on] of [[flyer, arrow?.flyer], [bare, arrow?.bare]]) {
                button.disabled = arrow === null;
                button.setAttribute('aria-pressed', String(Boolean(on)));
            }
            out.disabled = arrow === null;
            number.disabled = arrow === null;
            if (document.activeElement !== number) {
                number.value = arrow?.number ?? '';
            }
            const which = chosen === null ? '' : ` arrow ${chosen + 1}`;
            miss.setAttribute('aria-label', chosen === null ? `Arrow ${count + 1} missed and was not found` : `Missed:${which} was not found`);
        },
    });
}
