/** Every screen for everybody: axe-core in five settings, room to touch, large text, a narrow phone. */

import assert from 'node:assert/strict';
import test from 'node:test';
import { Chromium } from './lib/chromium.mjs';
import { Hand } from './lib/hand.mjs';
import { crowded, enlarge, set, SETTINGS, small, violations } from './lib/looks.mjs';
import { inSeason, named, open, screens, season } from './lib/season.mjs';

const TIMEOUT = { timeout: 600_000 };

/** Goes through every screen, with what is wrong of each. */
async function wrongOnScreens(hand, look) {
    const found = [];
    for (const screen of await screens(hand)) {
        await open(hand, screen);
        found.push(...(await look(screen)).map((words) => `${named(screen)}: ${words}`));
    }
    return found;
}

test('every screen of a phone in a season', TIMEOUT, async (t) => {
    const played = await season();
    const browser = await new Chromium().start();
    await new Hand(browser).browser.goto(played.front.url);
    const first = new Hand(browser);
    await first.sees('Your name');
    await t.test('the first screen', async () => {
        const found = [];
        for (const setting of Object.keys(SETTINGS)) {
            await set(browser, setting);
            found.push(...(await violations(first, setting)).map((words) => `${setting}: ${words}`));
        }
        assert.deepEqual([...found, ...await small(first), ...await crowded(first)], []);
    });
    const hand = await inSeason(played, browser);
    for (const setting of Object.keys(SETTINGS)) {
        await t.test(`axe-core finds nothing in ${setting}`, TIMEOUT, async () => {
            await set(browser, setting);
            assert.deepEqual(await wrongOnScreens(hand, () => violations(hand, setting)), []);
        });
    }
    await set(browser, 'light');
    await t.test('whatever can be touched is 52 px or more', TIMEOUT, async () => {
        assert.deepEqual(await wrongOnScreens(hand, () => small(hand)), []);
    });
    await t.test('nothing is cut or lies over another thing, at 390 px', TIMEOUT, async () => {
        assert.deepEqual(await wrongOnScreens(hand, () => crowded(hand)), []);
    });
    await t.test('nor at 320 px', TIMEOUT, async () => {
        await browser.resize(320, 640);
        assert.deepEqual(await wrongOnScreens(hand, () => crowded(hand)), []);
    });
    await t.test('nor with text of 200 %', TIMEOUT, async () => {
        await browser.resize(390, 844);
        await enlarge(hand, 2);
        assert.deepEqual(await wrongOnScreens(hand, () => crowded(hand)), []);
        await enlarge(hand, 1);
    });
    assert.deepEqual(browser.errors, []);
    await browser.close();
});
