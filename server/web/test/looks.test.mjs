import assert from 'node:assert/strict';
import { test } from 'node:test';
import { looked } from '../js/screen/figures/looks.js';

function shelf(full = false) {
    const slips = new Map();
    return {
        slip: async (name) => slips.get(name),
        putSlip: async (name, value) => {
            if (full) throw new Error('no room');
            slips.set(name, value);
        },
    };
}

test('a look counts when groups were added, and another change begins anew', async () => {
    const store = shelf();
    const look = (change, groups, question = 'elm Ash') => looked(store, { question, change, groups });
    const counts = [];
    for (const [change, groups] of [['c1', 5], ['c1', 5], ['c1', 6], ['c1', 9], ['c2', 9], ['c2', 10]]) counts.push(await look(change, groups));
    assert.deepEqual(counts, [1, 1, 2, 3, 1, 2]);
    assert.equal(await look('c1', 5, 'oak Ash'), 1);
    assert.equal(await look('c2', 11), 3);
});

test('a full disk costs the count, not the verdict', async () => {
    assert.equal(await looked(shelf(true), { question: 'elm Ash', change: 'c1', groups: 5 }), 1);
});
