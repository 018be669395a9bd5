/** A bow as it is now: what is on it, what fits, its weight, its marks, its wear, and what to take care of. */

import { h, paragraphs } from '../dom.js';
import { address, link, noBow, pickers, whichBow } from './figures/which.js';
import { wearSection } from './figures/wear.js';
import { caution } from '../record/form.js';

/** Shows the sheet of the bow. */
export async function show(root, app) {
    const { bow, bows } = await whichBow(app);
    if (!bow) return root.append(...noBow('Bow'));
    const sheet = await app.call('bow', { bow: bow.id, units: app.units });
    const care = carer();
    root.append(...[
        pickers('bow', { bow, bows }, app),
        h('h1', { tabindex: -1 }, sheet.name),
        (sheet.riser || sheet.note) && h('p', { class: 'soft' }, [sheet.riser, sheet.note].filter(Boolean).join(' · ')),
        h('div', { class: 'buttons' }, link('Change something', address('change', { bow: bow.id }), 'main'), link('Timeline', address('timeline', { bow: bow.id })), link('Rebuild sheet', address('rebuild', { bow: bow.id }))),
        h('div', { class: 'two' },
            h('div', {}, setup(sheet, care, bow), wearSection(sheet, care, bow, app), marks(sheet, bow)),
            h('div', {}, said('Fit', sheet.fit, care), said('Weight on the fingers', sheet.weight, care), arrows(sheet, care), wanted(sheet))),
        h('div', { class: 'buttons' }, link('Draw curve', address('curve', { bow: bow.id })), link('Riser and limbs', address('pairs', { bow: bow.id }))),
        baselines(sheet, bow),
        care.left(sheet.cautions),
    ].flat().filter(Boolean));
}

/** Shows every caution once, where it first belongs; the rest come at the end. */
function carer() {
    const told = new Set();
    const once = (cautions) => [cautions ?? []].flat().filter((words) => words && !told.has(words) && told.add(words)).map(caution);
    return { once, left: (all) => once(all) };
}

function setup({ setup: rows }, care, bow) {
    const head = h('h2', {}, 'On it now');
    if (rows.length === 0) {
        return [head, h('p', {}, 'Nothing of its setup is noted yet. Measure what is on it and note it as the first change; what follows from it stands here.'),
            h('div', { class: 'buttons' }, link('Note the setup', address('change', { bow: bow.id }), 'main'))];
    }
    return [head, h('ul', { class: 'rows setup' }, rows.map(({ name, shown, since, by, gone, cautions }) => h('li', {},
        h('div', { class: 'set' }, h('span', {}, name), h('strong', {}, shown), h('span', { class: 'soft small-words' }, `since ${since}${by ? `, ${by}` : ''}`)),
        gone && h('p', { class: 'gone' }, `Not on it any more: ${gone}.`), care.once(cautions))))];
}

/** Shows sentences, each with whose word it is. */
function said(title, lines, care) {
    if (lines.length === 0) return null;
    return h('section', {}, h('h2', {}, title), lines.map((one) => sentence(one, care)));
}

function sentence({ words, source, caution }, care) {
    return [h('p', {}, words, source && h('span', { class: 'soft small-words' }, ` (${source})`)), care.once(caution)];
}

function arrows({ arrows: sets }, care) {
    if (sets.length === 0) return null;
    return h('section', {}, h('h2', {}, 'Arrows'), sets.map(({ id, name, on, words }) =>
        h('div', {}, h('h3', {}, name, on && h('span', { class: 'soft' }, ' on it now')), words.map((one) => sentence(one, care)),
            h('div', { class: 'buttons' }, link(`Shafts of ${name}`, address('shafts', { set: id }))))));
}

function marks({ marks: rows }, bow) {
    const more = h('div', { class: 'buttons' }, link(rows.length === 0 ? 'Note a mark' : 'Marks of all distances', address('marks', { bow: bow.id })));
    if (rows.length === 0) return h('section', {}, h('h2', {}, 'Marks'), h('p', {}, 'None noted yet.'), more);
    return h('section', {}, h('h2', {}, 'Marks'), h('div', { class: 'wide', tabindex: 0, role: 'group', 'aria-label': 'Marks by distance' }, h('table', {},
        h('thead', {}, h('tr', {}, ['Distance', 'Mark', 'Found'].map((words) => h('th', { scope: 'col' }, words)))),
        h('tbody', {}, rows.map(({ distance_words, mark, day, archer, since }) => h('tr', {}, h('th', { scope: 'row' }, distance_words), h('td', {}, h('strong', {}, mark)),
            h('td', {}, [day, archer].filter(Boolean).join(', ') || 'not noted', since && h('div', { class: 'soft' }, since)))))), more));
}

function wanted({ wanted: lines = [] }) {
    return lines.length > 0 && h('section', {}, h('h2', {}, 'What would tell more'), paragraphs(lines, 'soft fromlower'));
}

function baselines({ baselines: rows }, bow) {
    return h('section', {}, h('h2', {}, 'Baselines'), rows.length === 0 && h('p', {}, 'A baseline is the whole setup under a name, to come back to. One is saved, and put back, under "Change".'),
        rows.map(({ id, name, words, differs }) => h('div', { class: 'card' }, h('p', {}, h('strong', {}, name), ` ${words}`),
            differs.length > 0 ? [h('p', {}, 'Otherwise now:'), h('ul', {}, differs.map((one) => h('li', {}, one)))] : h('p', {}, 'The bow is as it says.'),
            h('div', { class: 'buttons' }, link(`Rebuild sheet of ${name}`, address('rebuild', { bow: bow.id, baseline: id }))))),
        h('div', { class: 'buttons' }, link('Save one or put one back', address('change', { bow: bow.id }))));
}
