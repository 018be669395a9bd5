/** Every screen for everybody: axe-core in five settings, room to touch, large text, a narrow phone. */

import assert from 'node:assert/strict';
import test from 'node:test';
import { Chromium } from './lib/chromium.mjs';
import { Hand } from './lib/hand.mjs';
import { first, survey } from './lib/looks.mjs';
import { inSeason, season } from './lib/season.mjs';

test('every screen of a phone in a season', { timeout: 580_000 }, async (t) => {
    const played = await season();
    const browser = await new Chromium().start();
    await browser.goto(played.front.url);
    const stranger = new Hand(browser);
    await stranger.sees('Your name');
    await t.test('the first screen', async () => assert.deepEqual(await first(stranger), []));
    const found = await survey(await inSeason(played, browser));
    for (const [what, wrong] of Object.entries(found)) {
        await t.test(`nothing is wrong: ${what}`, () => assert.ok(wrong.length === 0, wrong.join('\n')));
    }
    assert.deepEqual(browser.errors, []);
    await browser.close();
});
