/** Differences: where two people wrote the same field without seeing each other's. One touch says which value holds. */

import { h, button, paragraphs } from '../dom.js';
import { capital, tried, written } from '../record/form.js';

/** Shows what is to be settled. */
export async function show(root, app) {
    const told = h('div', { class: 'card kept', role: 'status', tabindex: -1, hidden: true });
    const list = h('div');
    root.append(h('h1', { tabindex: -1 }, 'Differences'),
        h('p', {}, 'Two people set the same thing without seeing what the other wrote. The later value stands until somebody settles it; whichever you choose, the other value stays in the history.'),
        told, list);
    await draw(list, told, app);
}

async function draw(list, told, app) {
    const { differences, clashes } = await app.call('differences');
    const about = await described(differences, app);
    list.replaceChildren(...differences.map((difference) => card(difference, about.get(difference.id), list, told, app)));
    list.prepend(...paragraphs(clashes, 'card'));
    if (differences.length + clashes.length === 0) list.append(h('p', { class: 'empty big' }, 'Nothing is to be settled.'));
}

/** What is recorded of each thing: which change or which end it is, has no name. */
async function described(differences, app) {
    const kinds = [...new Set(differences.map(({ kind }) => kind))];
    const all = await Promise.all(kinds.map((kind) => app.call('things', { kind, all: true })));
    return new Map(all.flatMap(({ things }) => things.map(({ id, words }) => [id, words])));
}

function card(difference, about, list, told, app) {
    const { kind, id, field, what, name, kind_word, values } = difference;
    const named = name && !id.endsWith(name);
    const settle = (choice, place) => tried(app, place, async () => {
        const { words } = await app.call('settle', { kind, id, field, choice });
        written(app);
        await draw(list, told, app);
        told.replaceChildren(...paragraphs(words));
        told.hidden = false;
        told.focus();
    });
    const place = h('section', { class: 'card' }, h('h2', {}, `${capital(kind_word)}${named ? ` ${name}` : ''}: ${what}`),
        about && h('p', { class: 'soft' }, about),
        values.map(({ shown, by, day_time, stands, choice }) => button([
            h('span', { class: 'big' }, shown),
            h('span', {}, `by ${by}, ${day_time}${stands ? '; this one stands now' : ''}`),
        ], () => settle(choice, place), 'plain', { class: `button value${stands ? ' holds' : ''}` })));
    return place;
}
