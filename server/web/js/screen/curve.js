/** The draw curve of a bow: points typed in two columns, the picture, what follows, another bow laid over it. */

import { h, fill, button, choice, field, line, paragraphs, svg } from '../dom.js';
import { capital, cautions, form, moment, text, tried, typedMoment, written } from '../record/form.js';
import { remover, said } from '../record/edit.js';
import { address, link, noBow, pickers, whichBow } from './figures/which.js';

/** Rows that stand ready before anything is typed. */
const ROWS = 6;

/** Shows the latest curve of the bow, and the form for a new one with what was half typed. */
export async function show(root, app) {
    const { bow, bows } = await whichBow(app);
    if (!bow) return root.append(...noBow('Draw curve'));
    await new Curve(root, app, { bow, bows }).begin();
}

const blank = () => ({ id: null, rows: Array.from({ length: ROWS }, () => ({ draw: '', weight: '' })), from: true, at: '', note: '' });

class Curve {
    constructor(root, app, { bow, bows }) {
        Object.assign(this, { root, app, bow, bows, name: `curve-${bow.id}`, told: null, beside: app.parameters.get('beside') });
    }

    async begin() {
        this.draft = { ...blank(), ...(await this.app.drafts.take(this.name)) };
        await this.draw();
    }

    save() {
        return this.app.drafts.put(this.name, this.draft).catch(this.app.fail);
    }

    /** Draws everything anew. */
    async draw() {
        const { app, bow, bows } = this;
        const other = bows.find(({ id }) => id === this.beside && id !== bow.id);
        const sheet = await this.ask(other);
        const { things } = await app.call('things', { kind: 'arrows' });
        fill(this.root,
            h('h1', { tabindex: -1 }, `Draw curve of ${bow.name}`),
            pickers('curve', { bow, bows }, app),
            this.told,
            h('div', { class: 'two' },
                h('div', {}, this.curve(sheet, other)),
                h('div', {}, this.form(sheet), this.speed(things))),
            this.kept(sheet),
            cautions(sheet.cautions),
            h('div', { class: 'buttons' }, link('Back to the bow', address('bow', { bow: bow.id })), link('Riser and limbs', address('pairs', { bow: bow.id }))));
        this.root.querySelector('.kept')?.focus();
    }

    /** Asks for the sheet; where the other bow has no curve, it is told without it. */
    async ask(other) {
        const asked = { bow: this.bow.id, units: this.app.units };
        try {
            return await this.app.call('curve', { ...asked, beside: other?.id });
        } catch (e) {
            if (e.field !== 'beside') throw e;
            this.told = said([`${capital(e.message)}.`]);
            return this.app.call('curve', asked);
        }
    }

    curve(sheet, other) {
        const others = this.bows.filter(({ id }) => id !== this.bow.id);
        const pick = () => choice([{ id: '', name: 'no other bow' }, ...others], other?.id ?? '', { onchange: (e) => this.app.go(address('curve', { bow: this.bow.id, beside: e.target.value || null })) });
        return [
            h('p', { class: 'head' }, sheet.head),
            sheet.stale && h('p', { class: 'caution' }, sheet.stale),
            sheet.svg && svg(sheet.svg),
            sheet.curve && others.length > 0 && field('Laid over it', pick()),
            sheet.beside && paragraphs(sheet.beside.words),
            sheet.said.map(({ words, source }) => h('p', {}, words, h('span', { class: 'soft small-words' }, ` (${source})`))),
            paragraphs(sheet.remarks, 'hint'),
            sheet.points.length > 0 && points(sheet),
            sheet.curve && this.asker(),
        ];
    }

    /** Tells the weight at any draw. */
    asker() {
        const at = line('', { name: 'at', inputmode: 'decimal', placeholder: '27.5' });
        const answer = h('p', { role: 'status' });
        return form({}, (made) => tried(this.app, made, async () => {
            answer.textContent = '';
            if (!at.value.trim()) return;
            const { asked } = await this.app.call('curve', { bow: this.bow.id, at: at.value, units: this.app.units });
            answer.textContent = asked.map(({ draw, weight }) => `${weight} at ${draw}.`).join(' ');
        }), field('Weight at a draw of, in', at), answer, button('Tell the weight', null, 'plain', { type: 'submit' }));
    }

    /** The form for a new curve; it is kept at every touch. */
    form({ curve, how }) {
        const open = curve === null;
        const { draft } = this;
        const begun = draft.id !== null || draft.rows.some(({ draw, weight }) => draw || weight);
        const rows = h('div', { class: 'curve-rows' });
        const fillRows = () => fill(rows, draft.rows.map((row, i) => this.row(row, i)));
        fillRows();
        const from = h('input', { type: 'checkbox', id: 'from-brace', name: 'from', onchange: () => { draft.from = from.checked; this.save(); } });
        from.checked = draft.from;
        const note = text(draft.note, { name: 'note', oninput: () => { draft.note = note.value; this.save(); } });
        const more = button('More rows', () => {
            draft.rows.push({ draw: '', weight: '' }, { draw: '', weight: '' });
            this.save();
            fillRows();
            rows.lastChild.previousSibling.querySelector('input').focus();
        });
        return h('details', { class: 'fold', open: open || begun }, h('summary', {}, 'Note a new curve'), form({ class: 'inside' }, (made) => this.keep(made),
            h('p', { class: 'hint' }, how),
            h('div', { dataset: { field: 'points' } }, rows), more,
            h('label', { class: 'check' }, from, 'Add the point without weight from the brace height'),
            moment('When', draft.at, { oninput: (event) => { draft.at = event.target.value; this.save(); } }, 'Empty is now.'), field('Note', note),
            button('Keep the curve', null, 'main', { type: 'submit' })));
    }

    row(row, i) {
        const part = (name, words) => {
            const input = line(row[name], { name: `points[${i}].${name}`, inputmode: 'decimal', autocapitalize: 'none', oninput: () => { row[name] = input.value; this.save(); } });
            return field(`${words} ${i + 1}`, input);
        };
        return h('div', { class: 'ab' }, part('draw', 'Draw'), part('weight', 'Weight'));
    }

    /** Keeps the curve under an id of its own, so that it is kept once however often it is sent. */
    keep(made) {
        return tried(this.app, made, async () => {
            const { app, bow, draft } = this;
            draft.id ??= (await app.call('new_id')).id;
            await this.save();
            const told = await app.call('note_curve', { id: draft.id, bow: bow.id, points: draft.rows, from: draft.from ? 'brace' : null, at: typedMoment(draft.at), note: draft.note });
            written(app);
            this.draft = blank();
            await app.drafts.put(this.name, null);
            this.told = said(told.words, cautions(told.cautions));
            await this.draw();
        });
    }

    /** Notes how fast an arrow was. */
    speed(sets) {
        const speed = line('', { name: 'speed', inputmode: 'decimal', placeholder: '182' });
        const arrows = choice([{ id: '', name: 'not noted' }, ...sets], '', { name: 'arrows' });
        return h('details', { class: 'fold' }, h('summary', {}, 'Note the speed of an arrow'), form({ class: 'inside' }, (made) => tried(this.app, made, async () => {
            const told = await this.app.call('note_speed', { bow: this.bow.id, speed: speed.value, arrows: arrows.value || null });
            written(this.app);
            this.told = said(told.words);
            await this.draw();
        }), field('Speed, ft/s', speed, '55.5 m/s is read as well.'), field('Arrows', arrows, 'With the mass of the set the efficiency follows.'), button('Keep the speed', null, 'main', { type: 'submit' })));
    }

    /** Every curve of the bow; one that was wrong is taken out of use. */
    kept({ curves }) {
        if (curves.length === 0) return null;
        return h('section', {}, h('h2', {}, 'Curves kept'), h('ul', { class: 'rows setup' }, curves.map(({ id, words, note }) => {
            const place = h('li', {}, h('div', { class: 'set' }, h('span', {}, words), note && h('span', { class: 'soft small-words' }, note)));
            place.append(remover(this.app, { kind: 'curve', id }, 'Take it out of use', place, async (told, back) => {
                this.told = said(told, back);
                await this.draw();
            }));
            return place;
        })));
    }
}

function points({ points: rows }) {
    return h('details', {}, h('summary', {}, 'The points'), h('div', { class: 'wide', tabindex: 0, role: 'group', 'aria-label': 'Points of the curve' }, h('table', {},
        h('thead', {}, h('tr', {}, ['Draw', 'Weight', 'How it is known'].map((words) => h('th', { scope: 'col' }, words)))),
        h('tbody', {}, rows.map(({ draw, weight, added }) => h('tr', {}, h('th', { scope: 'row' }, draw), h('td', {}, weight), h('td', {}, added ? 'added, not measured' : 'measured')))))));
}
