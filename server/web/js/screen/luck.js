/** What luck does: the ends dealt into two piles by chance, again and again, beside what was shot. */

import { h, button, svg, paragraphs } from '../dom.js';
import { address, link, noBow, whichBow } from './figures/which.js';
import { hushed } from './figures/parts.js';

/** Shows the deals of a change; without one in the address, of the newest that has groups on both sides. */
export async function show(root, app) {
    const { bow } = await whichBow(app);
    if (!bow) return root.append(...noBow('What luck does'));
    const archer = app.parameters.get('archer') ?? undefined;
    const about = await app.call('answer', { bow: bow.id, archer, change: app.parameters.get('change') ?? undefined, units: app.units });
    const { shown } = about;
    if (!shown) return root.append(...without(bow));
    const at = { bow: bow.id, archer: about.archer.id, change: shown.change };
    const place = h('div');
    root.append(h('p', { class: 'eyebrow' }, `${shown.what}, ${shown.day}`), h('h1', { tabindex: -1 }, 'What luck does'), place);
    const again = () => app.attempt(deal);
    const deal = async () => place.replaceChildren(...dealt(await app.call('luck', { ...at, units: app.units }), at, again).filter(Boolean));
    return deal().catch((e) => place.replaceChildren(undealt(e, at)));
}

function dealt({ svg: drawn, sentences, all }, at, again) {
    const [first, count, ...rest] = sentences;
    return [
        h('p', {}, first),
        h('div', { class: 'two' }, h('div', {}, hushed(svg(drawn))), h('div', {}, h('p', { class: 'big' }, count),
            h('p', { class: 'hint' }, 'Each dot is a deal; those as far apart as yours or farther are ringed.'), paragraphs(rest))),
        h('div', { class: 'buttons' }, !all && button('Deal again', again), link('Back to the answer', address('answer', at), 'main')),
    ];
}

/** Some changes cannot be dealt, which the model says with what to do. */
function undealt(error, at) {
    return h('div', { class: 'empty' }, h('p', { class: 'fromlower' }, `${error.message}.`), h('div', { class: 'buttons' }, link('Back to the answer', address('answer', at), 'main'), link('Plan a check', address('plan', { bow: at.bow, archer: at.archer }))));
}

function without(bow) {
    return [h('h1', { tabindex: -1 }, 'What luck does'), h('div', { class: 'empty' },
        h('p', {}, `No change of ${bow.name} has ends on both sides yet: there is nothing to deal. Shoot at least three ends before a change and three after it.`),
        h('div', { class: 'buttons' }, link('Shoot', 'shoot', 'main')))];
}
