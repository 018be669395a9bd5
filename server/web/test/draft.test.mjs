import assert from 'node:assert/strict';
import test from 'node:test';
import { once } from '../js/dom.js';
import { recall, remember } from '../js/remember.js';
import { alike, asked, blank, meant, whole } from '../js/screen/shoot/frame.js';
import { sameCard } from '../js/store.js';

const face = { code: 'wa_40', radius_mm: 200, zones: [{ points: 10, outer_radius_mm: 20 }] };
const frame = { bow: { id: 'b', name: 'Elm' }, archer: { id: 'a' }, arrows: null, distance_m: 18, face, sight: null, plan: null };

test('a draft that another version wrote is made whole, and its arrows stay', () => {
    for (const odd of [null, undefined, 'x', 3]) assert.equal(whole(odd), null);
    assert.deepEqual(whole({ face: { code: 'wa_40' }, id: 'ready' }), { id: undefined, arrows_per_end: 0, end_number: 1, face: undefined, shot: [], note: '', title: {}, asked: {} });
    const kept = whole({ face, shot: [{ mm: [1, 2] }, null, { mm: null, bare: true }, {}], note: null, end_number: 4 });
    assert.deepEqual(kept.shot, [{ mm: [1, 2] }, { mm: null, bare: true }]);
    assert.deepEqual([kept.face, kept.note, kept.end_number], [face, '', 4]);
});

test('what was said not to be noted is not assumed again', () => {
    assert.equal(asked(frame, { arrows: '', sight: '' }).asked.arrows, '');
    assert.equal(asked(frame, { arrows: '', sight: '' }).asked.sight, '');
    assert.equal(asked(frame, {}).asked.arrows, undefined);
    assert.equal(asked({ ...frame, arrows: { id: 's' }, sight: '34' }, {}).asked.sight, '34');
});

test('an end under way takes on nothing that came in since', () => {
    const draft = { id: 'e', asked: { bow: 'b' }, shot: [{ mm: [1, 2] }] };
    assert.deepEqual(meant(draft), { bow: 'b', arrows: '', sight: '' });
    assert.deepEqual(meant({ ...draft, shot: [] }), { bow: 'b' });
    assert.deepEqual(meant(null), {});
});

test('a second touch does nothing while the first is under way, and after it does', async () => {
    let [count, done] = [0, null];
    const touch = once(() => { count += 1; return new Promise((resolve) => { done = resolve; }); });
    const first = touch();
    await touch();
    assert.equal(count, 1);
    done();
    await first;
    touch();
    assert.equal(count, 2);
    const failing = once(() => { throw new Error('no'); });
    await assert.rejects(failing(), /no/);
    await assert.rejects(failing(), /no/);
});

test('a browser that remembers nothing costs nothing', () => {
    Object.defineProperty(globalThis, 'localStorage', { configurable: true, get() { throw new Error('shut'); } });
    assert.equal(recall('x'), null);
    assert.equal(remember('x', 'y'), false);
    delete globalThis.localStorage;
    assert.equal(recall('x'), null);
});

test('two cards are one by team and device', () => {
    assert.ok(sameCard(undefined, null));
    assert.ok(sameCard({ team: 't', device: 'd', server: {} }, { team: 't', device: 'd' }));
    assert.ok(!sameCard({ team: 't', device: 'd' }, null));
    assert.ok(!sameCard({ team: 't', device: 'd' }, { team: 't', device: 'e' }));
});

test('an id that lay ready for an end without arrows is let go of: a restored phone would give it to two ends', () => {
    assert.equal(whole({ face, id: 'e', shot: [{ mm: [1, 2] }] }).id, 'e');
    assert.equal(whole({ face, id: 'e', shot: [], taps: {} }).id, 'e');
    assert.equal(whole({ face, id: 'e', shot: [] }).id, undefined);
    assert.equal(whole({ face, id: 'e', shot: [], at: '2026-04-12 10:30' }).id, 'e');
    assert.equal(whole({ face, id: 'e', shot: [], mends: true }).id, 'e');
    const next = blank({ id: 'e', mark: 'm', end_number: 1, shot: [{ mm: [1, 2] }] });
    assert.equal(next.id, undefined);
    assert.notEqual(next.mark, 'm');
});

test('a draft of an end that was kept is known by where its arrows lie', () => {
    const shot = [{ mm: [1.23, -4] }, { mm: null }];
    assert.ok(alike([[1.2, -4], null], shot));
    assert.ok(!alike([[1.2, -4]], shot));
    assert.ok(!alike([[1.4, -4], null], shot));
    assert.ok(!alike([null, null], shot));
    assert.ok(!alike([[1.2, -4], [0, 0]], shot));
});
