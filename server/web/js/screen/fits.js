/** Does it fit: what follows from an archer's draw and hook, the bows of the trade, and those that one's own parts make. */

import { h, button, choice, field, line, paragraphs } from '../dom.js';
import { capital, form, tried } from '../record/form.js';
import { address, link } from './figures/which.js';

const ASKED = ['person', 'discipline', 'weight_lbf', 'draw_length_in'];

/** Shows what fits the archer of the address, or whoever asks. */
export async function show(root, app) {
    const asked = Object.fromEntries(ASKED.map((name) => [name, app.parameters.get(name) || null]));
    const [told, { things: people }, { fields }] = await Promise.all([app.call('fits', { ...asked, units: app.units }), app.call('things', { kind: 'person' }), app.call('fields', { kind: 'bow' })]);
    const disciplines = fields.find(({ field: name }) => name === 'discipline').choices;
    root.append(...[
        h('h1', { tabindex: -1 }, `Does it fit: ${told.name}`),
        asking(app, asked, told, people, disciplines),
        told.said.map(sentence),
        own(told),
        trade(told),
        told.wanted.length > 0 && h('section', {}, h('h2', {}, 'What would tell more'), paragraphs(told.wanted, 'soft fromlower'),
            h('div', { class: 'buttons' }, link('People', 'things?kind=person'), link('Parts', 'things?kind=part'), link('Bows', 'things?kind=bow'))),
        h('div', {}, told.cautions.map((words) => h('p', { class: 'caution' }, words))),
    ].flat().filter(Boolean));
}

/** Whom and what it is for; it is asked anew with the address, so that going back goes back. */
function asking(app, asked, told, people, disciplines) {
    const who = choice(people, told.person, { name: 'person' });
    const what = choice([{ id: '', name: 'anything' }, ...disciplines.map((id) => ({ id, name: id }))], asked.discipline ?? '', { name: 'discipline' });
    const weight = line(asked.weight_lbf ?? '', { name: 'weight_lbf', inputmode: 'decimal' });
    const draw = line(asked.draw_length_in ?? '', { name: 'draw_length_in', inputmode: 'decimal' });
    return h('details', { class: 'fold' }, h('summary', {}, h('span', {}, h('strong', {}, 'Ask for'), h('span', { class: 'soft under' }, 'another archer, what is shot, a weight, a draw length'))),
        form({ class: 'inside' }, (made) => tried(app, made, async () => {
            const given = { person: who.value, discipline: what.value || null, weight_lbf: weight.value.trim() || null, draw_length_in: draw.value.trim() || null };
            // What cannot be read is said here, at its field.
            await app.call('fits', { ...given, units: app.units });
            app.go(address('fits', given));
        }), field('Archer', who), field('To be shot', what), field('Weight on the fingers that is wanted, lbf', weight), field('Draw length, in', draw, 'Empty is the one that is noted.'),
        button('Show it', null, 'main', { type: 'submit' })));
}

function sentence({ words, source }) {
    return h('p', {}, words, h('span', { class: 'soft small-words' }, ` (${source})`));
}

/** One's own risers with one's own limbs, best first. */
function own({ combinations: rows, order }) {
    const head = h('h2', {}, 'Your own risers and limbs');
    if (rows.length === 0) return [head, h('p', {}, 'Once a bow has the length of its riser, and a pair of limbs is noted as a part, what they make stands here.')];
    return [head, h('p', { class: 'hint' }, `Best first. ${order}`), h('div', { class: 'folds' }, rows.map(combination))];
}

function combination({ rank, title, bow, on_now, limits, do_not_shoot: not, reasons, cautions }) {
    const beyond = { passed: 'Beyond a maker\'s limit', may_pass: 'May go beyond a maker\'s limit' }[limits];
    return h('details', { class: 'fold', open: rank === 1 },
        h('summary', {}, h('span', {}, h('strong', {}, `${rank}. ${title}`), on_now && h('span', { class: 'soft' }, ' on it now'), not && h('span', { class: 'under wrong' }, h('strong', {}, `DO NOT SHOOT: ${not}`)), beyond && h('span', { class: 'under' }, h('strong', {}, beyond)))),
        h('div', { class: 'inside' }, cautions.map((words) => h('p', { class: 'caution' }, words)),
            h('ul', {}, reasons.map(({ words, source }) => h('li', {}, capital(words), h('span', { class: 'soft small-words' }, ` (${source})`)))),
            bow && h('div', { class: 'buttons' }, link('The bow', address('bow', { bow })), link('Note a change', address('change', { bow })))));
}

/** The bows that the trade's risers make; what suits the draw is said with a word. */
function trade({ risers, risers_words: words, risers_source: source }) {
    const cell = ({ bow_length_in: bow, string_length_in: string, suits, brace }) => h('td', {}, suits ? h('strong', {}, `${bow} in ✓`) : `${bow} in`, h('div', { class: 'soft small-words' }, `string ${string} in`), brace && h('div', { class: 'soft small-words' }, `brace ${brace}`));
    return h('section', {}, h('h2', {}, 'Risers of the trade'),
        h('p', { class: 'hint' }, words),
        h('div', { class: 'wide', tabindex: 0, role: 'group', 'aria-label': 'Bow lengths by riser and limbs' }, h('table', {},
            h('thead', {}, h('tr', {}, ['Riser', 'Short', 'Medium', 'Long', 'Shot for'].map((head) => h('th', { scope: 'col' }, head)))),
            h('tbody', {}, risers.map(({ riser_in: length, used_for, of_discipline, bows, source: told }) => h('tr', {}, h('th', { scope: 'row' }, `${length} in`), bows.map(cell),
                h('td', {}, of_discipline ? h('strong', {}, used_for) : used_for, h('div', { class: 'soft small-words' }, told))))))),
        h('p', { class: 'hint' }, source));
}
