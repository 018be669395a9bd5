/** Timeline: what happened to a bow, the newest first, day by day; a touch opens an item and what can be put right in it. */

import { h, fill, button, field, paragraphs, svg } from '../dom.js';
import { capital, form, text, tried, written } from '../record/form.js';
import { editor, remover, said } from '../record/edit.js';
import { outOfUse } from '../record/out.js';
import { noBow, pickers, whichBow } from './figures/which.js';

const STEP = 30;
const NAMES = { change: 'Change', group: 'End', note: 'Note', practice: 'Practice' };
/** What can be put right in each kind. */
const FIELDS = { change: ['note', 'at'], group: ['note', 'at'], note: ['text'], practice: ['count', 'note', 'at'] };

/** Shows the screen. */
export async function show(root, app) {
    await new Line(root, app).begin();
}

class Line {
    constructor(root, app) {
        Object.assign(this, { root, app, opened: app.parameters.get('item'), length: STEP });
    }

    async begin() {
        const { app, root } = this;
        const { bow, bows } = await whichBow(app);
        if (!bow) return root.replaceChildren(...noBow('Timeline'));
        Object.assign(this, { bow, pick: pickers('timeline', { bow, bows }, app), length: STEP });
        return this.draw();
    }

    /** Draws everything anew, as far back as it was shown; what is said goes with the item that is open, or to the top. */
    async draw(words, back) {
        const { app, bow } = this;
        const told = await app.call('timeline', { bow: bow.id, limit: this.length, units: app.units });
        const days = h('div', {});
        const within = told.items.some(({ id }) => id === this.opened);
        fill(this.root,
            h('h1', { tabindex: -1 }, 'Timeline'), this.pick,
            words && !within && said(words, back),
            this.noter(),
            days,
            this.more(told, days),
            told.unplaced.length > 0 && this.unplaced(told.unplaced),
            outOfUse(app, ['change', 'group', 'note', 'practice'], (thing) => thing.fields.bow === bow.id, () => this.draw()),
            h('div', { class: 'buttons' }, h('a', { class: 'button', href: `#change?bow=${bow.id}` }, 'Note a change')));
        this.add(days, told.items, words);
        if (told.items.length === 0) days.append(h('p', { class: 'empty' }, 'Nothing has happened to this bow yet.'));
        this.root.querySelector('.kept')?.focus();
    }

    /** Adds items below those that are there; a day that goes on keeps its heading. */
    add(days, items, words) {
        for (const item of items) {
            if (days.lastChild?.dataset.day !== item.day) {
                days.append(h('section', { dataset: { day: item.day } }, h('h2', {}, item.day), h('div', { class: 'folds' })));
            }
            days.lastChild.lastChild.append(this.item(item, words));
        }
    }

    /** The button that fetches what is older. */
    more(told, days) {
        const place = h('div', { class: 'buttons' });
        const offer = ({ items, more }) => {
            const last = items.at(-1)?.id;
            place.replaceChildren(...(more ? [button('Older', () => tried(this.app, place, async () => {
                const older = await this.app.call('timeline', { bow: this.bow.id, limit: STEP, before: last, units: this.app.units });
                this.length += STEP;
                this.add(days, older.items);
                offer(older);
            }))] : []));
        };
        offer(told);
        return place;
    }

    item(item, words) {
        const place = h('div', { class: 'inside' });
        const open = this.opened === item.id;
        const row = h('details', { class: `fold item ${item.kind}`, open, ontoggle: () => { if (row.open && !place.firstChild) this.unfold(place, item); } },
            h('summary', {}, h('span', {}, h('span', { class: 'soft figures' }, `${item.time} ${NAMES[item.kind] ?? item.kind}`),
                h('span', { class: 'under words' }, item.words || 'nothing is said'), item.note && h('span', { class: 'soft under' }, item.note))), place);
        if (open) this.unfold(place, item, words);
        return row;
    }

    /** What is known of an item, and what can be put right in it. */
    unfold(place, item, words) {
        const { app } = this;
        const { kind, id } = item;
        const done = (told, back) => {
            this.opened = id;
            return this.draw(told, back);
        };
        const note = kind === 'note' ? item.words : item.note;
        fill(place,
            words && said(words),
            item.svg && svg(item.svg),
            paragraphs([`${item.day} ${item.time}${item.by ? `, by ${item.by}` : ''}`], 'soft'),
            editor(app, { ...item, note }, FIELDS[kind] ?? [], done),
            h('div', { class: 'buttons' },
                kind === 'group' && h('a', { class: 'button', href: `#ends?bow=${this.bow.id}&day=${item.day}&end=${id}` }, 'Arrows of this end'),
                remover(app, item, 'Take it out of use', place, done)));
    }

    noter() {
        const area = text('', { name: 'text' });
        return h('details', { class: 'fold adder' }, h('summary', {}, 'Write a note'), form({ class: 'inside' }, (made) => tried(this.app, made, async () => {
            const { words } = await this.app.call('note', { bow: this.bow.id, text: area.value });
            written(this.app);
            this.opened = null;
            await this.draw(words);
        }), field('Note about this bow', area), button('Keep the note', null, 'main', { type: 'submit' })));
    }

    /** What has no place in the order, and why; a time that it lacks can be given. */
    unplaced(list) {
        return h('section', {}, h('h2', {}, 'Without a place'), h('p', { class: 'soft' }, 'These are kept, but no place in the order follows from them.'),
            list.map(({ kind, id, why }) => {
                const place = h('div', { class: 'card' }, h('p', {}, h('strong', {}, `${NAMES[kind] ?? kind}: `), capital(why)));
                const done = (words, back) => {
                    this.opened = id;
                    return this.draw(words, back);
                };
                place.append(kind === 'note' ? '' : editor(this.app, { kind, id }, ['at'], done),
                    h('div', { class: 'buttons' }, remover(this.app, { kind, id }, 'Take it out of use', place, done)));
                return place;
            }));
    }
}
