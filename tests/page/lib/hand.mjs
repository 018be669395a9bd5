/**
 * A hand on the page, the same for every engine: finds things by the words that a person reads, touches them where they
 * are drawn, and waits until what follows is there.
 */

import assert from 'node:assert/strict';
import { until } from './wait.mjs';

/** In the page: the words of a control, as a screen reader says them. */
const WORDS = `(e) => (e.getAttribute('aria-label') ?? (e.labels?.[0]?.textContent) ?? e.textContent).replace(/\\s+/g, ' ').trim()`;

/** In the page: where a control of these words can be touched; null while it cannot be. */
const FIND = `async (words, kinds, exact) => {
    const name = ${WORDS};
    const fits = (e) => (exact ? name(e) === words : name(e).startsWith(words));
    const open = document.querySelector('dialog[open]') ?? document;
    const element = [...open.querySelectorAll(kinds)].find((e) => fits(e) && !e.disabled && e.getClientRects().length > 0 && (e.checkVisibility?.() ?? true));
    if (!element) return null;
    element.scrollIntoView({ block: 'center', behavior: 'instant' });
    const middle = () => { const box = element.getBoundingClientRect(); return [box.x + box.width / 2, box.y + box.height / 2]; };
    const [x, y] = middle();
    await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
    if (middle().join() !== [x, y].join()) throw new Error('it still moves');
    const top = document.elementFromPoint(x, y);
    if (!(top && (element.contains(top) || top.contains(element)))) throw new Error('under ' + (top?.outerHTML.slice(0, 120) ?? 'the edge'));
    return { x, y };
}`;

/** In the page: where a point of the face is drawn, by what the engine itself says of the drawing. */
const ON_FACE = `([x, y]) => {
    const pane = document.querySelector('.pane');
    pane.scrollIntoView({ block: 'center', behavior: 'instant' });
    const ring = pane.querySelector('svg.ground .ring');
    const point = new DOMPoint(x, -y).matrixTransform(ring.getScreenCTM());
    return { x: point.x, y: point.y };
}`;

/** A person at a phone. */
export class Hand {
    constructor(browser) {
        this.browser = browser;
        this.touches = 0;
    }

    evaluate(work, ...given) { return this.browser.evaluate(work, ...given); }

    /** Waits until something holds in the page. */
    async until(what, work, ...given) {
        try {
            // An element does not travel: that it is there is what counts.
            const asked = `async (...given) => { const it = await (${work})(...given); return it instanceof Node ? true : it; }`;
            return await until(`${this.browser.name}: ${what}`, () => this.browser.evaluate(asked, ...given));
        } catch (e) {
            const there = await this.text().catch(() => 'no page');
            throw new Error(`${e.message}; errors: ${this.browser.errors.join('; ') || 'none'}; the page says: ${there.slice(0, 900)}`);
        }
    }

    /** Touches what has these words, as soon as it is there and nothing lies over it. */
    async touch(words, { kinds = 'button, a[href], summary, [role=radio]', exact = true } = {}) {
        const at = await this.until(`"${words}" can be touched`, FIND, words, kinds, exact);
        this.touches += 1;
        await this.browser.tap(at.x, at.y);
    }

    /** Writes into the field of this label. */
    async fill(label, text) {
        await this.touch(label, { kinds: 'input, textarea' });
        await this.until(`${label} has the focus`, '() => document.activeElement?.matches("input, textarea")');
        await this.evaluate('() => document.activeElement.select?.()');
        await this.browser.type(text);
        await this.until(`"${text}" stands in ${label}`, `(text) => document.activeElement.value === text`, text);
    }

    /** Takes one of a list; what a browser opens for that is no part of the page. */
    async pick(label, words) {
        await this.until(`${label} offers ${words}`, `(label, words) => {
            const name = ${WORDS};
            const list = [...document.querySelectorAll('select')].find((e) => name(e).startsWith(label));
            const option = [...(list?.options ?? [])].find((o) => o.textContent.trim() === words);
            if (!option) return false;
            list.value = option.value;
            list.dispatchEvent(new Event('change', { bubbles: true }));
            return true;
        }`, label, words);
    }

    /** Waits for words on the page. */
    sees(words) {
        return this.until(`"${words}" stands on the page`, `(words) => document.body.innerText.replace(/\\s+/g, ' ').includes(words)`, words);
    }

    /** Returns all the words of the page. */
    text() {
        return this.evaluate(`() => document.body.innerText.replace(/\\s+/g, ' ')`);
    }

    /** Goes to a screen. */
    async screen(hash) {
        await this.evaluate('(hash) => { location.hash = hash; }', hash);
        await this.until(`the screen ${hash} is there`, `(name) => document.querySelector('#screen > .screen.' + name + ' h1')`, hash.split('?')[0]);
    }

    /** Places an arrow by one touch, and waits until the draft holds it. */
    async arrow(mm) {
        const before = await this.arrows();
        const at = await this.until('the face is there', `(mm) => document.querySelector('.pane svg.ground .ring') && (${ON_FACE})(mm)`, mm);
        this.touches += 1;
        await this.browser.tap(at.x, at.y);
        const shot = await this.until(`arrow ${before.length + 1} is in the draft`, `async (count) => {
            const draft = await (await import('/web/js/store.js')).draft('shoot');
            return draft?.shot.length === count && draft.shot;
        }`, before.length + 1);
        await this.until('the model has said what it is', `(count) => {
            const rings = [...document.querySelectorAll('.strip .ring-of')].map((e) => e.textContent);
            return rings.length === count && rings.every((ring) => ring !== '…');
        }`, before.length + 1);
        return shot.at(-1).mm;
    }

    /** Returns the arrows of the draft on the disk. */
    arrows() {
        return this.evaluate(`async () => (await (await import('/web/js/store.js')).draft('shoot'))?.shot ?? []`);
    }

    /** Returns what the model of the page answers. */
    ask(name, input = {}) {
        return this.evaluate(`async (name, input) => (await import('/web/js/model.js')).call(name, input)`, name, input);
    }

    /** Comes into a team by a link. */
    async join(url, code, me) {
        await this.browser.goto(`${url}/#join=${code}`);
        await this.fill('Your name', me);
        await this.touch('Join');
        await this.sees('You are in.');
        await this.kept();
    }

    /** Waits until the page is kept on the phone, so that it opens with no network. */
    kept() {
        return this.until('the page is kept on the phone', `async () => {
            const registration = await navigator.serviceWorker.ready;
            return registration.active?.state === 'activated' && (await caches.keys()).length > 0;
        }`);
    }

    /** Answers what is shot with, the first time. */
    async begin({ bow = 'elm', distance = '18 m', face = null } = {}) {
        await this.screen('shoot');
        await this.sees('What do you shoot with?');
        if (bow) await this.pick('Bow', bow);
        await this.fill('Distance', distance);
        if (face) await this.pick('Face', face);
        await this.touch('Begin to shoot');
        await this.until('the face is there', `() => document.querySelector('.pane svg.ground .ring')`);
    }

    /** Syncs by the button, waits until a sync that began after that is through, and returns the digest. */
    async level() {
        await this.screen('phone');
        await this.touch('Sync now');
        await this.until('a sync is through', `async () => {
            const { state, sync } = await import('/web/js/sync.js');
            return !state.running && !(await sync()).running && state.trouble === null && state.status.unsent === 0;
        }`);
        await this.sees('The server has everything that is here');
        return (await this.ask('status')).digest;
    }

    /** Holds the page to the room it has. */
    async nothingIsCut() {
        const [has, room] = await this.evaluate('() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]');
        assert.ok(has <= room, `${has} px wide in ${room} px`);
    }
}
