/** The two setups of a plan, by the settings of the bow: what each is in A, and what in B. */

import { h, button, choice, field, line } from '../../dom.js';
import { address } from './which.js';

/** Makes the form; `offer` tells what the ends would show. */
export async function setupForm(app, asked, offer) {
    const { settings } = await app.call('settings', { bow: asked.bow });
    const name = `plan ${asked.bow}`;
    const kept = (await app.drafts.take(name)) ?? {};
    const form = new Form(app, asked, { settings, offer, name, kept });
    form.draw();
    return form;
}

class Form {
    constructor(app, asked, { settings, offer, name, kept }) {
        Object.assign(this, { app, asked, settings, offer, draft: name, called: kept.called ?? '', rows: kept.rows ?? [{ setting: first(settings), a: '', b: '' }] });
        this.ends = h('select', { 'aria-label': 'Ends of each setup' });
        this.element = h('form', { novalidate: true, onsubmit: (e) => { e.preventDefault(); app.attempt(() => this.make()); } });
    }

    draw() {
        const called = line(this.called, { oninput: () => { this.called = called.value; this.keep(); } });
        this.element.replaceChildren(
            h('p', {}, 'A is usually how the bow is now, B the setting to be checked. Each is shot as often as the other, in an order drawn by lot, so that wind and tiredness hit both.'),
            h('div', {}, this.rows.map((row, i) => this.row(row, i))),
            h('div', { class: 'buttons' }, button('Another setting as well', () => this.add()), this.rows.length > 1 && button('Leave the last one out', () => this.drop())),
            field('Ends of each setup', this.ends), field('Name of the plan', called, 'For example: softer plunger'),
            button('Begin the plan', null, 'main', { type: 'submit' }));
        this.offered();
    }

    /** Offers the numbers of ends that were computed; the one that will do stands chosen. */
    offered() {
        const { rows, ends_each } = this.offer();
        const had = this.ends.value;
        this.ends.replaceChildren(...rows.map(({ ends_each: n, enough }) => h('option', { value: n }, `${n} + ${n} ends${enough ? ' ✓' : ''}`)));
        const chosen = rows.some((row) => String(row.ends_each) === had) && this.touched ? had : ends_each;
        if (chosen !== null && chosen !== undefined) this.ends.value = String(chosen);
        this.ends.onchange = () => { this.touched = true; };
    }

    row(row, i) {
        const of = this.settings.find(({ setting }) => setting === row.setting) ?? this.settings[0];
        const pick = choice(this.settings.map(({ setting, name, shown }) => ({ id: setting, name: shown ? `${name} (now ${shown})` : name })), of.setting, { onchange: () => {
            this.rows[i] = { setting: pick.value, a: '', b: '' };
            this.keep();
            this.draw();
        } });
        return h('fieldset', { class: 'setup-pair' }, h('legend', { class: 'unseen' }, `Setting ${i + 1}`), field('Setting', pick),
            h('div', { class: 'ab' }, field(`A${unit(of)}`, this.side(of, row, 'a')), field(`B${unit(of)}`, this.side(of, row, 'b'))));
    }

    /** Makes the field of a side: a choice of parts, or a line; A begins with what is on the bow. */
    side(of, row, side) {
        if (!row[side] && side === 'a' && of.value !== null) row.a = String(of.value);
        const take = (value) => { row[side] = value; this.keep(); };
        if (of.parts.length > 0) {
            const input = choice([{ id: '', name: 'pick one' }, ...of.parts], row[side], { onchange: () => take(input.value) });
            return input;
        }
        const input = line(row[side], { inputmode: of.unit ? 'decimal' : null, autocapitalize: 'none', oninput: () => take(input.value) });
        return input;
    }

    add() {
        const used = new Set(this.rows.map(({ setting }) => setting));
        this.rows.push({ setting: first(this.settings.filter(({ setting }) => !used.has(setting))) ?? this.settings[0].setting, a: '', b: '' });
        this.keep();
        this.draw();
    }

    drop() {
        this.rows.pop();
        this.keep();
        this.draw();
    }

    keep() {
        this.app.drafts.put(this.draft, { called: this.called, rows: this.rows }).catch(this.app.fail);
    }

    async make() {
        const side = (name) => Object.fromEntries(this.rows.map((row) => [row.setting, row[name].trim()]));
        const { smallest_mm } = this.offer();
        const { plan, words } = await this.app.call('plan_new', { ...this.asked, a: side('a'), b: side('b'), smallest_mm, ends_each: Number(this.ends.value), name: this.called, units: this.app.units });
        await this.app.drafts.put(this.draft, null);
        this.app.say([words].flat().join(' '));
        this.app.sync.sync();
        this.app.go(address('plan', { plan }));
    }
}

const unit = ({ unit: words }) => (words ? `, ${words}` : '');
const first = (settings) => (settings.find(({ value, unit: words }) => value !== null && words) ?? settings[0])?.setting;
