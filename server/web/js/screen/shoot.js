/** Shoot: place the arrows of an end, see the group as it grows, finish; the next end begins at once. */

import { h, button } from '../dom.js';
import { surface } from '../place/surface.js';
import { alike, asked, blank, chooser, mark, meant, whole } from './shoot/frame.js';
import { conditions } from './shoot/conditions.js';
import { lastMode, modes } from './shoot/modes.js';
import { questions } from './shoot/questions.js';

const DRAFT = 'shoot';

/** The end that is on its way to the disk, so that its draft is not taken up again meanwhile. */
let finishing = Promise.resolve();

/** Shows the screen from the draft, before the model has come up; then with what the records say. */
export async function show(root, app) {
    if (app.card?.server?.role === 'coach') {
        root.append(h('h1', { tabindex: -1 }, 'Archers record here'),
            h('p', {}, 'A coach\'s phone reads everything and writes notes and plans; what is shot is recorded by who shoots it. A keeper of the team can change the role.'),
            button('To the squad', () => app.go('squad'), 'main'));
        return;
    }
    root.append(h('p', { id: 'loading' }, 'Loading…'));
    let end = null;
    stayAwake(app, () => end?.leave());
    await finishing;
    end = new End(root, app, whole(await app.drafts.take(DRAFT)));
    if (end.draft?.face) end.draw();
    await end.passKept();
    await end.begin();
}

/** The end under way: its draft, and its parts on the screen. */
class End {
    constructor(root, app, draft) {
        Object.assign(this, { root, app, draft, left: false, frame: null, place: null, mode: lastMode() });
    }

    /** Asks what the next end is shot with; a draft under way keeps what it began with. */
    async begin() {
        const use = meant(this.draft);
        this.frame = await this.framed(use);
        if (this.left) return;
        const { bow, face, distance_m } = this.frame;
        if (!bow || !face || !distance_m) {
            this.first();
            return;
        }
        this.underway = this.frame.plan ? null : await this.openPlan();
        if (this.left) return;
        const before = this.draft;
        this.draft = { ...(before ?? {}), ...asked(this.frame, use), shot: before?.shot ?? [], note: before?.note ?? '' };
        this.draft.mark ??= mark();
        if (this.draft.shot.length > 0) await this.named();
        else await this.save();
        if (this.left) return;
        // What is on the screen already is left as it is: a thumb may be on it.
        if (this.place && before?.face?.code === face.code) this.refresh();
        else this.draw();
    }

    /** An end that was kept just before the page was killed is not under way any more, whatever its draft says. */
    async passKept() {
        const { id, shot } = this.draft ?? {};
        // One that is being mended is under way by the user's word.
        if (!id || shot.length === 0 || this.draft.at || this.draft.mends) return;
        const { ends } = await this.app.call('ends', { limit: 20 });
        const kept = ends.find((end) => end.id === id);
        if (this.left || !kept || !alike(kept.points_mm ?? [], this.draft.shot)) return;
        this.draft = blank(this.draft);
        this.place?.clear();
        this.app.say(`The end before is kept: ${kept.words}.`);
    }

    /** Returns the plan of this bow and archer that is under way, where there is one. */
    async openPlan() {
        const { plans } = await this.app.call('plans');
        return plans.find(({ bow, archer, open }) => open && bow === this.frame.bow.id && (!archer || archer === this.frame.archer.id)) ?? null;
    }

    /** Asks for the frame; what the records do not know, as after coming into a team as somebody else, is assumed anew. */
    async framed(use) {
        try {
            return await this.app.call('frame', use);
        } catch (e) {
            if (!Object.hasOwn(use, e.field)) throw e;
            const { [e.field]: _, ...rest } = use;
            const frame = await this.framed(rest);
            if (this.draft?.shot.length > 0) this.app.fail(`${e.message}. Look at what this end is shot with before you finish it.`);
            return frame;
        }
    }

    /**
     * The end has its id on the disk before it is sent: so it is kept once, however often it is sent. It gets it with
     * its first arrow: one that lay ready would be in the backup of a phone, and be given to two ends.
     */
    async named() {
        const { draft } = this;
        const id = draft.id ?? (await this.app.call('new_id')).id;
        draft.id ??= id;
        if (this.draft === draft && !this.left) await this.save();
    }

    /** Another screen is shown: what is still under way here writes no draft any more. */
    leave() {
        this.left = true;
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
        if (this.left) return undefined;
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
        this.root.replaceChildren(h('div', { class: 'shoot-head' }, this.head, this.use), this.plan, this.place, this.told, this.tail, this.buttons());
        this.refresh();
    }

    buttons() {
        this.undo = button('Undo', () => this.takeBack());
        this.finish = button('Finish', () => this.app.attempt(() => this.keep()), 'main finish');
        return h('div', { class: 'buttons shoot-buttons' }, this.undo, this.finish);
    }

    /** Takes back the last step; on an empty end the end before, as it was when it was finished. */
    takeBack() {
        if (this.draft.shot.length > 0 || !this.ended) return this.place.undo();
        this.draft = { ...this.ended, mends: true };
        this.ended = null;
        this.save();
        this.draw();
        return this.app.say('The end before is under way again: mend it, then finish it anew.');
    }

    /** Shows how far the end has come. */
    refresh() {
        const { shot, end_number, arrows_per_end, title } = this.draft;
        const next = shot.length < arrows_per_end ? `arrow ${shot.length + 1} of ${arrows_per_end}` : `${shot.length} arrows`;
        this.head.textContent = this.draft.at ? `Mending · ${next}` : `End ${end_number} · ${next}`;
        this.finish.disabled = shot.length === 0;
        this.place.of(arrows_per_end);
        const words = [title.bow, title.distance, title.face, title.arrows, title.sight && `sight ${title.sight}`].filter(Boolean).join(' · ');
        if (this.use.textContent !== words) this.use.replaceChildren(button(words, () => this.choose(), 'plain', { 'aria-label': `Shot with ${words}. Change it` }));
        if (this.tail.childElementCount === 0) this.tail.replaceChildren(conditions(this), modes(this));
        this.drawPlan();
    }

    drawPlan() {
        const plan = this.frame?.plan;
        if (!plan && this.underway && this.draft.shot.length === 0 && !this.draft.at) {
            const { id, name, words } = this.underway;
            this.plan.replaceChildren(h('div', { class: 'card' }, h('p', {}, h('strong', {}, `Plan ${name}: `), `${words}. An end counts in it only when it is shot under it.`),
                button('Shoot the next end under it', () => this.take({ asked: { plan: id } }))));
            return;
        }
        if (!plan) {
            this.plan.replaceChildren();
            return;
        }
        const words = h('p', {}, h('strong', {}, `Plan ${plan.name}. `), plan.words);
        this.plan.replaceChildren(h('div', { class: plan.set_up ? 'card' : 'card now' }, words,
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
        if (arrows.length < 2) this.told.textContent = '';
        this.draft.shot = arrows;
        this.refresh();
        this.save();
        // An end of which every arrow was taken out is another one, save where a kept one is mended.
        const { taps, at, mends } = this.draft;
        if (arrows.length === 0 && !taps && !at && !mends) this.draft.id = undefined;
        else if (!this.draft.id) this.named().catch(() => {});
    }

    choose() {
        this.place = null;
        this.root.replaceChildren(h('h1', { tabindex: -1 }, 'Shot with'), chooser(this.frame, this.app, (use) => this.take(use), false),
            button('Back', () => this.draw(), 'quiet'));
    }

    /** Keeps the end, and begins the next; until then nothing is placed. */
    async keep() {
        if (this.keeping) return;
        this.keeping = true;
        this.root.inert = true;
        try {
            const mended = this.draft.at && this.draft.id;
            const kept = this.kept();
            finishing = kept.catch(() => {});
            const done = await kept;
            if (!done || this.left) return;
            if (mended) {
                this.app.say(done.words.join(' '));
                this.app.go(`ends?end=${mended}`);
                return;
            }
            this.tail.replaceChildren();
            await this.begin();
            // Here, where it hides nothing, until the next arrow.
            this.told.textContent = done.words.join(' ');
            scrollTo(0, 0);
        } finally {
            this.keeping = false;
            this.root.inert = false;
            if (!this.left) this.refresh();
        }
    }

    /** The draft goes only once the end is on the disk; then surface and draft are empty in one step. */
    async kept() {
        const { app } = this;
        if (await app.drafts.overtaken(DRAFT, this.draft.mark)) {
            app.drafts.forget();
            app.go('shoot');
            app.fail('This end was finished in another tab. What is under way there is shown now.');
            return null;
        }
        await this.named();
        let sent, done;
        do {
            // An arrow that was on its way, as one that is typed, belongs to this end: it is mended under its id.
            const { asked: use, shot, id, note } = this.draft;
            sent = { shot, note };
            done = await app.call('keep', { ...use, id, at: this.draft.at, shot, note: note || undefined, units: app.units });
        } while (this.draft.shot !== sent.shot || this.draft.note !== sent.note);
        this.ended = this.draft.at ? null : this.draft;
        this.draft = blank(this.draft);
        this.place.clear();
        await app.drafts.put(DRAFT, this.draft).catch(app.fail);
        app.busy = false;
        app.sync.sync();
        app.sync.look().catch(app.fail);
        return done;
    }
}

/** Keeps the screen lit while arrows are placed, where the phone can. */
function stayAwake(app, leave) {
    let lock = null;
    const take = async () => {
        if (document.visibilityState !== 'visible') return;
        lock = await navigator.wakeLock?.request('screen').catch(() => null);
    };
    document.addEventListener('visibilitychange', take);
    app.leaving(() => {
        leave();
        document.removeEventListener('visibilitychange', take);
        lock?.release().catch(() => {});
    });
    take();
}
