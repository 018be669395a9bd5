/** The first screen: come into a team by an invite, begin alone, or go on from a file. */

import { h, button, field, line, choice, paragraphs } from '../dom.js';
import { recall, remember } from '../remember.js';

/** Shows the first screen, or joining with what is here. */
export async function show(root, app) {
    const code = app.parameters.get('join') ?? '';
    if (app.card?.server) {
        await app.sync.sync();
        return app.sync.state.trouble?.kind === 'out' ? comeAgain(root, app, code) : already(root, app, code);
    }
    const known = recall('sheaf-known');
    root.append(h('h1', { tabindex: -1 }, code ? 'Come into the team' : 'Begin'));
    if (known && !app.card) root.append(lost(known));
    root.append(code ? joining(app, code) : begin(app));
    return undefined;
}

function lost(known) {
    return h('p', { class: 'wrong' }, `This phone held the records of ${known}, and its store is empty now: the browser or the system deleted it. Come in again with a new invite (the server has what was synced), or take in a .sheaf file below.`);
}

function already(root, app, code) {
    // An invite that was not used is left neither in the address nor in the history.
    if (code) history.replaceState(null, '', '/#join');
    root.append(h('h1', { tabindex: -1 }, 'In a team already'),
        h('p', {}, `This phone is in the team ${app.card.team_name}. A phone holds one team's records at a time${code ? '; the invite was not used' : ''}.`),
        button('Go on', () => app.go('shoot'), 'main'));
}

/** The server does not know this phone any more: with a new invite of its team it goes on, and nothing is lost. */
function comeAgain(root, app, code) {
    const typed = line(code, { autocapitalize: 'none', spellcheck: 'false' });
    const device = line(app.card.device_name);
    root.append(h('h1', { tabindex: -1 }, `Come into ${app.card.team_name} again`),
        h('p', {}, 'The server does not know this phone any more. With a new invite for you (a keeper makes it for your name) it goes on, and what is only on this phone comes along.'),
        form([field('Code of the invite', typed), field('This device', device)], 'Come in', async () => {
            await app.sync.join({ code: decodeURIComponent(joinAddress(typed.value).slice(5)), device_name: device.value, again: true });
            await settled(app, 'You are in again. What was only on this phone is on the server now.');
        }));
}

/** Returns the address of joining by what was typed: the code of an invite, or its whole link. */
export function joinAddress(typed) {
    const code = typed.trim().replace(/^.*join=/, '');
    if (!code) throw new Error('The code is empty; it stands under the QR code of the invite.');
    return `join=${encodeURIComponent(code)}`;
}

/** Names the device by what the browser tells, for the user to mend. */
function guess() {
    const agent = navigator.userAgent;
    return [['iPhone', 'phone'], ['iPad', 'tablet'], ['Android', 'phone'], ['Mobile', 'phone']].find(([sign]) => agent.includes(sign))?.[1] ?? 'computer';
}

function form(parts, words, work) {
    const send = button(words, null, 'main', { type: 'submit' });
    const wrong = h('p', { class: 'wrong', role: 'alert', hidden: true });
    return h('form', { novalidate: true, onsubmit: async (event) => {
        event.preventDefault();
        send.disabled = true;
        wrong.hidden = true;
        try {
            await work();
        } catch (e) {
            wrong.textContent = e.message;
            wrong.hidden = false;
            wrong.focus();
        }
        send.disabled = false;
    } }, parts, wrong, send);
}

async function settled(app, words) {
    app.card = await app.store.slip('card');
    remember('sheaf-known', app.card.team_name);
    app.update.askToKeep();
    await app.sync.look();
    app.sync.keepAtIt();
    app.say(words);
    history.replaceState(null, '', '/#shoot');
    app.go('shoot');
}

function joining(app, code) {
    const me = line('', { autocomplete: 'name', required: true });
    const device = line(guess());
    const alone = button('Begin alone instead', () => app.go('join'), 'quiet');
    return h('div', {}, form([
        !app.card && field('Your name', me, 'As your team calls you.'),
        field('This device', device),
        app.card && h('p', {}, 'What you recorded here before comes along.'),
    ], 'Join', async () => {
        await app.sync.join({ code, me: me.value || undefined, device_name: device.value });
        await settled(app, 'You are in. From now on everything works with no network too.');
    }), !app.card && alone, install());
}

function begin(app) {
    const me = line('', { autocomplete: 'name', required: true });
    const device = line(guess());
    const code = line('', { autocapitalize: 'none', spellcheck: 'false' });
    return h('div', {}, h('p', {}, 'Record groups at the range, note what you alter on the bow, and see whether it moved them. It works with no network; a team can be joined now or later, and nothing is lost.'),
        form([field('Your name', me), field('This device', device)], 'Begin', async () => {
            await app.call('start', { person: me.value, device_name: device.value });
            await settled(app, 'Begun. Everything is kept on this phone.');
        }),
        h('h2', {}, 'You have an invite?'),
        h('p', {}, 'Scan its QR code with the camera, open its link, or type its code:'),
        form([field('Code', code)], 'Go on', async () => app.go(joinAddress(code.value))),
        h('h2', {}, 'You have a .sheaf file?'), fromFile(app), install());
}

/** Makes the input that takes a .sheaf file. */
export function fileInput(onchange) {
    return h('input', { type: 'file', accept: '.sheaf,application/octet-stream,text/plain', onchange });
}

function fromFile(app) {
    const place = h('div');
    const file = fileInput(() => app.attempt(async () => {
        if (!file.files[0]) return;
        const text = await file.files[0].text();
        const { people } = await app.call('unbundle', { text });
        const who = choice(people, people[0]?.id);
        const team = line('');
        const device = line(guess());
        place.replaceChildren(form([field('Who are you?', who), field('Name of the team', team), field('This device', device)], 'Go on from it', async () => {
            await app.call('start_from', { text, person: who.value, device_name: device.value, team_name: team.value });
            await settled(app, 'Taken in.');
        }));
    }));
    return h('div', {}, field('File', file, 'Another phone or the command line made it; this phone goes on from it.'), place);
}

function install() {
    if (matchMedia('(display-mode: standalone)').matches) return null;
    return h('div', { class: 'card' }, h('h2', {}, 'Install it first'),
        paragraphs(['On the home screen its records are safer: a browser may delete those of a page that was not opened for a week.',
            'iPhone and iPad: Share, then "Add to Home Screen". Android: the menu, then "Install" or "Add to Home screen".']));
}
