/** Every screen for everybody: axe-core in five settings, room to touch, large text, a narrow phone. */

import assert from 'node:assert/strict';
import test from 'node:test';
import { Chromium } from './lib/chromium.mjs';
import { Hand } from './lib/hand.mjs';
import { crowded, first, survey } from './lib/looks.mjs';
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

test('words that are squeezed into a column of letters, and what is wider than the page, are found', { timeout: 60_000 }, async () => {
    const browser = await new Chromium().start();
    const page = (body) => browser.goto(`data:text/html,${encodeURIComponent(`<!doctype html><meta name="viewport" content="width=device-width"><main id="screen">${body}</main>`)}`);
    const hand = new Hand(browser);
    await page('<p style="width:12px; overflow-wrap:anywhere">riser and limbs</p>');
    assert.match((await crowded(hand)).join(), /a column of letters: p\. "riser and limbs"/);
    await page('<div style="width:700px">wide</div>');
    assert.match((await crowded(hand)).join(), /px wide in 390 px/);
    await page('<p>riser and limbs</p>');
    assert.deepEqual(await crowded(hand), []);
    await browser.close();
});
