/** Records that were taken out of use, fetched on demand, each a touch from coming back. */

import { h, button } from '../dom.js';
import { tried, written } from './form.js';

const WORDS = { change: 'change', group: 'end', note: 'note' };

/** Returns the list of what is out of use among some kinds; `back` runs once something is in use again. */
export function outOfUse(app, kinds, keep, back) {
    const place = h('div', { class: 'inside' });
    const draw = async () => {
        const found = await Promise.all(kinds.map(async (kind) =>
            (await app.call('things', { kind, all: true })).things.filter((t) => t.retired && keep(t)).map((thing) => ({ kind, thing }))));
        const rows = found.flat().map(({ kind, thing }) => row(app, kind, thing, back));
        place.replaceChildren(rows.length > 0 ? h('ul', { class: 'rows' }, rows) : h('p', { class: 'soft' }, 'Nothing is out of use.'));
    };
    return h('details', { class: 'fold', ontoggle: (event) => { if (event.target.open) app.attempt(draw); } },
        h('summary', {}, 'Taken out of use'), place);
}

function row(app, kind, thing, back) {
    const words = [`${WORDS[kind] ?? kind} ${thing.name}`.trim(), thing.words].filter(Boolean).join(': ');
    const place = h('li', { class: 'row' }, h('span', {}, words), button('Bring it back', () => tried(app, place, async () => {
        const { words: told } = await app.call('retire', { kind, id: thing.id, retired: false });
        written(app);
        app.say(told.join(' '));
        await back();
    }), 'plain', { 'aria-label': `Bring back: ${words}` }));
    return place;
}
