/** One flow in three engines: join, lose the network, shoot, be killed in the middle, finish, come back, be level. */

import assert from 'node:assert/strict';
import test from 'node:test';
import { Chromium } from './lib/chromium.mjs';
import { Firefox } from './lib/firefox.mjs';
import { Hand } from './lib/hand.mjs';
import { Home, Service, team } from './lib/programs.mjs';
import { WebKit } from './lib/webkit.mjs';

/** Where the arrows of the end are meant to go, mm; the last one is killed before. */
const END = [[12, 8], [-25, 30], [40, -15], [-8, -44], [20, 55], [-31, 4]];

const near = (a, b, mm) => Math.hypot(a[0] - b[0], a[1] - b[1]) <= mm;

/** Returns the ends that a home of the command line holds, as points. */
async function ends(home) {
    const csv = await home.sheaf('export', 'groups');
    const [head, ...rows] = csv.trim().split('\n').map((line) => line.split(','));
    const at = (row, name) => Number(row[head.indexOf(name)]);
    return rows.map((row) => [at(row, 'x_mm'), at(row, 'y_mm')]);
}

async function inOneEngine(browser) {
    const service = await new Service().start();
    const keeper = await team(service);
    const hand = new Hand(await browser.start());
    await hand.join(service.url, (await keeper.json('invite')).code, 'Rowan');
    await hand.begin();
    await browser.offline(true);
    await service.stop();
    const meant = await offline(hand, service.url);
    await service.start();
    await browser.offline(false);
    await hand.level();
    await same(hand, service.url, keeper, meant);
    assert.deepEqual(browser.errors, []);
    await browser.close();
    await service.stop();
}

/** Shoots an end with no network, reloaded and killed in the middle; returns where the arrows were placed. */
async function offline(hand, url) {
    const { browser } = hand;
    for (const mm of END.slice(0, 3)) {
        const placed = await hand.arrow(mm);
        // One driver touches whole pixels only, of 3.8 mm here.
        assert.ok(near(placed, mm, 2.7), `meant ${mm}, placed ${placed}`);
    }
    await browser.reload();
    assert.equal((await hand.arrows()).length, 3, 'a reload keeps the draft');
    for (const mm of END.slice(3, 5)) await hand.arrow(mm);
    const before = await hand.arrows();
    await browser.kill();
    await browser.start();
    await browser.offline(true);
    await browser.goto(url);
    await hand.sees('arrow 6 of 6');
    assert.deepEqual(await hand.arrows(), before, 'the draft of a killed browser is there again');
    await hand.arrow(END[5]);
    const meant = (await hand.arrows()).map((arrow) => arrow.mm);
    await hand.touch('Finish');
    await hand.sees('End 2');
    assert.equal((await hand.arrows()).length, 0);
    const [end] = (await hand.ask('ends', { limit: 5 })).ends;
    assert.equal(end.points_mm.length, 6);
    return meant;
}

/** Checks that the phone, the service and two command lines hold the same, and the end as it was placed. */
async function same(hand, url, keeper, meant) {
    const replica = new Home();
    await replica.sheaf('join', url, (await keeper.json('invite')).code, '--me', 'Linden');
    await hand.level();
    const [there, here] = [await replica.json('sync'), await keeper.json('sync')];
    assert.equal(there.digest, here.digest);
    assert.equal((await hand.ask('status')).digest, there.digest, 'the phone and a command line hold the same');
    const points = await ends(replica);
    assert.equal(points.length, 6);
    meant.forEach((mm, i) => assert.ok(near(points[i], mm, 0.1), `placed ${mm}, there ${points[i]}`));
}

for (const Engine of [Chromium, Firefox, WebKit]) {
    test(`the flow in ${new Engine().name}`, { timeout: 300_000 }, () => inOneEngine(new Engine()));
}
