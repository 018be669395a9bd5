/** Shoot: place the arrows of an end, see the group as it grows, finish; the next end begins at once. */

import { h, button } from '../dom.js';
import { surface } from '../place/surface.js';
import { chooser, asked } from './shoot/frame.js';
import { conditions } from './shoot/conditions.js';
import { lastMode, modes } from './shoot/modes.js';
import { questions } from './shoot/questions.js';

const DRAFT = 'shoot';

/** Shows the screen from the draft, before the model has come up; then with what the records say. */
export async function show(root, app) {
    const end = new End(root, app, (await app.drafts.take(DRAFT)) ?? null);
    if (end.draft?.face) end.draw();
    else root.append(h('p', { id: 'loading' }, 'Loading…'));
    stayAwake(app);
    await end.begin();
}

/** Returns the draft of the next end, shot with the same. */
function blank({ asked: use, title, face, shaft_mm, distance_m, arrows_per_end, end_number }) {
    return { asked: use, title, face, shaft_mm, distance_m, arrows_per_end, end_number: end_number + 1, shot: [], note: '' };
}

/** The end under way: its draft, and its parts on the screen. */
class End {
    constructor(root, app, draft) {
        Object.assign(this, { root, app, draft, frame: null, place: null, mode: lastMode() });
    }

    /** Asks what the next end is shot with; a draft under way keeps what it began with. */
    async begin() {
        const use = this.draft?.asked ?? {};
        this.frame = await this.app.call('frame', use).catch(() => this.app.call('frame', {}));
        const { bow, face, distance_m } = this.frame;
        if (!bow || !face || !distance_m) {
            this.first();
            return;
        }
        const before = this.draft;
        this.draft = { ...(before ?? {}), ...asked(this.frame), shot: before?.shot ?? [], note: before?.note ?? '' };
        this.draft.id ??= (await this.app.call('new_id')).id;
        await this.save();
        // What is on the screen already is left as it is: a thumb may be on it.
        if (this.place && before?.face?.code === face.code) this.refresh();
        else this.draw();
    }

    /** Nothing was shot yet: asks for bow, distance and face. */
    first() {
        this.root.replaceChildren(h('h1', { tabindex: -1 }, 'What do you shoot with?'), chooser(this.frame, this.app, (use) => this.take(use), true));
    }

    /** Takes another frame for the arrows that are there and to come. */
    async take(use) {
        this.draft = { ...(this.draft ?? { shot: [], note: '' }), ...use };
        this.place = null;
        await this.save();
        await this.begin();
    }

    save() {
        this.app.busy = this.draft.shot.length > 0;
        return this.app.drafts.put(DRAFT, this.draft).catch(this.app.fail);
    }

    draw() {
        const { draft, app } = this;
        this.place = surface({
            face: draft.face,
            arrows: draft.shot,
            mode: this.mode,
            shaft_mm: draft.shaft_mm,
            of: draft.arrows_per_end,
            ...questions(app, () => this.draft),
            onchange: (arrows, seen) => this.changed(arrows, seen),
            onerror: app.fail,
        });
        this.head = h('h1', { tabindex: -1 });
        this.use = h('div');
        this.told = h('p', { class: 'told figures', 'aria-live': 'polite' });
        this.plan = h('div');
        this.tail = h('div');
        this.root.replaceChildren(h('div', { class: 'shoot-head' }, this.head, this.use), this.plan, this.place, this.told, this.buttons(), this.tail);
        this.refresh();
    }

    buttons() {
        this.undo = button('Undo', () => this.place.undo());
        this.finish = button('Finish', () => this.app.attempt(() => this.keep()), 'main finish');
        return h('div', { class: 'buttons shoot-buttons' }, this.undo, this.finish);
    }

    /** Shows how far the end has come. */
    refresh() {
        const { shot, end_number, arrows_per_end, title } = this.draft;
        const next = shot.length < arrows_per_end ? `arrow ${shot.length + 1} of ${arrows_per_end}` : `${shot.length} arrows`;
        this.head.textContent = `End ${end_number} · ${next}`;
        this.finish.disabled = shot.length === 0;
        this.place.of(arrows_per_end);
        const words = [title.bow, title.distance, title.face, title.arrows].filter(Boolean).join(' · ');
        if (this.use.textContent !== words) this.use.replaceChildren(button(words, () => this.choose(), 'plain', { 'aria-label': `Shot with ${words}. Change it` }));
        if (this.tail.childElementCount === 0) this.tail.replaceChildren(conditions(this), modes(this));
        this.drawPlan();
    }

    drawPlan() {
        const plan = this.frame?.plan;
        if (!plan) {
            this.plan.replaceChildren();
            return;
        }
        const words = h('p', {}, h('strong', {}, `Plan ${plan.name}. `), plan.words);
        this.plan.replaceChildren(h('div', { class: plan.set_up ? 'card' : 'caution' }, words,
            !plan.set_up && button('The bow is set up so now', () => this.app.attempt(async () => {
                await this.app.call('change', { bow: this.frame.bow.id, set: plan.change });
                this.app.sync.sync();
                await this.begin();
            })),
            button('Shoot outside the plan', () => this.take({ asked: { ...this.draft.asked, plan: null } }), 'quiet')));
    }

    /** Keeps the draft at every arrow, and says the group as it grows. */
    changed(arrows, seen) {
        if (seen) {
            const { mpi_words, spread_words } = seen.figures ?? {};
            this.told.textContent = [seen.words, mpi_words, spread_words].filter(Boolean).join('; ');
            return;
        }
        if (arrows.length === 0) this.told.textContent = '';
        this.draft.shot = arrows;
        this.refresh();
        this.save();
    }

    choose() {
        this.place = null;
        this.root.replaceChildren(h('h1', { tabindex: -1 }, 'Shot with'), chooser(this.frame, this.app, (use) => this.take(use), false),
            button('Back', () => this.draw(), 'quiet'));
    }

    /** Keeps the end; the draft goes only once it is on the disk. */
    async keep() {
        if (this.keeping) return;
        this.keeping = true;
        this.finish.disabled = true;
        try {
            const { asked: use, shot, id, note } = this.draft;
            const done = await this.app.call('keep', { ...use, id, shot, note: note || undefined, units: this.app.units });
            this.draft = blank(this.draft);
            await this.save();
            this.app.say(done.words.join(' '));
            this.place.clear();
            this.told.textContent = '';
            this.tail.replaceChildren();
            this.app.sync.sync();
            this.app.sync.look();
            await this.begin();
        } finally {
            this.keeping = false;
            this.refresh();
        }
    }
}

/** Keeps the screen lit while arrows are placed, where the phone can. */
function stayAwake(app) {
    let lock = null;
    const take = async () => {
        if (document.visibilityState !== 'visible') return;
        lock = await navigator.wakeLock?.request('screen').catch(() => null);
    };
    document.addEventListener('visibilitychange', take);
    app.leaving(() => {
        document.removeEventListener('visibilitychange', take);
        lock?.release().catch(() => {});
    });
    take();
}
