/** Riser and limbs: how each pair sits on each riser, the settings to go to, which pairs are not measured yet. */

import { h, fill, button, choice, field, line } from '../dom.js';
import { cautions, form, text, tried, written } from '../record/form.js';
import { remover, said } from '../record/edit.js';
import { address, link, noBow, whichBow } from './figures/which.js';

/** What is measured of a pair; the model reads each in its unit. */
const MEASURES = [
    ['limb_bolt_top_turns', 'Top limb bolt, turns out from fully in'], ['limb_bolt_bottom_turns', 'Bottom limb bolt, turns out from fully in'],
    ['limb_lateral_top_mm', 'Upper limb: string right of the middle, mm'], ['limb_lateral_bottom_mm', 'Lower limb: string right of the middle, mm'], ['tiller_mm', 'Tiller, mm'],
];

/** Shows every riser with every pair of limbs. */
export async function show(root, app) {
    const { bow, bows } = await whichBow(app);
    if (!bow) return root.append(...noBow('Riser and limbs'));
    await new Table(root, app, { bow, bows }).begin();
}

class Table {
    constructor(root, app, { bow, bows }) {
        Object.assign(this, { root, app, bow, bows, name: `pair-${bow.id}`, told: null });
    }

    async begin() {
        this.draft = (await this.app.drafts.take(this.name)) ?? {};
        await this.draw();
    }

    save() {
        return this.app.drafts.put(this.name, this.draft).catch(this.app.fail);
    }

    async draw() {
        const { app } = this;
        const { rows, head, fits, cautions: care } = await app.call('pairs', {});
        fill(this.root,
            h('h1', { tabindex: -1 }, 'Riser and limbs'), this.told,
            h('p', { class: 'head' }, head),
            rows.length > 0 ? h('ul', { class: 'rows setup' }, rows.map((row) => this.row(row))) : h('div', { class: 'buttons' }, link('Add limbs', 'things?kind=part&add=1', 'main')),
            rows.length > 0 && this.form(rows, fits),
            cautions(care),
            h('div', { class: 'buttons' }, link('Back to the bow', address('bow', { bow: this.bow.id })), link('Put limbs on', address('change', { bow: this.bow.id }))));
        this.root.querySelector('.kept')?.focus();
    }

    row({ bow_name, riser, riser_name, limbs_name, on, pair, fit_words, settings_words, left_out, day, by, other_riser, note }) {
        const where = riser && bow_name ? `${riser_name} (${bow_name})` : riser_name;
        const place = h('li', { class: 'sits' },
            h('p', {}, h('strong', {}, `${limbs_name} on ${where}`), on && h('span', { class: 'soft' }, ', on it now')),
            h('p', { class: 'fromlower' }, fit_words),
            settings_words && h('p', {}, `Settings to go to: ${settings_words}`),
            (day || by || note) && h('p', { class: 'soft small-words' }, [day, by, note].filter(Boolean).join(', ')),
            other_riser && h('p', { class: 'hint' }, other_riser), left_out.map((words) => h('p', { class: 'hint' }, words)));
        if (pair) {
            place.append(remover(this.app, { kind: 'pair', id: pair }, 'Take this measure out of use', place, async (told, back) => {
                this.told = said(told, back);
                await this.draw();
            }));
        }
        return place;
    }

    /** The form for a pair that was measured, with what was half typed. */
    form(rows, fits) {
        const { draft } = this;
        const limbs = [...new Map(rows.map(({ limbs: id, limbs_name: name }) => [id, { id, name }])).values()];
        const on = rows.find((row) => row.on && row.bow === this.bow.id)?.limbs;
        const typed = (name, input) => {
            input.addEventListener('input', () => { draft[name] = input.value; this.save(); });
            return input;
        };
        const fields = [
            field('Bow', typed('bow', choice(this.bows, draft.bow ?? this.bow.id, { name: 'bow' }))),
            field('Limbs', typed('limbs', choice(limbs, draft.limbs ?? on ?? limbs[0].id, { name: 'limbs' }))),
            field('How they fit', typed('fit', choice([{ id: '', name: 'pick one' }, ...fits], draft.fit ?? '', { name: 'fit' }))),
            ...MEASURES.map(([name, words]) => field(words, typed(name, line(draft[name] ?? '', { name, inputmode: 'text', autocapitalize: 'none' })))),
            field('Note', typed('note', text(draft.note, { name: 'note' }))),
        ];
        return h('details', { class: 'fold', open: Object.keys(draft).length > 0 }, h('summary', {}, 'Note how a pair fits'), form({ class: 'inside' }, (made) => this.keep(made),
            h('p', { class: 'hint' }, 'What is left empty is taken from what is noted of the bow, where these limbs are on it.'), fields,
            button('Keep the pair', null, 'main', { type: 'submit' })));
    }

    keep(made) {
        return tried(this.app, made, async () => {
            const { app, draft } = this;
            draft.id ??= (await app.call('new_id')).id;
            await this.save();
            const value = (name) => made.querySelector(`[name=${name}]`).value;
            const fields = Object.fromEntries(['fit', ...MEASURES.map(([name]) => name)].map((name) => [name, value(name)]));
            const told = await app.call('note_pair', { id: draft.id, bow: value('bow'), limbs: value('limbs'), fields, note: value('note') });
            written(app);
            this.draft = {};
            await app.drafts.put(this.name, null);
            this.told = said(told.words, cautions(told.cautions));
            await this.draw();
        });
    }
}
