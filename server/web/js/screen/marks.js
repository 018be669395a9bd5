/** The marks of a bow: noting one, the mark of any distance, what has grown stale, and a card to print. */

import { h, button, choice, field, line, paragraphs, svg } from '../dom.js';
import { tried, written } from '../record/form.js';
import { remover, said } from '../record/edit.js';
import { hushed } from './figures/parts.js';
import { address, link, noBow, pickers, whichBow } from './figures/which.js';

const KINDS = [{ id: 'mark', name: 'Sight mark' }, { id: 'crawl', name: 'Crawl' }, { id: 'gap', name: 'Gap' }];
const HINTS = {
    mark: 'What the sight reads on its own scale.',
    crawl: 'How far below the nock the fingers take the string, for example 24 mm.',
    gap: 'How far above the middle of the target the point is held, for example 200 mm; below it with a minus, -300 mm.',
};

/** Shows the marks of the bow. */
export async function show(root, app) {
    const { bow, bows } = await whichBow(app);
    if (!bow) return root.append(...noBow('Marks'));
    await new Marks(root, app, bow, bows).load();
}

class Marks {
    constructor(root, app, bow, bows) {
        Object.assign(this, { root, app, bow, bows, asked: {}, said: null });
    }

    async load() {
        const { app, bow } = this;
        this.told = await app.call('marks', { bow: bow.id, units: app.units, ...this.asked });
        this.draw();
    }

    draw() {
        const { app, bow, bows, told } = this;
        this.root.replaceChildren(...[
            h('h1', { tabindex: -1 }, `Marks of ${told.name}`),
            pickers('marks', { bow, bows }, app),
            this.said,
            h('div', { class: 'two noprint' }, this.note(), this.ask()),
            told.sets.length === 0 && h('p', {}, 'No marks noted yet. Find the mark at three or four distances and note each here; the marks of all distances in between then follow.'),
            told.cautions.map((words) => h('p', { class: 'caution' }, words)),
            told.sets.map((set) => this.set(set)),
            h('div', { class: 'buttons' }, link('Back to the bow', address('bow', { bow: bow.id }))),
        ].flat().filter(Boolean));
    }

    /** Notes a mark that was found. */
    note() {
        const { app, bow } = this;
        const distance = line('', { name: 'distance_m', placeholder: app.units === 'imperial' ? '30 yd' : '30 m' });
        const reading = line('', { name: 'mark', autocapitalize: 'none' });
        const hint = h('p', { class: 'hint', 'aria-live': 'polite' }, HINTS.mark);
        const kind = choice(KINDS, 'mark', { onchange: () => { reading.name = kind.value; hint.textContent = HINTS[kind.value]; } });
        const form = h('form', { novalidate: true, onsubmit: (event) => {
            event.preventDefault();
            tried(app, form, async () => {
                const { words } = await app.call('mark', { bow: bow.id, distance_m: distance.value, [kind.value]: reading.value, units: app.units });
                written(app);
                app.say(words.join(' '));
                this.said = null;
                await this.load();
            });
        } }, field('What is noted', kind), field('Distance', distance), field('Mark', reading), hint, button('Keep the mark', null, 'main', { type: 'submit' }));
        return h('details', { open: this.told.sets.length === 0 }, h('summary', {}, 'Note a mark'), form);
    }

    /** Asks for any distance, with the arrow's speed and the eye's height where the archer knows them. */
    ask() {
        const { app, asked } = this;
        const at = line(asked.at ?? '', { name: 'at', placeholder: app.units === 'imperial' ? '43 yd' : '43 m' });
        const speed = line(asked.speed ?? '', { name: 'speed', autocapitalize: 'none' });
        const eye = line(asked.eye ?? '', { name: 'eye', autocapitalize: 'none' });
        const unit = line(asked.unit ?? '', { name: 'unit', autocapitalize: 'none' });
        const form = h('form', { novalidate: true, onsubmit: (event) => {
            event.preventDefault();
            tried(app, form, async () => {
                this.asked = Object.fromEntries(Object.entries({ at: at.value, speed: speed.value, eye: eye.value, unit: unit.value }).filter(([, typed]) => typed.trim()));
                await this.load();
            });
        } },
        field('Distance asked about', at), field('Speed of the arrow', speed, 'Where it was measured, for example 190 ft/s or 58 m/s; a speed in the records is used by itself.'),
        field('Eye above the arrow', eye, 'At full draw, for example 95 mm.'),
        field('A unit of the sight’s scale', unit, 'For example 1 mm: the card to print then shows the scale at its true size.'),
        button('Show', null, 'main', { type: 'submit' }));
        return h('details', { open: Object.keys(asked).length > 0 }, h('summary', {}, 'Ask for a distance'), form);
    }

    set(set) {
        const { title, stale, table_note: note, expected, sentences, assumed, marks, table: rows, asked, older, picture, strip } = set;
        const card = h('div', { class: 'strip-card', tabindex: 0, role: 'group', 'aria-label': `${title}, card to print` }, svg(strip));
        return h('section', { class: 'mark-set' },
            h('h2', {}, title),
            stale && h('p', { class: 'wrong' }, h('strong', {}, 'Stale: '), `${stale}.`),
            paragraphs(expected),
            note && h('p', { class: 'wrong' }, note),
            asked.map(({ distance_words, mark, range, note }) => h('p', { class: 'big', role: 'status' }, `${distance_words}: ${mark ?? note}`, mark && h('span', { class: 'soft small-words' }, ` ${[range, note].filter(Boolean).join(', ')}`))),
            h('div', { class: 'two' },
                h('div', {}, table(`${title}, by distance`, ['Distance', 'Mark', 'Range'], rows.map(({ distance_words, mark, range, note }) => [distance_words, mark, [range, note].filter(Boolean).join(', ')]))),
                h('div', {}, picture && hushed(svg(picture)), paragraphs(sentences), assumed.length > 0 && h('p', { class: 'hint' }, `Assumed: ${assumed.join('; ')}.`))),
            h('h3', {}, 'Found'),
            h('ul', { class: 'rows setup' }, marks.map((mark) => this.found(mark))),
            older.length > 0 && [h('h3', {}, 'Earlier'), h('ul', {}, older.map((words) => h('li', {}, words)))],
            rows.length > 0 && h('details', {}, h('summary', {}, 'Card to print'), card, h('div', { class: 'buttons' }, button('Print the card', () => this.print(card), 'main'))));
    }

    /** A mark that was found; one that was wrong is taken out of use. */
    found({ id, distance_words: at, mark, day, remark }) {
        const place = h('li', {}, h('div', { class: 'set' }, h('span', {}, at), h('strong', {}, mark),
            h('span', { class: 'soft small-words' }, [day ?? 'not noted when', remark].filter(Boolean).join(', '))));
        place.append(remover(this.app, { kind: 'mark', id }, `Take the ${at} mark out`, place, async (told, back) => {
            this.said = said(told, back);
            await this.load();
            this.root.querySelector('.kept')?.focus();
        }));
        return place;
    }

    /** Prints the card alone. */
    print(card) {
        const all = [this.root, card];
        all.forEach((one) => one.classList.add('printed'));
        addEventListener('afterprint', () => all.forEach((one) => one.classList.remove('printed')), { once: true });
        print();
    }
}

function table(label, heads, rows) {
    if (rows.length === 0) return null;
    return h('div', { class: 'wide', tabindex: 0, role: 'group', 'aria-label': label }, h('table', {},
        h('thead', {}, h('tr', {}, heads.map((words) => h('th', { scope: 'col' }, words)))),
        h('tbody', {}, rows.map(([first, second, third]) => h('tr', {}, h('th', { scope: 'row' }, first), h('td', {}, h('strong', {}, second)), h('td', {}, third))))));
}
