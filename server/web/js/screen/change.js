/** Change: what was altered on a bow, in two touches; several settings as one change; baselines. */

import { h, fill, button, field } from '../dom.js';
import { capital, cautions, moment, text, tried, typedMoment, written } from '../record/form.js';
import { asked, gathered } from '../record/gathered.js';
import { asking, editor, retire, said } from '../record/edit.js';
import { settingsList } from '../record/settings.js';
import { baselinesSection } from '../record/baselines.js';
import { noBow, pickers, whichBow } from './figures/which.js';

/** Shows the screen; what is half made comes back with it. */
export async function show(root, app) {
    await new Changing(root, app).begin();
}

const blank = (bow) => ({ bow, id: null, several: false, gathered: [], note: '', at: '', open: [], typed: {}, own: {} });

class Changing {
    constructor(root, app) {
        Object.assign(this, { root, app, kept: null, told: null });
    }

    async begin() {
        const { app, root } = this;
        const { bow, bows } = await whichBow(app);
        if (!bow) return root.replaceChildren(...noBow('Change'));
        Object.assign(this, { bow, pick: pickers('change', { bow, bows }, app), kept: null, told: null });
        this.draft = { ...blank(bow.id), ...(await app.drafts.take(`change-${bow.id}`)) };
        return this.load();
    }

    /** Reads the setup anew and draws it. */
    async load() {
        const { app, bow } = this;
        const [{ settings }, { baselines }] = await Promise.all([app.call('settings', { bow: bow.id }), app.call('baselines', { bow: bow.id })]);
        Object.assign(this, { settings, baselines });
        this.draw();
    }

    /** Draws the screen; the focus goes to what was said, or to `touched`. */
    draw(touched) {
        fill(this.root,
            h('h1', { tabindex: -1 }, 'Change'),
            this.pick,
            this.told,
            h('div', { class: 'change-body' },
                h('div', { class: 'change-side' }, this.head(), this.pending()),
                h('section', { class: 'change-list', 'aria-label': 'Settings' }, settingsList(this)),
                h('div', { class: 'change-side' }, baselinesSection(this),
                    h('div', { class: 'buttons' }, h('a', { class: 'button', href: `#timeline?bow=${this.bow.id}` }, 'Timeline of this bow')))));
        this.root.querySelector(touched ?? '.kept')?.focus();
    }

    /** When it was, what there is to note of it, and whether several settings go together. */
    head() {
        const { draft } = this;
        const several = h('input', { type: 'checkbox', id: 'several', onchange: () => { draft.several = several.checked; this.save(); this.draw('#several'); } });
        several.checked = draft.several;
        const note = text(draft.note, { name: 'note', oninput: () => { draft.note = note.value; this.save(); } });
        const at = moment('When', draft.at, { oninput: (event) => { draft.at = event.target.value; this.save(); } }, 'Empty is now.');
        const words = [draft.at ? draft.at.replace('T', ' ') : 'now', draft.note || 'no note'].join(', ');
        return h('div', {},
            h('label', { class: 'check' }, several, 'Several settings as one change'),
            h('details', { open: Boolean(draft.at || draft.note) }, h('summary', {}, h('span', {}, 'When and note: ', h('span', { class: 'soft' }, words))), at, field('Note', note)));
    }

    /** What is gathered and not kept yet. */
    pending() {
        const { draft } = this;
        if (this.kept?.place === 'pending') return this.keptCard();
        if (draft.gathered.length === 0) return draft.several && h('p', { class: 'soft' }, 'Touch the settings that were altered; they are kept together.');
        const many = draft.gathered.length;
        return h('section', { class: 'card pending' }, h('h2', {}, 'One change, not kept yet'),
            h('ul', { class: 'gathered' }, draft.gathered.map((item, i) => h('li', { dataset: { field: `set[${i}]` } },
                h('span', {}, h('strong', {}, capital(item.name)), `: ${item.words}`, h('span', { class: 'soft under' }, this.before(item))),
                button('Out', () => this.drop(item), 'plain', { 'aria-label': `Take ${item.name} out of the change` })))),
            h('div', { class: 'buttons' }, button(`Keep the change (${many})`, () => this.keepGathered(), 'main')),
            asking('Let go of it', 'Yes, nothing of it was altered', 'quiet', () => this.letGo()));
    }

    /** What the setting of a gathered item is as long as that is not kept. */
    before({ setting }) {
        const now = this.settings.find((s) => s.setting === setting)?.shown;
        return now ? `is ${now} until then` : 'was not noted before';
    }

    save() {
        return this.app.drafts.put(`change-${this.bow.id}`, this.draft).catch(this.app.fail);
    }

    /** Keeps in mind which settings are open. */
    opened(setting, open) {
        const others = this.draft.open.filter((name) => name !== setting);
        this.draft.open = open ? [...others, setting] : others;
        this.save();
    }

    typed(setting, words) {
        this.draft.typed[setting] = words;
        this.save();
    }

    /** Time and note of the change to come, as the model takes them. */
    about() {
        return { note: this.draft.note || undefined, at: typedMoment(this.draft.at) };
    }

    /** A setting was altered in `near`: it is kept at once, or gathered. */
    alter(setting, by, words, near, already = false) {
        if (this.draft.several && by.to?.trim() === '') return this.app.fail('The value is empty: say what it is now.');
        if (this.draft.several) return this.gather(setting, by, words);
        return tried(this.app, this.root, async () => {
            const done = await this.app.call('change', { bow: this.bow.id, set: [{ setting: setting.setting, ...by }], already, ...this.about() });
            written(this.app);
            const known = this.settings.some((s) => s.setting === setting.setting);
            delete this.draft.typed[setting.setting];
            if (!known) this.draft.own = {};
            await this.keep(known ? setting.setting : 'pending', done, { note: '', at: '' });
        }, near);
    }

    gather(setting, by, words) {
        const { draft } = this;
        draft.gathered = gathered(draft.gathered, setting, by, words);
        delete draft.typed[setting.setting];
        if (!this.settings.includes(setting)) draft.own = {};
        this.kept = null;
        this.save();
        this.draw(`[data-setting="${CSS.escape(setting.setting)}"] > summary`);
        const item = draft.gathered.find((there) => there.setting === setting.setting);
        this.app.say(item ? `Gathered: ${item.name}, ${item.words}. It is not kept yet.` : `${capital(setting.name)} is as it was: nothing to keep of it.`);
    }

    drop(item) {
        this.draft.gathered = this.draft.gathered.filter((other) => other !== item);
        this.save();
        this.draw('h1');
    }

    async letGo() {
        Object.assign(this.draft, { id: null, gathered: [], note: '', at: '' });
        await this.save();
        this.draw('h1');
    }

    /** Keeps what is gathered as one change; under its own id, so that it is kept once however often it is sent. */
    keepGathered() {
        return tried(this.app, this.root, async () => {
            const { draft } = this;
            draft.id ??= (await this.app.call('new_id')).id;
            await this.save();
            const done = await this.app.call('change', { bow: this.bow.id, id: draft.id, set: asked(draft.gathered), ...this.about() });
            written(this.app);
            await this.keep('pending', done, { id: null, several: false, gathered: [], note: '', at: '' });
        });
    }

    /** Something is kept: the draft lets go of it, and what the model says stands where it was touched. */
    async keep(place, { change, words, cautions: care, pair, moved = [] }, draft) {
        const told = change && !words.some((line) => line.endsWith('.')) ? [`Kept: ${words.join(', ')}.`] : words;
        this.kept = { place, change, words: [...told, ...moved, ...(pair?.words ?? [])], cautions: care ?? [] };
        this.told = null;
        Object.assign(this.draft, draft);
        await this.save();
        await this.load();
    }

    /** Says something at the top of the screen. */
    async tell(words, back) {
        this.kept = null;
        this.told = said(words, back);
        await this.load();
    }

    /** What was kept, in the model's words, with the way back and what can be added to it. */
    keptCard() {
        const { app, kept } = this;
        if (!kept.change) return said(kept.words);
        const record = { kind: 'change', id: kept.change };
        const settle = async (words, back) => {
            this.kept = { ...kept, words, back, cautions: [] };
            await this.load();
        };
        const undo = button('Undo', () => tried(app, this.root, () => retire(app, record, true, settle)));
        return said(kept.words, cautions(kept.cautions), kept.back ?? h('div', { class: 'buttons' }, undo),
            !kept.back && h('details', {}, h('summary', {}, 'Add a note, or when it was'), editor(app, record, ['note', 'at'], (words) => settle(words, null))));
    }
}
