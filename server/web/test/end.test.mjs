import assert from 'node:assert/strict';
import test from 'node:test';
import { added, altered, chosen, end, meant, placed, removed, undone } from '../js/place/end.js';

test('an arrow is added, or the chosen one is moved and keeps what was said of it', () => {
    let now = placed(placed(end([]), [1, 2]), [3, 4]);
    assert.deepEqual(now.arrows, [{ mm: [1, 2] }, { mm: [3, 4] }]);
    now = altered(now, 0, { flyer: true, number: '7' });
    now = placed(chosen(now, 0), [9, 9]);
    assert.deepEqual(now.arrows[0], { mm: [9, 9], flyer: true, number: '7' });
    assert.equal(now.arrows.length, 2);
    assert.equal(now.chosen, null);
});

test('the buttons mean the chosen arrow, else the last, else none', () => {
    assert.equal(meant(end([])), null);
    const now = added(end([]), [{ mm: [1, 1] }, { mm: null }]);
    assert.equal(meant(now), 1);
    assert.equal(meant(chosen(now, 0)), 0);
    assert.equal(meant(chosen(chosen(now, 0), 0)), 1);
});

test('what is false or empty is left out, a miss is not', () => {
    let now = altered(end([{ mm: [1, 1], flyer: true, number: '3' }]), 0, { flyer: false, number: '' });
    assert.deepEqual(now.arrows, [{ mm: [1, 1] }]);
    now = altered(now, 0, { mm: null });
    assert.deepEqual(now.arrows, [{ mm: null }]);
});

test('every change can be undone, and behind what there was at first its arrows, the last one first', () => {
    const first = [{ mm: [5, 5] }];
    const states = [end(first)];
    states.push(placed(states[0], [1, 2]));
    states.push(altered(states[1], 0, { bare: true }));
    states.push(removed(states[2], 1));
    let now = states[3];
    for (const was of [states[2], states[1], states[0]]) {
        now = undone(now);
        assert.deepEqual(now.arrows, was.arrows);
    }
    // What lay there at first goes arrow by arrow, as of an end that was under way before a reload.
    now = undone(now);
    assert.deepEqual(now.arrows, []);
    assert.equal(undone(now), now);
});

test('a state is never altered in place', () => {
    const now = Object.freeze(end(Object.freeze([Object.freeze({ mm: Object.freeze([1, 1]) })])));
    altered(now, 0, { flyer: true });
    removed(now, 0);
    added(now, [{ mm: null }]);
    assert.deepEqual(now.arrows, [{ mm: [1, 1] }]);
});
