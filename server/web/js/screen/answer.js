/** Moved? What the changes of a bow did to the groups: the verdict, the picture, the doubt, what to shoot next. */

import { h, svg, paragraphs } from '../dom.js';
import { address, link, noBow, pickers, whichBow } from './figures/which.js';
import { looked } from './figures/looks.js';
import { SIGNS, hushed } from './figures/parts.js';

/** Shows the newest change that has groups on both sides, or the one that is asked for. */
export async function show(root, app) {
    const { bow, bows } = await whichBow(app);
    if (!bow) return root.append(...noBow('Moved?'));
    const asked = { bow: bow.id, archer: app.parameters.get('archer') ?? undefined, change: app.parameters.get('change') ?? undefined, units: app.units };
    const told = await counted(asked, app);
    const { shown, archer, archers } = told;
    const at = { bow: bow.id, archer: archer.id };
    const chosen = pickers('answer', { bow, bows, archer, archers }, app);
    return root.append(...[chosen, shown ? verdict(shown, at) : nothing(told, bow), others(told, at), beside(told)].flat().filter(Boolean));
}

/** Asks; a look at the newest change while its groups grew is told in the remarks. */
async function counted(asked, app) {
    const told = await app.call('answer', asked);
    if (!told.look || told.shown?.change !== told.look.change) return told;
    const looks = await looked(app.store, told.look);
    return looks > 1 ? app.call('answer', { ...asked, looks }) : told;
}

function verdict(shown, at) {
    const { word, head, sentence, next, picture, bands = [], remarks = [], change } = shown;
    // What to shoot next ends the sentence; it stands below the pictures instead, in the same words.
    const said = next && sentence.endsWith(next) ? sentence.slice(0, -next.length).trim() : sentence;
    return [
        h('p', { class: 'eyebrow' }, `${shown.what}, ${shown.day}`),
        h('h1', { tabindex: -1, class: `verdict ${word}` }, h('span', { class: 'sign', 'aria-hidden': 'true' }, SIGNS[word] ?? ''), h('span', {}, head)),
        h('p', { class: 'sentence' }, said),
        h('div', { class: 'two' },
            h('div', {}, picture && svg(picture), h('dl', { class: 'sides' }, h('dt', {}, 'Before'), h('dd', {}, shown.before), h('dt', {}, 'After'), h('dd', {}, shown.after)),
                paragraphs(remarks.map((words) => `${words}.`), 'hint fromlower')),
            h('div', {}, bands.length > 0 && h('p', { class: 'hint' }, 'Thick: where it lies with 95 in 100. Dashed box: too small to matter.'),
                bands.map(({ axis, words, svg: drawn }) => h('figure', { class: `band-of ${axis}` }, h('figcaption', {}, words), hushed(svg(drawn)))),
                next && h('div', { class: 'card next' }, h('h2', {}, 'Shoot next'), h('p', {}, next)))),
        h('div', { class: 'buttons' }, change && link('What luck does', address('luck', { ...at, change })), link('Plan a check', address('plan', at), next ? 'main' : 'plain')),
    ];
}

function nothing({ answers, remarks }, bow) {
    const why = answers.length > 0
        ? 'No change has ends on both sides yet. Shoot at least three ends on each side of a change; more tell more.'
        : 'Note what you alter on the bow under "Change", shoot at least three ends before and three after it, and whether the groups moved stands here.';
    return [h('h1', { tabindex: -1 }, `Did the groups of ${bow.name} move?`), h('div', { class: 'empty' }, h('p', {}, why), remarks.length === 0 && h('p', {}, 'Nothing was shot with it yet.'),
        h('div', { class: 'buttons' }, link('Shoot', 'shoot', 'main'), link('Note a change', address('change', { bow: bow.id })), link('Plan a check', address('plan', { bow: bow.id }))))];
}

function others({ answers, shown }, at) {
    const rest = answers.filter(({ change }) => change !== shown?.change);
    if (rest.length === 0) return null;
    return h('section', {}, h('h2', {}, shown ? 'Other changes' : 'Changes'), h('ul', { class: 'rows' }, rest.map(({ change, what, day, word, head }) =>
        h('li', {}, h('a', { class: 'row', href: `#${address('answer', { ...at, change })}` },
            h('span', {}, h('strong', {}, what), h('br'), h('span', { class: 'soft' }, day), h('br'), head),
            h('span', { class: `pill ${word}`, 'aria-hidden': 'true' }, SIGNS[word] ?? ''))))));
}

function beside({ first, remarks }) {
    if (first.length + remarks.length === 0) return null;
    return h('section', {}, h('h2', {}, 'To know'), paragraphs(remarks), paragraphs(first, 'soft'));
}
