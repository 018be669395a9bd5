/** Shoot: place the arrows of an end, see the group as it grows, finish; the next end begins at once. */

import { h, button } from '../dom.js';
import { surface } from '../place/surface.js';
import { chooser, asked } from './shoot/frame.js';
import { slots, blank } from './shoot/slots.js';
import { conditions } from './shoot/conditions.js';

const DRAFT = 'shoot';

/** Shows the screen from the draft, before the model has come up; then with what the records say. */
export async function show(root, app) {
    const end = new End(root, app, (await app.drafts.take(DRAFT)) ?? null);
    if (end.draft?.face) end.draw();
    else root.append(h('p', { id: 'loading' }, 'Loading…'));
    stayAwake(app);
    await end.begin();
}

/** The end under way: its draft, what the model says of it, and its parts on the screen. */
class End {
    constructor(root, app, draft) {
        Object.assign(this, { root, app, draft, told: null, frame: null, seen: 0, mode: localStorage.getItem('sheaf-placing') ?? 'press' });
    }

    /** Asks what the next end is shot with; a draft under way keeps what it began with. */
    async begin() {
        const typed = this.draft?.shot?.length ? this.draft.asked : (this.draft?.asked ?? {});
        this.frame = await this.app.call('frame', typed).catch(() => this.app.call('frame', {}));
        const { bow, face, distance_m } = this.frame;
        if (!bow || !face || !distance_m) return this.first();
        const before = this.draft;
        this.draft = { ...(before ?? {}), ...asked(this.frame), shot: before?.shot ?? [], note: before?.note ?? '' };
        this.draft.id ??= (await this.app.call('new_id')).id;
        await this.save();
        this.draw();
        return this.look();
    }

    /** Nothing was shot yet: asks for bow, distance and face. */
    first() {
        this.root.replaceChildren(h('h1', { tabindex: -1 }, 'What do you shoot with?'), chooser(this.frame, this.app, (draft) => this.take(draft), true));
    }

    /** Takes another frame for the arrows that are there and to come. */
    async take(frame) {
        this.draft = { ...(this.draft ?? { shot: [], note: '' }), ...frame };
        await this.save();
        return this.begin();
    }

    save() {
        this.app.busy = this.draft.shot.length > 0;
        return this.app.drafts.put(DRAFT, this.draft).catch(this.app.fail);
    }

    draw() {
        const { draft } = this;
        this.surface = surface({
            face: draft.face,
            arrows: draft.shot,
            mode: this.mode,
            shaft_mm: draft.shaft_mm,
            typed: (text) => this.app.call('typed', { face: draft.face.code, text }),
            onmode: (mode) => { this.mode = mode; localStorage.setItem('sheaf-placing', mode); },
            onplace: (arrow) => this.place(arrow),
            onchange: (index, arrow) => this.alter(index, arrow),
        });
        this.head = h('h1', { tabindex: -1 });
        this.words = h('p', { class: 'told', 'aria-live': 'polite' });
        this.slots = h('div', { class: 'slots' });
        this.plan = h('div');
        this.root.replaceChildren(
            h('div', { class: 'shoot-head' }, this.head, button(this.title(), () => this.choose(), 'plain', { class: 'button frame-button', 'aria-label': `Shot with: ${this.title()}. Change it` })),
            this.plan,
            h('div', { class: 'shoot-body' }, this.surface.element, h('div', { class: 'shoot-side' }, this.slots, this.words, conditions(this), this.buttons())),
        );
        this.refresh();
    }

    title() {
        const { title } = this.draft;
        return [title.bow, title.distance, title.face, title.arrows].filter(Boolean).join(' · ');
    }

    buttons() {
        this.undo = button('Undo', () => this.takeBack(), 'plain');
        this.miss = button('Miss', () => this.place({ mm: null }), 'plain', { 'aria-label': 'An arrow that missed and was not found' });
        this.finish = button('Finish', () => this.app.attempt(() => this.keep()), 'main finish');
        return h('div', { class: 'buttons shoot-buttons' }, this.undo, this.miss, this.finish);
    }

    /** Shows how far the end has come. */
    refresh() {
        const { shot, end_number, arrows_per_end } = this.draft;
        this.head.textContent = `End ${end_number} · arrow ${Math.min(shot.length + 1, Math.max(arrows_per_end, shot.length + 1))}${shot.length < arrows_per_end ? ` of ${arrows_per_end}` : ''}`;
        this.slots.replaceChildren(...slots(this));
        this.undo.disabled = shot.length === 0 && !this.before;
        this.finish.disabled = shot.length === 0;
        this.drawPlan();
    }

    drawPlan() {
        const plan = this.frame?.plan;
        if (!plan) return this.plan.replaceChildren();
        const words = h('p', {}, h('strong', {}, `Plan ${plan.name}, end ${plan.end} of ${plan.of}: setup ${plan.setup}. `), plan.words);
        return this.plan.replaceChildren(h('div', { class: plan.set_up ? 'card' : 'caution' }, words,
            !plan.set_up && button('Note that the bow is set up so', () => this.app.attempt(async () => {
                await this.app.call('change', { bow: this.frame.bow.id, set: plan.change });
                this.app.sync.sync();
                await this.begin();
            })),
            button('Shoot outside the plan', () => this.take({ asked: { ...this.draft.asked, plan: null } }), 'quiet')));
    }

    async place(arrow) {
        this.draft.shot = [...this.draft.shot, arrow];
        this.before = null;
        await this.changed();
    }

    async alter(index, arrow) {
        this.before = this.draft.shot;
        this.draft.shot = this.draft.shot.flatMap((now, i) => (i === index ? (arrow === null ? [] : [{ ...now, ...arrow }]) : [now]));
        await this.changed();
    }

    /** Takes back the last arrow, or the last alteration. */
    async takeBack() {
        this.draft.shot = this.before ?? this.draft.shot.slice(0, -1);
        this.before = null;
        await this.changed();
    }

    async changed() {
        this.surface.set(this.draft.shot);
        this.refresh();
        await Promise.all([this.save(), this.look()]);
    }

    /** Asks the model what is there; an answer that a later arrow has overtaken is passed over. */
    async look() {
        const turn = (this.seen += 1);
        const { shot, face, shaft_mm, distance_m } = this.draft;
        if (shot.length === 0) {
            this.told = null;
            this.words.textContent = '';
            this.surface.tell(null);
            return;
        }
        const told = await this.app.attempt(() => this.app.call('look', { face: face.code, shaft_mm, distance_m, arrows: shot, units: this.app.units }));
        if (turn !== this.seen || !told) return;
        this.told = told;
        this.words.textContent = told.words;
        this.surface.tell(told);
        this.slots.replaceChildren(...slots(this));
    }

    choose() {
        this.root.replaceChildren(h('h1', { tabindex: -1 }, 'Shot with'), chooser(this.frame, this.app, (draft) => this.take(draft), false),
            button('Back', () => this.draw(), 'quiet'));
    }

    /** Keeps the end; the draft goes only once it is on the disk. */
    async keep() {
        if (this.keeping) return;
        this.keeping = true;
        try {
            const { draft } = this;
            const { asked: use, shot, id, note } = draft;
            const done = await this.app.call('keep', { ...use, id, shot, note: note || undefined });
            await this.app.drafts.put(DRAFT, blank(draft));
            this.draft = blank(draft);
            this.app.say(done.words.join(' '));
            this.app.busy = false;
            this.app.sync.sync();
            this.app.sync.look();
            await this.begin();
        } finally {
            this.keeping = false;
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
