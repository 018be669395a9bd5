/** Bows, arrow sets, parts and people: added, renamed, altered, taken out of use and brought back. */

import { h, fill, button } from '../dom.js';
import { said } from '../record/edit.js';
import { fieldOf, form, tried, valuesOf, written } from '../record/form.js';
import { ofSort } from '../record/part.js';

const KINDS = [
    { id: 'bow', one: 'bow', many: 'Bows', first: ['name'], about: 'What the archer calls it; all its settings and groups stand under this name.' },
    { id: 'arrows', one: 'arrow set', many: 'Arrow sets', first: ['name', 'count', 'shaft_diameter_mm'], about: 'With the number of arrows each can be chosen by a touch; with the shaft\'s diameter a line cutter scores as it should.' },
    { id: 'part', one: 'part', many: 'Parts', first: ['name', 'what'], about: 'Limbs, strings, plungers: what goes on a bow and comes off again. What it is decides what else there is to note.' },
    { id: 'person', one: 'person', many: 'People', first: ['name'], about: 'Who shoots or helps. Somebody who records on a phone of their own comes in by an invite instead.' },
];

/** Shows the things of one kind, and the others a touch away. */
export async function show(root, app) {
    const kind = KINDS.find(({ id }) => id === app.parameters.get('kind')) ?? KINDS[0];
    const list = new List(root, app, kind);
    await list.draw();
}

class List {
    constructor(root, app, kind) {
        Object.assign(this, { root, app, kind, all: false, opened: app.parameters.get('open'), adding: app.parameters.has('add') });
    }

    /** Draws everything anew; what is said goes with the thing that is open. */
    async draw(words) {
        const { app, kind } = this;
        const [{ things }, { fields }] = await Promise.all([app.call('things', { kind: kind.id, all: this.all }), app.call('fields', { kind: kind.id })]);
        this.fields = fields;
        const rows = await Promise.all(things.map((thing) => this.row(thing, words)));
        fill(this.root,
            h('h1', { tabindex: -1 }, kind.many),
            this.kinds(),
            await this.adder(things.length === 0),
            rows.length > 0 ? h('div', { class: 'folds' }, rows) : h('p', { class: 'soft empty' }, `No ${kind.one} is in use here yet.`),
            h('div', { class: 'buttons' }, button(this.all ? 'Only what is in use' : 'Also what is out of use', () => {
                this.all = !this.all;
                return app.attempt(() => this.draw());
            }, 'plain', { 'aria-pressed': String(this.all) })));
        this.root.querySelector('.kept')?.focus();
    }

    kinds() {
        return h('nav', { class: 'segments', 'aria-label': 'Kinds' }, KINDS.map(({ id, many }) => h('a', {
            href: `#things?kind=${id}`, class: 'button', 'aria-current': id === this.kind.id ? 'page' : null,
        }, many)));
    }

    /** The form that adds one: what is needed first, the rest on demand. */
    async adder(empty) {
        const { app, kind } = this;
        const inputs = new Map(await Promise.all(this.fields.map(async (f) => [f.field, await fieldOf(app, f)])));
        const rest = [...inputs].filter(([name]) => !kind.first.includes(name)).map(([, input]) => input);
        const part = kind.id === 'part' && ofSort(this.fields.map((f) => [f, inputs.get(f.field)]), () => false);
        const send = (made) => tried(app, made, async () => {
            const fields = Object.fromEntries(Object.entries(valuesOf(made)).filter(([name]) => !part || part.shown(name)));
            const { id, name } = await app.call('add', { kind: kind.id, fields });
            written(app);
            Object.assign(this, { opened: id, adding: false });
            await this.draw([`${name} is added.`]);
        });
        return h('details', { class: 'fold adder', open: this.adding || empty }, h('summary', {}, `Add ${kind.one === 'arrow set' ? 'an' : 'a'} ${kind.one}`),
            form({ class: 'inside' }, send, h('p', { class: 'hint' }, kind.about), part ? part.elements : [kind.first.map((name) => inputs.get(name)),
                rest.length > 0 && h('details', {}, h('summary', {}, 'More about it'), rest)],
                button('Add it', null, 'main', { type: 'submit' })));
    }

    /** One thing; its form is made when it is opened. */
    async row(thing, words) {
        const place = h('div', { class: 'inside' });
        const open = this.opened === thing.id;
        const row = h('details', { class: 'fold', open, ontoggle: () => { if (row.open && !place.firstChild) this.app.attempt(() => this.unfold(place, thing)); } },
            h('summary', {}, h('span', {}, h('strong', {}, thing.name || 'without a name'), thing.retired && ' (out of use)',
                thing.words && h('span', { class: 'soft under' }, thing.words))), place);
        if (open) await this.unfold(place, thing, words);
        return row;
    }

    async unfold(place, thing, words) {
        const { app, kind } = this;
        const done = async (words) => {
            written(app);
            this.opened = thing.id;
            await this.draw(words);
        };
        const inputs = await Promise.all(this.fields.map((f) => fieldOf(app, f, thing.fields[f.field])));
        const noted = ({ field }) => kind.first.includes(field) || (thing.fields[field] ?? null) !== null;
        const rest = inputs.filter((_, i) => !noted(this.fields[i]));
        const part = kind.id === 'part' && ofSort(this.fields.map((f, i) => [f, inputs[i]]), (name) => noted({ field: name }));
        const before = new Map();
        const edit = form({}, (made) => tried(app, made, async () => {
            const fields = Object.fromEntries(Object.entries(valuesOf(made)).filter(([name, value]) => value !== before.get(name)));
            await done((await app.call('set', { kind: kind.id, id: thing.id, fields })).words);
        }), part ? part.elements : [inputs.filter((input) => !rest.includes(input)), rest.length > 0 && h('details', {}, h('summary', {}, 'More about it'), rest)],
        button('Keep what is altered', null, 'main', { type: 'submit' }));
        Object.entries(valuesOf(edit)).forEach(([name, value]) => before.set(name, value));
        fill(place,
            words && said(words),
            edit,
            h('div', { class: 'buttons' },
                kind.id === 'bow' && h('a', { class: 'button', href: `#change?bow=${thing.id}` }, 'Its settings'),
                kind.id === 'arrows' && h('a', { class: 'button', href: `#shafts?set=${thing.id}` }, 'Its shafts'),
                kind.id === 'part' && h('a', { class: 'button', href: '#parts' }, 'Where the parts are'),
                button(thing.retired ? 'Bring it back into use' : 'Take it out of use', () => tried(app, place, async () => {
                    const { words } = await app.call('retire', { kind: kind.id, id: thing.id, retired: !thing.retired });
                    this.all ||= !thing.retired;
                    await done(words);
                }))));
    }
}
