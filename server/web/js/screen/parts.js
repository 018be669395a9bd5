/** The parts: what is known of each, what its maker allows, and on which bow it is. */

import { h, button, choice } from '../dom.js';
import { capital } from '../record/form.js';
import { address, link } from './figures/which.js';

/** Shows the list, sort by sort. */
export async function show(root, app) {
    const [asked, all] = [app.parameters.get('what') ?? '', app.parameters.has('all')];
    const [{ parts, source }, { fields }] = await Promise.all([app.call('parts', { what: asked || null, all, units: app.units }), app.call('fields', { kind: 'part' })]);
    const sorts = fields.find(({ field }) => field === 'what').choices;
    const here = (more) => address('parts', { what: asked || null, all: all ? 1 : null, ...more });
    root.append(...[
        h('h1', { tabindex: -1 }, 'Parts'),
        h('div', { class: 'pickers' }, choice([{ id: '', name: 'all sorts' }, ...sorts.map((id) => ({ id, name: id }))], asked, { 'aria-label': 'Sort', onchange: (e) => app.go(here({ what: e.target.value || null })) })),
        parts.length === 0 && h('div', { class: 'empty' }, h('p', {}, 'No part is noted here yet. Limbs, strings and risers that are noted can go from bow to bow, and their wear goes with them.')),
        sections(parts),
        parts.some(({ limits }) => limits) && h('p', { class: 'hint' }, `${capital(source)}; the maker's own word comes first.`),
        h('div', { class: 'buttons' }, link('Add a part', 'things?kind=part&add=1', 'main'), link('Alter parts', 'things?kind=part'), link('Does it fit', 'fits'),
            button(all ? 'Only what is in use' : 'Also what is out of use', () => app.go(here({ all: all ? null : 1 })), 'plain', { 'aria-pressed': String(all) })),
    ].flat().filter(Boolean));
}

function sections(parts) {
    const sorts = [...new Set(parts.map(({ what }) => what))];
    return sorts.map((sort) => h('section', {}, h('h2', {}, capital(sort ?? 'of no sort yet')),
        h('div', { class: 'folds' }, parts.filter(({ what }) => what === sort).map(row))));
}

function row({ id, name, known, limits, place, history, retired, note }) {
    return h('details', { class: 'fold' },
        h('summary', {}, h('span', {}, h('strong', {}, name), retired && ' (out of use)', known && h('span', { class: 'soft under' }, known), h('span', { class: 'under' }, capital(place)))),
        h('div', { class: 'inside' },
            limits && h('p', {}, `${capital(limits)}.`), note && h('p', {}, note),
            history.length > 0 ? [h('h3', {}, 'Where it was'), h('ol', {}, history.map(({ words, bow, bow_name }) => h('li', {}, `${capital(words)}. `, link(`See ${bow_name}`, address('bow', { bow })))))] : h('p', { class: 'soft' }, 'It was on no bow yet: it goes on one under "Change".'),
            h('div', { class: 'buttons' }, link(`Alter ${name}`, address('things', { kind: 'part', open: id })))));
}
