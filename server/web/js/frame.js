/** The frame around every screen: the chip that says what is only on this phone, the update, and the tabs. */

import { h, button } from './dom.js';

const TABS = [
    ['shoot', 'Shoot', ['shoot', 'photo', 'ends']],
    ['change', 'Change', ['change', 'timeline']],
    ['answer', 'Moved?', ['answer', 'luck', 'plan']],
    ['bow', 'Bow', ['bow', 'rebuild', 'shafts', 'curve', 'pairs', 'marks']],
    ['more', 'More', ['more', 'things', 'parts', 'fits', 'settle', 'squad', 'archer', 'phone']],
];

/** Draws the tabs; none before there is a team. */
export function tabs(name, app) {
    const nav = document.querySelector('#tabs');
    nav.hidden = !app.card;
    nav.replaceChildren(...TABS.map(([hash, words, within]) => h('a', {
        href: `#${hash}`,
        class: 'tab',
        'aria-current': within.includes(name) ? 'page' : null,
    }, words)));
}

/** Draws the chip: how many entries are only here, whether a sync runs, and whether an update waits. */
export function chip(state, app) {
    const place = document.querySelector('#chip');
    const parts = [];
    if (app.update.isWaiting()) parts.push(button('Update', () => agree(app), 'chip', { 'aria-label': 'A new version is ready: update now' }));
    if (state.status) parts.push(h('a', { class: `chip ${mood(state)}`, href: '#phone' }, words(state)));
    place.replaceChildren(...parts);
}

function agree(app) {
    if (app.busy) app.say('An end is under way: finish it first, then update.');
    else app.update.takeOver();
}

function mood({ status, trouble, running }) {
    if (running) return 'running';
    if (trouble && trouble.kind !== 'offline') return 'trouble';
    return status.unsent > 0 ? 'waits' : 'level';
}

function words({ status, running, progress, trouble }) {
    const waits = `${status.unsent} only here`;
    if (running && progress) return `${progress.sent + progress.received} exchanged…`;
    if (running) return 'syncing…';
    if (!status.on_server) return waits;
    if (trouble && trouble.kind !== 'offline' && trouble.kind !== 'busy') return 'see why';
    return status.unsent > 0 ? waits : 'synced';
}
