/** What is not in the tabs. */

import { h } from '../dom.js';

const PLACES = [
    ['ends', 'Ends shot', 'What was shot, day by day'],
    ['timeline', 'Timeline', 'Changes and groups of a bow in order'],
    ['marks', 'Marks', 'Sight marks, crawls or gaps for any distance'],
    ['plan', 'Plan a check', 'How many ends of which setup would show it'],
    ['squad', 'Squad', 'Who needs a look, and why'],
    ['settle', 'Differences', 'Where two people wrote the same thing'],
    ['parts', 'Parts', 'What there is, and on which bow it is'],
    ['fits', 'Does it fit', 'Limbs, bow and string for an archer, from your own parts'],
    ['things', 'Bows, arrows, parts, people', 'Add, rename, take out of use'],
    ['phone', 'This phone', 'Sync, invites, files, units'],
];

/** Shows the list. */
export async function show(root) {
    root.append(h('h1', { tabindex: -1 }, 'More'), h('ul', { class: 'rows' }, PLACES.map(([hash, words, about]) =>
        h('li', {}, h('a', { class: 'row', href: `#${hash}` }, h('span', {}, h('strong', {}, words), h('br'), h('span', { class: 'soft' }, about)), '›')))));
}
