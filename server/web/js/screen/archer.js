/** One archer: how it stands with a bow, where the latest arrows lie, what the days and the changes say. */

import { h, svg, button, paragraphs } from '../dom.js';
import { address, link, pickers } from './figures/which.js';
import { SIGNS, facts, pill } from './figures/parts.js';

/** Shows the archer of the address; without one, whoever holds this phone. */
export async function show(root, app) {
    const person = app.parameters.get('person') ?? (app.parameters.has('bow') ? undefined : app.card.person);
    const told = await app.call('archer', { person, bow: app.parameters.get('bow') ?? undefined, units: app.units });
    const { name, bow, bow_name, bows, row } = told;
    const chosen = pickers('archer', { bow: { id: bow }, bows }, app, { person: told.person });
    root.append(...[chosen, h('h1', { tabindex: -1 }, row ? `${name} · ${bow_name}` : name), row ? standing(told) : nothing(name), row && more(told)].flat(2).filter(Boolean));
}

function standing({ row, picture, latest, sentences }) {
    return [
        h('p', { class: 'standing' }, pill(row.reason, row.why), ' ', h('strong', {}, row.why)),
        paragraphs(row.also),
        h('div', { class: 'two' },
            h('div', {}, h('div', { class: 'archer-face' }, svg(picture)), h('p', { class: 'hint' }, 'Dots: the latest arrows. The ring holds half of such arrows; the line runs from the middle of the face to their middle.')),
            h('div', {}, h('h2', {}, 'The latest arrows'), latest && facts([
                ['Shot', `${latest.day}, ${latest.distance_words}`],
                ['Face', latest.face],
                ['Middle', row.place_words],
                ['Spread', latest.spread_words],
                ['Points an arrow', latest.points_words],
                ['Counted', latest.counted_words],
            ]), sentences.length > 0 && h('h2', {}, 'The last day'), paragraphs(sentences))),
    ];
}

function nothing(name) {
    return h('div', { class: 'empty' }, h('p', {}, `No arrow of ${name} counts yet: nothing was shot, or nothing of it has come to this phone.`),
        h('p', {}, 'Once an end is recorded and synced, it stands here.'), h('div', { class: 'buttons' }, link('Shoot', 'shoot', 'main'), link('Squad', 'squad')));
}

function more({ person, bow, answers, first, remarks }) {
    const at = { bow, archer: person };
    return [
        answers.length > 0 && h('section', {}, h('h2', {}, 'What the changes did'), h('ul', { class: 'rows' }, answers.map((answer) => change(answer, at)))),
        remarks.length + first.length > 0 && h('section', {}, h('h2', {}, 'To know'), paragraphs([...remarks, ...first].map((words) => words.replace(/[^.!?]$/, '$&.')), 'soft fromlower')),
        h('div', { class: 'buttons' }, link('Moved?', address('answer', at), 'main'), link('Timeline and notes', address('timeline', { bow })), link('Bow', address('bow', { bow })), link('Squad', 'squad'), button('Print', () => print())),
    ];
}

function change({ change: id, word, head, sentence }, at) {
    return h('li', {}, h('a', { class: 'row', href: `#${address('answer', { ...at, change: id })}` },
        h('span', {}, sentence),
        h('span', { class: `pill ${word}`, title: head }, h('span', { 'aria-hidden': 'true' }, SIGNS[word] ?? ''), h('span', { class: 'unseen' }, head))));
}
