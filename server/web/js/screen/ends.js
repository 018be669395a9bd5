/** What was shot: ends by session with their totals; a touch opens one, and what is wrong in it can be put right. */

import { h, fill, button, field, choice } from '../dom.js';
import { form, moment, text, tried, typedMoment, wall, written } from '../record/form.js';
import { outOfUse } from '../record/out.js';
import { remover, said } from '../record/edit.js';

const STEP = 60;

/** Shows the screen. */
export async function show(root, app) {
    await new Ends(root, app).draw();
}

class Ends {
    constructor(root, app) {
        const asked = app.parameters;
        Object.assign(this, { root, app, bow: asked.get('bow') ?? '', archer: asked.get('archer') ?? '', day: asked.get('day'), opened: asked.get('end'), limit: STEP });
    }

    /** Draws everything anew; what is said goes with the end that is open, or to the top. */
    async draw(words, back) {
        const { app, bow, archer, day, limit } = this;
        const [{ choices }, shot] = await Promise.all([
            app.call('frame', {}),
            app.call('ends', { bow: bow || null, archer: archer || null, day, limit }),
        ]);
        fill(this.root,
            h('h1', { tabindex: -1 }, day ? `Ends of ${day}` : 'Ends shot'),
            this.filters(choices),
            words && !shot.ends.some(({ id }) => id === this.opened) && said(words, back),
            h('div', {}, this.sessions(shot, words)),
            shot.ends.length === 0 && this.nothing(),
            h('div', { class: 'buttons' },
                day && button('All days', () => app.attempt(() => { this.day = null; return this.draw(); })),
                shot.more && button('Older ends', () => app.attempt(() => { this.limit += STEP; return this.draw(); }))),
            outOfUse(app, ['group'], (group) => (!bow || group.fields.bow === bow) && (!archer || group.fields.archer === archer), () => this.draw()));
        this.root.querySelector('.kept')?.focus();
    }

    nothing() {
        return h('div', { class: 'empty' }, h('p', {}, 'No end is here.'), h('a', { class: 'button main', href: '#shoot' }, 'Shoot one'));
    }

    filters({ bows, archers }) {
        const select = (words, all, list, name) => list.length > 1 && field(words, choice([{ id: '', name: all }, ...list], this[name], { onchange: (event) => {
            this[name] = event.target.value;
            this.opened = null;
            this.app.attempt(() => this.draw());
        } }));
        return h('div', { class: 'filters' }, select('Bow', 'all bows', bows, 'bow'), select('Archer', 'everybody', archers, 'archer'));
    }

    sessions({ ends, sessions }, words) {
        const byId = new Map(ends.map((end) => [end.id, end]));
        return sessions.map((session) => h('section', {},
            h('div', { class: 'session' }, h('h2', {}, session.words),
                session.total !== null && h('p', { class: 'figures' }, h('strong', {}, `${session.total} points`))),
            h('div', { class: 'folds' }, session.ids.map((id) => this.row(byId.get(id), words)))));
    }

    row(end, words) {
        const open = this.opened === end.id;
        const place = h('div', { class: 'inside' });
        const row = h('details', { class: 'fold', open, ontoggle: () => { if (row.open && !place.firstChild) this.unfold(place, end); } },
            h('summary', {}, h('span', { class: 'figures' }, h('strong', {}, end.time ?? 'no time'), ` ${end.words}`,
                end.note && h('span', { class: 'soft under' }, end.note))), place);
        if (open) this.unfold(place, end, words);
        return row;
    }

    /** What is known of an end, and what can be put right in it. */
    unfold(place, end, words) {
        const { app } = this;
        const shot = (end.points_mm ?? []).map((mm, i) => ({
            mm, number: end.numbers?.[i] ?? undefined, flyer: end.flyers.includes(i), bare: end.bare.includes(i),
        }));
        const before = JSON.stringify(shot);
        const note = text(end.note, { name: 'note' });
        const at = moment('When it was shot', end.at);
        const send = (made) => tried(app, made, async () => {
            const mended = { group: end.id };
            const typed = made.querySelector('[name=at]').value;
            if (typed !== wall(end.at)) mended.at = typedMoment(typed) ?? null;
            if (note.value !== (end.note ?? '')) mended.note = note.value;
            if (JSON.stringify(shot) !== before) Object.assign(mended, { shot, shot_was: JSON.parse(before) });
            await this.done(end.id, (await app.call('mend', mended)).words);
        });
        fill(place,
            words && said(words),
            h('p', {}, [end.bow_name, end.archer_name, end.distance_words, end.face_name, end.sight && `sight ${end.sight}`].filter(Boolean).join(' · ')),
            form({}, send, arrows(end, shot), field('Note', note), at, button('Keep what is altered', null, 'main', { type: 'submit' })),
            h('div', { class: 'buttons' }, button('Put arrows, distance or face right', () => app.attempt(() => this.mend(end, shot))), remover(app, { kind: 'group', id: end.id }, 'Take it out of use', place, (told, back) => this.done(end.id, told, back))));
    }

    /** Takes the end to where arrows are placed; finished there, it is the same end. */
    async mend(end, shot) {
        const { app } = this;
        if ((await app.drafts.take('shoot'))?.shot?.length > 0) throw new Error('An end is under way under "Shoot": finish it first.');
        const use = { bow: end.bow, archer: end.archer, arrows: end.arrows ?? '', distance_m: end.distance_m && `${end.distance_m} m`, face: end.face, sight: end.sight ?? '' };
        const known = Object.fromEntries(Object.entries(use).filter(([, value]) => value !== null));
        await app.drafts.put('shoot', { id: end.id, at: end.at, asked: known, shot, note: end.note ?? '' });
        app.go('shoot');
    }

    async done(id, words, back) {
        written(this.app);
        this.opened = id;
        await this.draw(words, back);
    }
}

/** The arrows with their marks: a touch says that one is a flyer, or takes that back. */
function arrows(end, shot) {
    if (shot.length === 0) return null;
    return h('fieldset', {}, h('legend', {}, 'Arrows: touch the ones that were flyers'),
        h('div', { class: 'arrow-marks' }, shot.map((arrow, i) => {
            const ring = end.rings[i] ?? (arrow.mm ? '·' : 'M');
            const marks = [arrow.number && `n° ${arrow.number}`, arrow.bare && 'bare'].filter(Boolean).join(', ');
            const mark = button([h('span', { class: 'big' }, ring), ' ', h('span')], () => { arrow.flyer = !arrow.flyer; tell(); });
            const tell = () => {
                mark.lastChild.textContent = [marks, arrow.flyer && 'flyer'].filter(Boolean).join(', ');
                mark.setAttribute('aria-pressed', String(arrow.flyer));
            };
            tell();
            return mark;
        })));
}
