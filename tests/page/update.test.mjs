/** A newer page arrives: it waits for an end to be finished and for a yes, and comes whole or not at all. */

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';
import { WEB } from './lib/programs.mjs';
import { Stage } from './lib/stage.mjs';

const CHANGED = 'js/screen/more.js';
const newer = () => readFileSync(join(WEB, CHANGED), 'utf8').replace("}, 'More')", "}, 'More, the newer one')");

/** Has the page look for a newer version, as it does when it comes to the front, and waits for the end of it. */
const look = (hand) => hand.evaluate(`async () => {
    const registration = await navigator.serviceWorker.getRegistration();
    const began = new Promise((resolve) => registration.addEventListener('updatefound', () => resolve(registration.installing), { once: true }));
    dispatchEvent(new Event('focus'));
    const worker = await began;
    if (worker.state === 'installing') {
        await new Promise((resolve) => worker.addEventListener('statechange', resolve, { once: true }));
    }
    return worker.state;
}`);

const served = (hand) => hand.evaluate(`async (path) => (await (await fetch('/web/' + path)).text()).includes('the newer one')`, CHANGED);

test('a newer page waits while an end is under way, and takes over when agreed', { timeout: 300_000 }, async () => {
    const stage = await Stage.set();
    const { hand, front } = stage;
    assert.ok(newer().includes('the newer one'), 'the file is altered');
    await stage.shooting();
    front.files.set(`/web/${CHANGED}`, newer());
    assert.equal(await look(hand), 'installed');
    await hand.touch('A new version is ready: update now');
    await hand.sees('An end is under way: finish it first, then update.');
    await hand.browser.reload();
    await hand.sees('arrow 4 of');
    assert.equal(await served(hand), false, 'a reload in the middle of an end changes nothing');
    await hand.touch('Finish');
    await hand.sees('End 2');
    assert.equal(await served(hand), false, 'nobody has agreed yet');
    await hand.evaluate('() => { window.before = true; }');
    await hand.touch('A new version is ready: update now');
    await hand.until('the page is another one', '() => window.before === undefined');
    await hand.until('the newer page is served', `async (path) => (await (await fetch('/web/' + path)).text()).includes('the newer one')`, CHANGED);
    await hand.screen('more');
    await hand.sees('More, the newer one');
    await stage.holds(1, 3);
    await stage.clear();
});

test('a deploy with a file missing, or of another version, does not install', { timeout: 300_000 }, async () => {
    const stage = await Stage.set();
    const { hand, front } = stage;
    await stage.shooting();
    front.files.set(`/web/${CHANGED}`, null);
    assert.equal(await look(hand), 'redundant');
    front.files.set(`/web/${CHANGED}`, newer());
    front.fault = (path) => (path === `/web/${CHANGED}` ? { status: 200, headers: { 'content-type': 'text/javascript' }, body: 'export {};' } : null);
    assert.equal(await look(hand), 'redundant');
    front.fault = null;
    await front.stop();
    await hand.browser.reload();
    await hand.sees('arrow 4 of');
    await hand.screen('more');
    await hand.sees('This phone');
    assert.equal(await served(hand), false);
    await front.start();
    assert.equal(await look(hand), 'installed', 'the whole one installs after all');
    await hand.screen('shoot');
    await hand.touch('Finish');
    await stage.holds(1, 3);
    await stage.clear();
});
