/** Two phones write the same thing without seeing each other's; both see that, and one of them settles it for all. */

import assert from 'node:assert/strict';
import test from 'node:test';
import { Stage } from './lib/stage.mjs';

/** Names the bow anew on a phone that is out of the network. */
async function rename(hand, from, to) {
    await hand.browser.offline(true);
    await hand.screen('things?kind=bow');
    await hand.touch(from, { kinds: 'summary', exact: false });
    await hand.until('its name can be altered', `() => document.querySelector('details[open] form input')`);
    const [field] = await hand.evaluate(`() => [...document.querySelectorAll('details.fold[open]:not(.adder) form label')].map((e) => e.textContent)`);
    await hand.until('the field is there', `(label, text) => {
        const input = [...document.querySelectorAll('details.fold[open]:not(.adder) form label')].find((e) => e.textContent === label)?.control;
        if (!input) return false;
        input.focus();
        input.select();
        return true;
    }`, field);
    await hand.browser.type(to);
    const save = await hand.evaluate(`() => document.querySelector('details.fold[open]:not(.adder) form button[type=submit]').textContent`);
    await hand.until('it can be kept', `() => {
        const send = document.querySelector('details.fold[open]:not(.adder) form button[type=submit]');
        if (send.disabled) return false;
        send.scrollIntoView({ block: 'center' });
        return true;
    }`);
    await hand.touch(save);
    await hand.until(`the bow is ${to}`, `async (to) => (await (await import('/web/js/model.js')).call('things', { kind: 'bow' })).things.some((t) => t.name === to)`, to);
    await hand.browser.offline(false);
}

const names = async (hand) => (await hand.ask('things', { kind: 'bow' })).things.map((thing) => thing.name);

test('two phones name one bow differently, both are told, and one settles it', { timeout: 300_000 }, async () => {
    const stage = await Stage.set();
    const one = stage.hand;
    const other = await stage.phone('Linden');
    await one.level();
    await rename(one, 'elm', 'the old elm');
    await rename(other, 'elm', 'the tall elm');
    for (const hand of [one, other, one]) await hand.level();
    assert.deepEqual(await names(one), await names(other), 'the same one stands on both');
    for (const hand of [one, other]) {
        await hand.screen('settle');
        await hand.sees('the old elm');
        await hand.sees('the tall elm');
    }
    const [stands] = await names(one);
    const meant = ['the old elm', 'the tall elm'].find((name) => name !== stands);
    await one.touch(meant, { exact: false });
    await one.sees('Nothing is to be settled.');
    for (const hand of [one, other]) await hand.level();
    assert.deepEqual([await names(one), await names(other)], [[meant], [meant]]);
    await other.screen('settle');
    await other.sees('Nothing is to be settled.');
    await stage.keeper.sheaf('sync');
    assert.equal((await stage.keeper.json('sync')).digest, (await other.ask('status')).digest);
    assert.match(await stage.keeper.sheaf('list', 'bows'), new RegExp(meant));
    await stage.clear();
});

test('two phones shoot at the same time and both ends are there', { timeout: 300_000 }, async () => {
    const stage = await Stage.set();
    const one = stage.hand;
    const other = await stage.phone('Linden');
    for (const hand of [one, other]) {
        await hand.begin();
        await hand.browser.offline(true);
        for (const mm of [[10, 10], [-20, 5], [0, -30]]) await hand.arrow(mm);
        await hand.touch('Finish');
        await hand.sees('End 2');
        await hand.browser.offline(false);
    }
    for (const hand of [one, other]) await hand.level();
    await stage.holds(2, 6);
    assert.equal((await other.ask('ends', {})).ends.length, 2);
    await stage.clear();
});
