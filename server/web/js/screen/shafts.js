/** The arrows of a set one by one: weighed one after the other, listed, paired, and the set held against several bows. */

import { h, button, choice, field, line, paragraphs } from '../dom.js';
import { said } from '../record/edit.js';
import { capital, fieldOf, form, tried, valuesOf, written } from '../record/form.js';
import { address, link } from './figures/which.js';

/** What the scale and the tape are used for most. */
const MEASURED = ['mass_gr', 'balance_from_nock_in', 'pile_gr', 'length_in'];

/** Shows a set shaft by shaft. */
export async function show(root, app) {
    const { things: sets } = await app.call('things', { kind: 'arrows' });
    const asked = app.parameters.get('set');
    let set = sets.find(({ id }) => id === asked);
    if (!set && asked) set = (await app.call('things', { kind: 'arrows', all: true })).things.find(({ id }) => id === asked);
    set ??= sets[0];
    if (!set) {
        return root.append(h('h1', { tabindex: -1 }, 'Shafts'), h('div', { class: 'empty' },
            h('p', {}, 'There is no arrow set in the records yet. Add one; then weigh its arrows here, one after the other.'),
            h('div', { class: 'buttons' }, link('Add an arrow set', 'things?kind=arrows&add=1', 'main'))));
    }
    const shafts = new Shafts(app, set, sets);
    root.append(shafts.element);
    await shafts.begin();
}

class Shafts {
    constructor(app, set, sets) {
        Object.assign(this, { app, set, sets, name: `shafts ${set.id}`, draft: {} });
        this.element = h('div', { class: 'shafts' });
    }

    async begin() {
        this.draft = (await this.app.drafts.take(this.name)) ?? {};
        await this.draw();
    }

    /** Draws everything anew; what was kept stands by the form that kept it. */
    async draw(words, place) {
        const { app, set, sets } = this;
        const [told, suits, { things }] = await Promise.all([
            app.call('shafts', { set: set.id, units: app.units }),
            app.call('suits', { set: set.id, units: app.units }),
            app.call('things', { kind: 'arrows', all: true }),
        ]);
        this.told = told;
        this.own = things.find(({ id }) => id === set.id)?.fields ?? {};
        const care = carer();
        this.element.replaceChildren(...[
            sets.length > 1 && h('div', { class: 'pickers noprint' }, choice(sets, set.id, { 'aria-label': 'Arrow set', onchange: (e) => app.go(address('shafts', { set: e.target.value })) })),
            h('h1', { tabindex: -1 }, told.name),
            h('div', { class: 'two' },
                h('div', {}, this.weighing(words && place === 'row' ? words : null), await this.one(words && place === 'one' ? words : null), table(told)),
                h('div', {}, section('In figures', told.figures, care), section('At the target', told.worth, care),
                    section('Whom to pair, keep or leave out', told.advice, care), section('What the groups say', told.groups, care), wanted(told.wanted))),
            across(suits, care),
            care.left([...told.cautions, ...suits.cautions]),
            h('div', { class: 'buttons noprint' }, link('The set itself', 'things?kind=arrows')),
        ].flat(2).filter(Boolean));
        this.element.querySelector('.kept')?.focus();
    }

    keep(draft) {
        this.draft = { ...this.draft, ...draft };
        this.app.drafts.put(this.name, this.draft).catch(this.app.fail);
    }

    /** One value after the other, as they come off the scale; what is typed is kept at every touch. */
    weighing(words) {
        const { fields, waiting, shafts } = this.told;
        const measured = this.draft.field ?? MEASURED[0];
        const { name, unit } = fields.find((f) => f.field === measured) ?? fields[0];
        const next = this.draft.number ?? String(waiting[0] ?? shafts[0]?.number ?? 1);
        const number = line(next, { inputmode: 'numeric', oninput: () => this.keep({ number: number.value }) });
        const value = line(this.draft.value ?? '', { inputmode: 'decimal', autocapitalize: 'none', dataset: { field: 'shafts[0]' }, oninput: () => this.keep({ value: value.value, number: number.value }) });
        const what = choice(MEASURED.map((id) => ({ id, name: fields.find((f) => f.field === id)?.name ?? id })), measured, {
            onchange: () => { this.keep({ field: what.value }); this.app.attempt(() => this.draw()); },
        });
        const send = (made) => tried(this.app, made, async () => {
            const kept = await this.app.call('set_shafts', { set: this.set.id, shafts: [{ number: number.value, field: measured, value: value.value }] });
            written(this.app);
            const after = this.after(Number(number.value));
            this.keep({ value: '', number: after });
            await this.draw(kept.words, 'row');
            this.element.querySelector('[data-field="shafts[0]"]')?.focus();
        });
        return h('section', {}, h('h2', {}, 'Weigh one after the other'), words && said(words),
            form({}, send, field('What is measured', what), field('Shaft', number), field(capital(`${name}, ${unit}`), value), button('Note it and go on', null, 'main', { type: 'submit' })));
    }

    /** The number that comes next. */
    after(number) {
        const numbers = this.told.shafts.filter(({ out }) => !out).map((row) => row.number);
        return String(numbers.find((other) => other > number) ?? numbers[0] ?? number + 1);
    }

    /** Everything of one shaft. */
    async one(words) {
        const { shafts, fields } = this.told;
        if (shafts.length === 0) return null;
        const number = shafts.find((row) => String(row.number) === this.draft.shaft)?.number ?? shafts[0].number;
        const noted = (name) => {
            const value = this.own[`shaft.${number}.${name}`] ?? '';
            return typeof value === 'boolean' ? (value ? 'yes' : 'no') : value;
        };
        const inputs = await Promise.all(fields.map((f) => fieldOf(this.app, f, noted(f.field))));
        const which = choice(shafts.map((row) => ({ id: String(row.number), name: `Shaft ${row.number}` })), String(number), {
            'aria-label': 'Which shaft', onchange: () => { this.keep({ shaft: which.value, open: true }); this.app.attempt(() => this.draw()); },
        });
        const made = form({ class: 'inside' }, () => tried(this.app, made, async () => {
            const altered = Object.entries(valuesOf(made)).filter(([name, value]) => value !== before.get(name));
            made.querySelectorAll('[name]').forEach((input) => { delete input.dataset.field; });
            altered.forEach(([name], i) => { made.querySelector(`[name="${name}"]`).dataset.field = `shafts[${i}]`; });
            if (altered.length === 0) return;
            const kept = await this.app.call('set_shafts', { set: this.set.id, shafts: altered.map(([name, value]) => ({ number, field: name, value })) });
            written(this.app);
            this.keep({ shaft: String(number), open: true });
            await this.draw(kept.words, 'one');
        }), words && said(words), which, inputs, button('Keep what is altered', null, 'main', { type: 'submit' }));
        const before = new Map(Object.entries(valuesOf(made)));
        const fold = h('details', { class: 'fold', open: Boolean(this.draft.open), ontoggle: () => { if (fold.open !== Boolean(this.draft.open)) this.keep({ open: fold.open }); } },
            h('summary', {}, 'All about one shaft'), made);
        return fold;
    }
}

const COLUMNS = [['Shaft', 'number'], ['Mass, gr', 'mass'], ['Off mean', 'off_mean'], ['Point, gr', 'pile'], ['Length, in', 'length'], ['Balance, in', 'balance'], ['FOC, %', 'foc'], ['', 'words']];

/** The set as a table; a column that is empty throughout is left out. */
function table({ shafts }) {
    if (shafts.length === 0) return h('p', {}, 'How many arrows the set has is not noted yet; each that is weighed appears here.');
    const used = COLUMNS.filter(([, key]) => shafts.some((row) => row[key]));
    const cell = (row, key) => (key === 'number' ? h('th', { scope: 'row' }, String(row.number)) : h('td', {}, row[key] ?? '', key === 'words' && row.note && h('span', { class: 'soft under' }, row.note)));
    return h('div', { class: 'wide', tabindex: 0, role: 'group', 'aria-label': 'The shafts of the set' }, h('table', {},
        h('thead', {}, h('tr', {}, used.map(([words]) => h('th', { scope: 'col' }, words || 'What stands out')))),
        h('tbody', {}, shafts.map((row) => h('tr', {}, used.map(([, key]) => cell(row, key)))))));
}

/** One set across bows: the answer, then each bow with the limits beside it. */
function across({ head, bows, said: all, wanted: lacking }, care) {
    return h('section', {}, h('h2', {}, 'Across bows'), h('p', { class: 'big' }, head),
        bows.map(({ bow, name, words }) => h('div', { class: 'card' }, h('h3', {}, name), words.map((one) => sentence(one, care)),
            h('div', { class: 'buttons noprint' }, link(`${name} as it is now`, address('bow', { bow }))))),
        all.map((one) => sentence(one, care)), wanted(lacking));
}

/** Shows every caution once, where it first belongs; the rest come at the end. */
function carer() {
    const told = new Set();
    const once = (list) => [list ?? []].flat().filter((words) => words && !told.has(words) && told.add(words)).map((words) => h('p', { class: 'caution' }, words));
    return { once, left: (all) => once(all) };
}

function section(title, lines, care) {
    return lines.length > 0 && h('section', {}, h('h2', {}, title), lines.map((one) => sentence(one, care)));
}

function sentence({ words, source, caution }, care) {
    return [h('p', {}, words, source && h('span', { class: 'soft small-words' }, ` (${source})`)), care.once(caution)];
}

function wanted(lines = []) {
    return lines.length > 0 && h('div', {}, h('h3', {}, 'What would tell more'), paragraphs(lines.map(capital), 'soft'));
}
