/** The coach's look at the team: who needs a look and why, whom to ask, for whom to wait, what is missing. */

import { h, svg, button } from '../dom.js';
import { address, link } from './figures/which.js';
import { pill, hushed } from './figures/parts.js';

/** Shows the rows, and keeps them as new as the team's server is while they are shown. */
export async function show(root, app) {
    const stop = new AbortController();
    const place = h('div');
    root.append(place);
    let drawn = null;
    let turn = 0;
    const draw = async () => {
        const now = (turn += 1);
        const told = await app.call('squad', { units: app.units });
        if (now === turn && !stop.signal.aborted) fill(place, told, app);
    };
    const unhear = app.sync.hear(({ status }) => {
        if (!status || status.digest === drawn) return;
        drawn = status.digest;
        app.attempt(draw);
    });
    app.leaving(() => { stop.abort(); unhear(); });
    app.sync.live(stop.signal);
    drawn = app.sync.state.status?.digest ?? null;
    await draw();
}

/** Draws; whoever was at a row stays there. */
function fill(place, told, app) {
    const held = place.contains(document.activeElement) ? document.activeElement : null;
    const at = held?.getAttribute('href');
    const { rows, missing, team, head } = told;
    const time = new Date().toTimeString().slice(0, 5);
    place.replaceChildren(...[
        h('h1', { tabindex: -1 }, `${team ?? 'Team'} · ${time}`),
        h('p', { class: 'squad-head', role: 'status' }, head),
        rows.length > 0 ? h('ul', { class: 'rows squad-rows' }, rows.map(row)) : empty(),
        missing.length > 0 && lacking(missing),
        left(told),
        rows.length > 0 && h('div', { class: 'buttons' }, button('Print', () => print(), 'main'), app.card.server && button('Sync now', () => app.sync.sync())),
    ].flat().filter(Boolean));
    if (!held) return;
    const same = [...place.querySelectorAll('a')].find((a) => a.getAttribute('href') === at);
    (same ?? place.querySelector('h1')).focus({ preventScroll: true });
}

function row({ person, name, bow, bow_name, reason, why, also = [], spread_words, last_words, svg: drawn }) {
    return h('li', {}, h('a', { class: `squad-row ${reason}`, href: `#${address('archer', { person, bow })}` },
        h('div', { class: 'face' }, hushed(svg(drawn))),
        h('div', { class: 'who' },
            h('div', { class: 'name' }, h('span', {}, h('strong', {}, name), ' ', h('span', { class: 'soft' }, bow_name)), pill(reason, why)),
            h('div', { class: 'why' }, why, also.length > 0 && h('span', { class: 'soft' }, ` and ${also.length} more`)),
            h('div', { class: 'soft small-words' }, h('span', {}, spread_words), ' · ', h('span', {}, last_words)))));
}

function empty() {
    return h('div', { class: 'empty' }, h('p', {}, 'Nobody of the team has shot yet, or nothing of it has come to this phone.'),
        h('p', {}, 'Invite the archers under "This phone"; once they have recorded and synced, they stand here by themselves.'),
        h('div', { class: 'buttons' }, link('This phone', 'phone', 'main'), link('Shoot', 'shoot')));
}

function lacking(missing) {
    return h('section', {}, h('h2', {}, 'Missing'), h('ul', { class: 'rows' }, missing.map(({ person, name, words }) =>
        h('li', {}, h('a', { class: 'row', href: `#${address('archer', { person })}` }, h('span', {}, h('strong', {}, name), ' ', h('span', { class: 'soft' }, words)), h('span', { 'aria-hidden': 'true' }, '›'))))));
}

function left({ differences, unshot = [] }) {
    return [
        differences > 0 && h('p', {}, h('a', { class: 'row', href: '#settle' }, h('span', {}, differences === 1 ? '1 difference to settle' : `${differences} differences to settle`), h('span', { 'aria-hidden': 'true' }, '›'))),
        unshot.length > 0 && h('p', { class: 'hint' }, `Bows nobody shot: ${unshot.join(', ')}.`),
    ];
}
