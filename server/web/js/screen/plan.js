/** Plan a check: what so many ends would show, a plan set up from it, and where a plan stands. */

import { h, button, svg, paragraphs } from '../dom.js';
import { address, link, noBow, pickers, whichBow } from './figures/which.js';
import { setupForm } from './figures/setups.js';
import { written } from '../record/form.js';

/** Shows the plan of the address, or the making of one with the plans that there are. */
export async function show(root, app) {
    const plan = app.parameters.get('plan');
    if (plan) return state(root, app, plan);
    const { bow, bows } = await whichBow(app);
    if (!bow) return root.append(...noBow('Plan a check'));
    const archer = app.parameters.get('archer') ?? undefined;
    const { plans } = await app.call('plans', {});
    root.append(...[
        pickers('plan', { bow, bows }, app),
        h('h1', { tabindex: -1 }, 'Plan a check'),
        plans.length > 0 && existing(plans),
    ].filter(Boolean));
    return new Offer(root, app, { bow: bow.id, archer }).begin();
}

function existing(plans) {
    return h('ul', { class: 'rows' }, plans.map(({ id, name, words }) => h('li', {},
        h('a', { class: 'row', href: `#${address('plan', { plan: id })}` }, h('span', {}, h('strong', {}, name), words && h('span', { class: 'soft' }, ` ${words}`)), h('span', { 'aria-hidden': 'true' }, '›')))));
}

/** What so many ends would show of the smallest movement that matters, and the plan made from it. */
class Offer {
    constructor(root, app, asked) {
        Object.assign(this, { root, app, asked, name: `plan-smallest ${asked.bow}`, turn: 0 });
    }

    async begin() {
        this.value = h('output', { class: 'big', 'aria-live': 'polite' });
        this.place = h('div');
        const step = (by, sign, words) => button(sign, () => this.app.attempt(() => this.step(by)), 'plain', { class: 'button step-by', 'aria-label': words });
        this.smallest = h('fieldset', { class: 'smallest', hidden: true }, h('legend', {}, 'Smallest movement you care about'),
            h('div', { class: 'stepper' }, step(-1, '−', 'Smaller'), this.value, step(1, '+', 'Larger')));
        this.root.append(this.smallest, this.place);
        const form = await setupForm(this.app, this.asked, () => ({ smallest_mm: this.told?.smallest_mm, rows: this.told?.rows ?? [], ends_each: this.told?.ends_each }));
        this.form = form;
        this.smallest_mm = (await this.app.drafts.take(this.name)) ?? undefined;
        await this.look();
    }

    step(by) {
        const { ladder_mm: ladder, smallest_mm } = this.told;
        const at = this.smallest_mm ?? smallest_mm;
        const next = by > 0 ? ladder.find((mm) => mm > at * 1.001) : ladder.findLast((mm) => mm < at * 0.999);
        this.smallest_mm = next ?? at;
        this.app.drafts.put(this.name, this.smallest_mm).catch(this.app.fail);
        return this.look();
    }

    async look() {
        const turn = (this.turn += 1);
        try {
            const told = await this.app.call('plan_offer', { ...this.asked, smallest_mm: this.smallest_mm, units: this.app.units });
            if (turn === this.turn) this.draw(told);
        } catch (e) {
            if (turn === this.turn) this.place.replaceChildren(h('div', { class: 'empty' }, h('p', { class: 'fromlower' }, `${e.message}.`), h('div', { class: 'buttons' }, link('Shoot', 'shoot', 'main'))));
        }
    }

    draw(told) {
        this.told = told;
        this.smallest.hidden = false;
        this.value.textContent = told.smallest_words;
        const [first, ...rest] = told.sentences;
        this.place.replaceChildren(h('div', { class: 'two' },
            h('div', {}, svg(told.svg)), h('div', {}, h('p', { class: 'big' }, first), paragraphs(rest))),
        h('section', {}, h('h2', {}, 'Set it up'), this.form.element));
        this.form.offered();
    }
}

async function state(root, app, plan) {
    const told = await app.call('plan', { plan, units: app.units });
    const { name, promise, verdict, next, left, of, set_up, change, bow } = told;
    const done = of - left;
    root.append(...[
        h('p', { class: 'eyebrow' }, 'Plan'),
        h('h1', { tabindex: -1 }, name),
        h('p', { class: 'big' }, left > 0 ? `${left} of ${of} ends left` : `All ${of} ends are shot`),
        h('div', { class: 'two' },
            h('div', {}, h('progress', { max: of, value: done, 'aria-label': 'Ends shot' }), next && nextEnd(told, app, plan, { bow, set_up, change })),
            h('div', {}, h('h2', {}, 'What it says so far'), paragraphs(verdict), h('h2', {}, 'What it promises'), paragraphs(promise, 'soft'))),
        h('div', { class: 'buttons' }, link('All plans', 'plan'), bow && link('Moved?', address('answer', { bow }))),
    ].filter(Boolean));
}

function nextEnd({ next }, app, plan, { bow, set_up, change = [] }) {
    const ready = button('The bow is set up so now', () => app.attempt(async () => {
        await app.call('change', { bow, set: change.map(({ setting, to }) => ({ setting, to })) });
        app.say('Noted.');
        written(app);
        app.go(address('plan', { plan }));
    }), 'main');
    return h('div', { class: 'card next' }, h('h2', {}, `Now: setup ${next.setup}`), h('p', {}, next.words),
        !set_up && change.length > 0 && h('p', {}, `To alter first: ${change.map(({ words }) => words).join(', ')}.`),
        h('div', { class: 'buttons' }, set_up ? button('Shoot this end', () => app.attempt(() => shoot(app, plan)), 'main') : ready));
}

/** Goes to shoot under the plan; an end that is under way is left as it is. */
async function shoot(app, plan) {
    const draft = (await app.drafts.take('shoot')) ?? null;
    if (draft?.shot?.length > 0) {
        app.fail('An end is under way: finish it under "Shoot" first, then come back to the plan.');
        return;
    }
    await app.drafts.put('shoot', { asked: { plan }, shot: [], note: '' });
    app.go('shoot');
}
