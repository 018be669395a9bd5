/** Small parts that the screens of figures share. */

import { h } from '../../dom.js';

const REASONS = { look: ['look', '!'], ask: ['ask', '?'], wait: ['wait', '…'], usual: ['as usual', '✓'] };

/** Makes the sign of why someone stands where they stand; its shape and its word tell, not its colour. */
export function pill(reason, why = '') {
    const [words, sign] = REASONS[reason] ?? [reason, ''];
    const said = why.toLowerCase() === `${words}.`;
    return h('span', { class: `pill ${reason}`, 'aria-hidden': said ? 'true' : null }, h('span', { 'aria-hidden': 'true' }, sign), said ? null : ` ${words}`);
}

/** Takes the label off a picture whose words stand beside it, so that they are heard once. */
export function hushed(picture) {
    picture.setAttribute('aria-hidden', 'true');
    picture.removeAttribute('role');
    picture.removeAttribute('aria-label');
    return picture;
}

/** Makes a list of terms with what is said of each; what has nothing is left out. */
export function facts(pairs) {
    const told = pairs.filter(([, words]) => words !== null && words !== undefined && words !== '');
    return told.length > 0 && h('dl', { class: 'facts' }, told.map(([term, words]) => h('div', {}, h('dt', {}, term), h('dd', {}, words))));
}

/** The sign of each verdict, beside its words. */
export const SIGNS = { moved: '→', held: '=', unsettled: '?', inseparable: '≈' };
