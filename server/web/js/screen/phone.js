/** This phone: where it stands, sync, the server, invites, files, units. */

import { h, button, field, line, choice, paragraphs, svg } from '../dom.js';
import { fileInput, joinAddress } from './join.js';
import { remember } from '../remember.js';

/** Shows the screen, and follows every step of a sync. */
export async function show(root, app) {
    const stands = h('section', { 'aria-live': 'polite' });
    root.append(h('h1', { tabindex: -1 }, 'This phone'), stands);
    const draw = (state) => stands.replaceChildren(...standing(state, app));
    app.leaving(app.sync.hear(draw));
    await app.sync.look();
    if (!app.card.server) root.append(onto(app));
    else if (app.card.server.role === 'keeper') root.append(await inviting(app));
    root.append(files(app), units(app), safety(app), await pictures(app));
}

function standing({ status, running, trouble, words, progress, last_ms, tried_ms }, app) {
    if (!status) return [];
    const lines = [];
    if (status.unsent > 0) lines.push(h('p', { class: 'big' }, `${status.unsent === 1 ? '1 entry is' : `${status.unsent} entries are`} only on this phone`));
    else lines.push(h('p', { class: 'big' }, 'The server has everything that is here'));
    lines.push(h('p', {}, `${status.person_name ?? 'Somebody'}, in the team ${status.team_name}, on ${status.device_name}${status.role ? `, as ${status.role}` : ''}.`));
    if (status.carrying && status.role === 'coach') {
        lines.push(h('p', { class: 'card' }, 'What you recorded here before you came in stays on this phone: a coach writes no records. It comes along once a keeper gives you another role.'));
    }
    if (running) lines.push(h('p', { role: 'status' }, progress ? `Syncing: ${progress.sent} sent, ${progress.received} received so far.` : 'Syncing…'));
    if (trouble) lines.push(h('p', { class: 'wrong', role: 'alert' }, `${trouble.message} Tried at ${new Date(tried_ms).toTimeString().slice(0, 5)}.`));
    if (trouble?.kind === 'out') lines.push(h('div', { class: 'buttons' }, button('I have a new invite', () => app.go('join'), 'main')));
    lines.push(...paragraphs(words, 'card'));
    if (last_ms) lines.push(h('p', { class: 'soft' }, `Last synced at ${new Date(last_ms).toTimeString().slice(0, 5)}.`));
    if (status.on_server) lines.push(h('div', { class: 'buttons' }, button('Sync now', () => app.sync.sync(), 'main', { disabled: running })));
    lines.push(h('p', { class: 'soft' }, `Entries in all: ${status.entries}; digest `, h('code', {}, status.digest.slice(0, 16)), ', the same on every device that holds the same'));
    return lines;
}

function onto(app) {
    const code = line('', { autocapitalize: 'none', spellcheck: 'false' });
    const key = line('', { autocapitalize: 'none', spellcheck: 'false' });
    return h('section', {}, h('h2', {}, 'Share with a team'),
        h('p', {}, 'You record alone now. What you have recorded comes along into the team.'),
        field('Code of an invite', code),
        h('div', { class: 'buttons' }, button('Join that team', () => app.attempt(async () => app.go(joinAddress(code.value))))),
        h('details', {}, h('summary', {}, 'You run this server yourself?'),
            field('Founding key', key, '`sheafd key` prints it on the server\'s machine.'),
            button('Bring my team onto this server', () => app.attempt(async () => {
                await app.sync.found(key.value);
                app.go('phone');
            }))));
}

async function inviting(app) {
    const { things: people } = await app.call('things', { kind: 'person' });
    const whom = choice([{ id: '', name: 'somebody new' }, ...people], '');
    const role = choice([{ id: 'archer', name: 'archer: reads and writes' }, { id: 'coach', name: 'coach: reads all, writes notes and plans' }, { id: 'keeper', name: 'keeper: also invites and shuts out' }], 'archer');
    const as = field('As', role);
    whom.addEventListener('change', () => { as.hidden = whom.value !== ''; });
    const place = h('div');
    return h('section', {}, h('h2', {}, 'Invite somebody'), field('Whom', whom, 'Somebody who is in the team keeps the role and gets another device.'), as, button('Make an invite', () => app.attempt(async () => {
        const { code, expires_ms } = await app.sync.invite(whom.value ? undefined : role.value, whom.value || undefined);
        const link = `${location.origin}/#join=${code}`;
        const drawn = await app.call('qr', { text: link });
        place.replaceChildren(h('div', { class: 'card' }, svg(drawn.svg), h('p', {}, h('strong', {}, code)), h('p', {}, link),
            h('p', {}, `It works once, until ${new Date(expires_ms).toString().slice(0, 21)}. Whoever has it comes in: show it only to whom it is for.`)));
    })), place);
}

function files(app) {
    const file = fileInput(() => app.attempt(async () => {
        if (!file.files[0]) return;
        const text = await file.files[0].text();
        // So that the same file can be chosen again.
        file.value = '';
        const { kept, known, refused } = await app.call('unbundle', { text });
        await app.sync.look();
        if (refused > 0) throw new Error(`Taken in: ${kept} entries were new, ${known} were here already. ${refused} do not fit what is here and were left out: a phone was restored from an old copy, or the file is of a newer version. Keep the file, and sync both phones.`);
        app.say(kept === 0 ? `Nothing new: ${known} entries were here already.` : `Taken in: ${kept} entries were new, ${known} were here already.`);
    }));
    return h('section', {}, h('h2', {}, 'Hand over as a file'),
        h('p', {}, 'A .sheaf file holds everything that is here. With no network at all, two phones that take in each other\'s file hold the same.'),
        h('div', { class: 'buttons' }, button('Make the file', () => app.attempt(() => hand(app)))), field('Take a file in', file));
}

async function hand(app) {
    const { text, name, entries } = await app.call('bundle');
    const made = new File([text], name, { type: 'application/octet-stream' });
    if (navigator.canShare?.({ files: [made] })) {
        try {
            await navigator.share({ files: [made], title: name });
            return;
        } catch (e) {
            if (e.name === 'AbortError') return;
        }
    }
    const link = h('a', { href: URL.createObjectURL(made), download: name });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    app.say(`The file ${name} holds everything that is here (entries: ${entries}).`);
}

/** The pictures that arrows were placed on: they lie here alone, and can be let go of. */
async function pictures(app) {
    const count = await app.store.countPictures().catch(() => 0);
    if (count === 0) return '';
    const place = h('section', {}, h('h2', {}, 'Pictures of faces'),
        h('p', {}, `Kept on this phone alone: ${count}. What was placed on them stays when they go.`),
        button('Let go of all pictures', () => app.attempt(async () => {
            await app.store.dropPictures();
            place.remove();
        }), 'danger'));
    return place;
}

function units(app) {
    const pick = choice([{ id: 'metric', name: 'millimetres and metres' }, { id: 'imperial', name: 'inches and yards' }], app.units, { onchange: () => {
        app.units = pick.value;
        remember('sheaf-units', pick.value);
    } });
    return h('section', {}, h('h2', {}, 'Units'), field('Told in', pick));
}

function safety(app) {
    const persisted = h('p', { class: 'soft' });
    navigator.storage?.persisted?.().then((kept) => {
        persisted.textContent = kept ? 'The browser has agreed to keep these records.' : 'The browser may delete these records when it runs out of room, or after a week without a visit: install the page on the home screen, sync, or make a file.';
    }).catch(() => {});
    return h('section', {}, h('h2', {}, 'Keeping it'), persisted,
        h('p', { class: 'soft' }, `The records belong to this address (${location.origin}): under another one this phone starts empty.`),
        app.update.isWaiting() && button('Update to the new version', () => app.update.takeOver(), 'main'));
}
