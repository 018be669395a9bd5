/** The page: its frame, its screens, and what holds for all of them. */

import { h, button } from './dom.js';
import { recall } from './remember.js';
import * as model from './model.js';
import * as store from './store.js';
import * as drafts from './draft.js';
import * as sync from './sync.js';
import * as update from './update.js';
import { chip, tabs } from './frame.js';

/** The screens, by the word behind the # of the address; each is fetched when it is first shown. */
const SCREENS = {
    join: () => import('./screen/join.js'),
    shoot: () => import('./screen/shoot.js'),
    photo: () => import('./screen/photo.js'),
    ends: () => import('./screen/ends.js'),
    change: () => import('./screen/change.js'),
    timeline: () => import('./screen/timeline.js'),
    answer: () => import('./screen/answer.js'),
    luck: () => import('./screen/luck.js'),
    plan: () => import('./screen/plan.js'),
    bow: () => import('./screen/bow.js'),
    marks: () => import('./screen/marks.js'),
    rebuild: () => import('./screen/rebuild.js'),
    shafts: () => import('./screen/shafts.js'),
    curve: () => import('./screen/curve.js'),
    pairs: () => import('./screen/pairs.js'),
    parts: () => import('./screen/parts.js'),
    fits: () => import('./screen/fits.js'),
    things: () => import('./screen/things.js'),
    settle: () => import('./screen/settle.js'),
    squad: () => import('./screen/squad.js'),
    archer: () => import('./screen/archer.js'),
    phone: () => import('./screen/phone.js'),
    more: () => import('./screen/more.js'),
};

const root = document.querySelector('#screen');
const notice = document.querySelector('#notice');
let shown = 0;
let leave = null;

/** What a screen may use. */
export const app = {
    call: model.call,
    sync,
    store,
    drafts,
    update,
    card: null,
    units: recall('sheaf-units') ?? 'metric',
    /** Whether an end is under way, so that nothing may interrupt. */
    busy: false,
    go(hash) {
        if (location.hash === `#${hash}`) show();
        else location.hash = hash;
    },
    /** Says something that went well, for a moment. */
    say(words) { tell(words, 'good'); },
    /** Says what was wrong; it stays until it is put away. */
    fail(error) { tell(error?.message ?? String(error), 'bad'); },
    /** Runs something that a button began, and says what was wrong with it. */
    async attempt(work) {
        try {
            return await work();
        } catch (e) {
            app.fail(e);
            return undefined;
        }
    },
    /** Has something done when the screen is left. */
    leaving(work) { leave = work; },
};

let fading = null;
let said_ms = 0;

function tell(words, kind) {
    clearTimeout(fading);
    said_ms = performance.now();
    const made = h('div', { class: `notice ${kind}`, role: kind === 'bad' ? 'alert' : 'status' },
        h('p', {}, words), button('OK', () => made.remove(), 'quiet', { 'aria-label': 'OK, put this message away' }));
    // What was wrong stays in sight beside what went well since.
    notice.querySelectorAll(kind === 'good' ? '.good' : '.notice').forEach((old) => old.remove());
    notice.append(made);
    if (kind === 'good') fading = setTimeout(() => made.remove(), 6000);
}

/** Returns the screen of the address and what stands behind it: `#answer?bow=…`. */
function place() {
    const [name, query] = location.hash.slice(1).split('?');
    if (name.startsWith('join=')) return ['join', new URLSearchParams(name)];
    // Who came to look is shown whom to look at.
    const home = app.card?.server?.role === 'coach' ? 'squad' : 'shoot';
    return [SCREENS[name] ? name : home, new URLSearchParams(query ?? '')];
}

function broken(why) {
    root.replaceChildren(h('section', {}, h('h1', { tabindex: -1 }, 'This could not be shown'), h('p', {}, why),
        h('p', {}, 'Everything that was kept is on this phone.'), button('Try again', show, 'main')));
}

/** Returns the card, or null. Where the store was emptied under the page, what the model holds is written anew first. */
async function cardHere() {
    const card = (await store.slip('card')) ?? null;
    if (card || !app.card) return card;
    await model.call('rewrite');
    return (await store.slip('card')) ?? null;
}

async function show() {
    // Screens of two versions are not mixed; what is under way is kept at every touch.
    if (update.isOvertaken()) return location.reload();
    const turn = (shown += 1);
    try {
        app.card = await cardHere();
    } catch (e) {
        // Not to be taken for a phone that holds nothing.
        broken(`The store of this phone cannot be read now (${e?.name ?? e}).`);
        return;
    }
    const [wanted, parameters] = place();
    const name = app.card ? wanted : 'join';
    leave?.();
    leave = null;
    app.busy = false;
    // What was said on the screen before is not said over this one; what led here is.
    if (performance.now() - said_ms > 500) notice.replaceChildren();
    app.parameters = parameters;
    tabs(name, app);
    const screen = h('div', { class: `screen ${name}` });
    try {
        const { show: draw } = await SCREENS[name]();
        if (turn !== shown) return;
        root.replaceChildren(screen);
        // Now, and not once all is there: by then a thumb may be on its way.
        scrollTo(0, 0);
        await draw(screen, app);
    } catch (e) {
        if (turn !== shown) return;
        broken(e.message ?? String(e));
    }
    // A field that was touched meanwhile keeps the focus.
    if (turn === shown && !screen.contains(document.activeElement)) document.querySelector('h1')?.focus({ preventScroll: true });
}

function heard({ elsewhere, lost, progress, rewritten }) {
    if (elsewhere) app.fail('Sheaf is open in another tab or window of this phone: close that one, and this one goes on by itself.');
    if (elsewhere !== undefined) waitFor(elsewhere);
    if (rewritten) app.fail('The store of this phone was emptied while the page was open. What was recorded is written anew; sync, or make a file under "This phone".');
    if (lost) app.fail(`This phone held ${lost.counted} entries and ${lost.found} are left: the browser or the system deleted some. A sync brings back what the server has; otherwise take in a .sheaf file under "This phone".`);
    if (progress?.loaded) document.querySelector('#loading')?.replaceChildren(`${progress.loaded} entries read`);
}

/** While another tab has the records, what it has under way is not altered here; then it is read as that one left it. */
function waitFor(elsewhere) {
    const waited = root.inert;
    root.inert = elsewhere;
    if (elsewhere || !waited) return;
    notice.querySelector('.bad')?.remove();
    drafts.forget();
    show();
}

model.hear(heard);
sync.hear((state) => chip(state, app));
addEventListener('hashchange', show);
addEventListener('unhandledrejection', (e) => { app.fail(e.reason); e.preventDefault(); });
update.hear(() => chip(sync.state, app));
update.register();
show().then(async () => {
    if (!app.card) return;
    update.askToKeep();
    await sync.look().catch(app.fail);
    sync.keepAtIt();
});
