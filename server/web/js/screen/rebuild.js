/** The rebuild sheet: a bow put back as it was, in the order of the work, with what was measured anew beside it. */

import { h, fill, button, choice, field, line, paragraphs, svg } from '../dom.js';
import { cautions as careful, tried, written } from '../record/form.js';
import { asking, retire, said } from '../record/edit.js';
import { address, link, noBow, pickers, whichBow } from './figures/which.js';

/** Shows the sheet for a baseline, or for what was last noted. */
export async function show(root, app) {
    const { bow, bows } = await whichBow(app);
    if (!bow) return root.append(...noBow('Rebuild sheet'));
    const { baselines } = await app.call('bow', { bow: bow.id, units: app.units });
    const baseline = baselines.find(({ id }) => id === app.parameters.get('baseline'))?.id;
    const sheet = new Sheet(app, { bow: bow.id, baseline, units: app.units });
    root.append(...[
        pickers('rebuild', { bow, bows }, app),
        baselines.length > 0 && h('div', { class: 'noprint' }, field('Put back as', choice([{ id: '', name: 'last noted' }, ...baselines], baseline ?? '', {
            onchange: (e) => app.go(address('rebuild', { bow: bow.id, baseline: e.target.value || null })),
        }))),
        sheet.element,
    ].filter(Boolean));
    await sheet.begin();
}

/** The sheet with what has been typed; it is kept at every touch. */
class Sheet {
    constructor(app, asked) {
        // What was typed in inches is not read in mm: each has a draft of its own.
        const name = `rebuild ${asked.bow} ${asked.baseline ?? ''}${asked.units === 'imperial' ? ' in' : ''}`;
        Object.assign(this, { app, asked, name, measured: {}, parts: new Map(), turn: 0, waits: null, id: null });
        this.element = h('div', { class: 'rebuild-sheet' });
    }

    async begin() {
        const kept = (await this.app.drafts.take(this.name)) ?? {};
        const told = await this.app.call('rebuild', this.asked);
        this.measured = kept;
        this.draw(told, await this.code());
        if (Object.values(kept).some(Boolean)) await this.compare();
    }

    /** Returns the code that opens this bow on a phone, for the printed sheet; a team on no server has no address. */
    async code() {
        if (!this.app.card?.server) return h('p', { class: 'printonly how' }, 'This team is on no server yet, so there is no code to scan.');
        const opens = `${location.origin}/#${address('bow', { bow: this.asked.bow })}`;
        const drawn = await this.app.call('qr', { text: opens, label: 'QR code that opens this bow' });
        return h('div', { class: 'printonly sheet-code' }, svg(drawn.svg), h('p', { class: 'how' }, `Opens this bow on a phone of the team: ${opens}`));
    }

    draw({ title, day, note, head, rows, elsewhere = [], cautions, source, own_tolerances: own }, code) {
        this.head = h('p', { class: 'big head', role: 'status' }, head);
        if (rows.length === 0) {
            return fill(this.element, h('h1', { tabindex: -1 }, title), h('div', { class: 'empty' }, h('p', {}, head), paragraphs(elsewhere), h('p', {}, 'Measure the bow once while it shoots well, and note it: this sheet brings it back.'),
                h('div', { class: 'buttons' }, link('Note the setup', address('change', { bow: this.asked.bow }), 'main'))));
        }
        return fill(this.element,
            h('h1', { tabindex: -1 }, title, day && h('span', { class: 'soft day' }, ` ${day}`)), note && h('p', { class: 'soft' }, note), code, this.head, ...paragraphs(elsewhere),
            h('p', { class: 'noprint' }, 'Go down the list: what is put right above moves what stands below. Type what you measure.'),
            h('ol', { class: 'rebuild-steps' }, rows.map((row) => this.step(row))),
            h('div', { class: 'cautions' }, cautions.map((words) => h('p', { class: 'caution' }, words))),
            h('p', { class: 'hint' }, `Order, tolerances and how: ${source}.`, own && ` ${own}`),
            this.keeper(),
            h('div', { class: 'buttons' }, button('Print', () => print(), 'main'), button('Clear what was measured', () => this.clear()), link('Back to the bow', address('bow', { bow: this.asked.bow }))),
        );
    }

    /** Makes a step: what it was, a field for what it is, and what follows. */
    step(row) {
        const { setting, name, unit, target, also, tolerance, tolerance_source: whose, notes, how, disturbs } = row;
        const input = line(this.measured[setting] ?? '', { dataset: { field: setting }, inputmode: unit ? 'decimal' : null, 'aria-label': `${name} measured${unit ? `, ${unit}` : ''}`, autocapitalize: 'none', oninput: () => this.typed(setting, input.value) });
        const result = h('p', { class: 'result', 'aria-live': 'polite' });
        const first = h('p', { class: 'soft first' });
        const beyond = h('div', { 'aria-live': 'polite' });
        this.parts.set(setting, { input, result, first, beyond });
        return h('li', { class: 'rebuild-step' },
            h('div', { class: 'what' }, h('strong', {}, name), h('span', { class: 'target' }, target), also && h('span', { class: 'soft also' }, also), h('span', { class: 'soft tolerance' }, tolerance, whose === 'your own' && ' (your own)')),
            h('div', { class: 'measure' }, input, unit && h('span', { class: 'unit', 'aria-hidden': 'true' }, unit), result),
            first, beyond, h('p', { class: 'how' }, notes.length > 0 && h('strong', {}, `${notes.join(' ')} `), how, disturbs && h('span', { class: 'soft' }, ` It ${disturbs}.`)));
    }

    typed(setting, text) {
        this.measured = { ...this.measured, [setting]: text };
        this.app.drafts.put(this.name, this.measured).catch(this.app.fail);
        clearTimeout(this.waits);
        this.waits = setTimeout(() => this.compare(), 350);
    }

    /** Compares; what cannot be read is said at its field and left out, so that the others are still compared. */
    async compare() {
        const turn = (this.turn += 1);
        const given = Object.fromEntries(Object.entries(this.measured).filter(([, text]) => text?.trim()));
        const wrong = new Map();
        for (;;) {
            try {
                const told = await this.app.call('rebuild', { ...this.asked, measured: given });
                if (turn === this.turn) this.tell(told, wrong);
                return;
            } catch (e) {
                const setting = Object.keys(given).find((name) => e.field === name || e.field?.endsWith(`.${name}`));
                if (!setting) return void (turn === this.turn && this.app.fail(e));
                wrong.set(setting, e.message);
                delete given[setting];
            }
        }
    }

    tell({ head, rows }, wrong) {
        this.head.textContent = head;
        const told = new Map(rows.map((row) => [row.setting, row]));
        for (const [setting, { input, result, first, beyond }] of this.parts) {
            const row = told.get(setting) ?? {};
            const trouble = wrong.get(setting);
            input.setAttribute('aria-invalid', String(Boolean(trouble)));
            result.classList.toggle('off', Boolean(trouble) || row.ok === false);
            result.textContent = trouble ?? judged(row);
            first.textContent = row.first ? `${row.first}.` : '';
            beyond.replaceChildren(...careful(row.beyond));
        }
    }

    /** Makes what keeps the measured as one change of the bow: one touch asks, the next notes it. */
    keeper() {
        this.kept = h('div', { class: 'noprint' });
        const keep = asking('Keep what was measured', 'Yes, note it as what is on the bow now', 'plain', () => tried(this.app, this.element, () => this.keep()));
        return h('div', { class: 'noprint' }, h('p', { class: 'hint' }, 'Comparing notes nothing. Keeping notes what is otherwise than it is noted, as one change.'), keep, this.kept);
    }

    async keep() {
        const { app, asked } = this;
        this.id ??= (await app.call('new_id')).id;
        const measured = Object.fromEntries(Object.entries(this.measured).filter(([, text]) => text?.trim()));
        const { change, words, cautions, remarks = [] } = await app.call('keep_measured', { ...asked, measured, id: this.id });
        this.id = null;
        if (change) written(app);
        const told = (lines, back) => this.kept.replaceChildren(said(lines, careful([...remarks, ...cautions]), back));
        const undo = change && h('div', { class: 'buttons' }, button('Undo', () => tried(app, this.kept, () => retire(app, { kind: 'change', id: change }, true, told))));
        told(change ? [`Kept: ${words.join(', ')}.`] : words, undo);
        this.kept.firstElementChild.focus();
    }

    async clear() {
        this.measured = {};
        this.parts.forEach(({ input }) => { input.value = ''; });
        await this.app.drafts.put(this.name, null);
        await this.compare();
    }
}

function judged({ ok = null, off = null }) {
    if (ok === null) return '';
    if (!ok) return off ? `✗ ${off}` : '✗ another one';
    return off && Number.parseFloat(off) !== 0 ? `✓ right (${off})` : '✓ right';
}
