import assert from 'node:assert/strict';
import test from 'node:test';
import { kindOf, marksOf } from '../js/place/face.js';
import { KEY_STEPS, keyed } from '../js/place/keys.js';
import { nudged, stepsOn } from '../js/place/nudge.js';
import { tapped, ZOOM_TIMES } from '../js/place/tap.js';
import { ringsOf, shotText } from '../js/place/type.js';
import { faceView, toPx } from '../js/place/view.js';

const FACE = {
    code: 'field_40', name: '40 cm field face', radius_mm: 200, inner10_radius_mm: null,
    zones: [6, 5, 4, 3, 2, 1].map((points, i) => ({ points, outer_radius_mm: [20, 40, 80, 120, 160, 200][i] })),
};

test('a first tap shows its part, a second one says the point to a fifth of its error', () => {
    const whole = faceView(610, 366);
    const first = tapped(whole, null, [150, 200]);
    assert.equal(first.point, undefined);
    const target = [-100, -30];
    const seen = toPx(first.part, target);
    const { point } = tapped(whole, first.part, [seen[0] + 11, seen[1]]);
    assert.ok(Math.abs(point[0] - target[0] - 11 / whole.scale / ZOOM_TIMES) < 1e-9);
    assert.ok(Math.abs(point[1] - target[1]) < 1e-9);
});

test('a tap that is 30 px off still has its arrow in the zoom', () => {
    const whole = faceView(610, 366);
    const { part } = tapped(whole, null, [183 + 30, 183]);
    const [x, y] = toPx(part, [0, 0]);
    assert.ok(x >= 0 && y >= 0 && x <= 366 && y <= 366, `${x},${y}`);
});

test('keys begin in the middle, move coarsely or finely, and stay on the square', () => {
    assert.deepEqual(keyed(null, { key: 'ArrowUp' }, 300), [150, 150 - KEY_STEPS.coarse]);
    assert.deepEqual(keyed([10, 10], { key: 'ArrowRight', shiftKey: true }, 300), [10 + KEY_STEPS.fine, 10]);
    assert.deepEqual(keyed([2, 2], { key: 'ArrowLeft' }, 300), [0, 2]);
    assert.equal(keyed([2, 2], { key: 'a' }, 300), null);
});

test('a step is 1 mm on a 40 cm face and 2 mm on a 122 cm face, and many of them stay tidy', () => {
    assert.equal(stepsOn(200)[0], 1);
    assert.equal(stepsOn(610)[0], 2);
    let at = [0.1, 0];
    for (let i = 0; i < 50; i += 1) {
        at = nudged(at, [1, 0], 0.2);
    }
    assert.deepEqual(at, [10.1, 0]);
});

test('the keys of a face are its own rings', () => {
    assert.deepEqual(ringsOf(FACE), ['6', '5', '4', '3', '2', '1', 'M']);
    assert.equal(ringsOf({ ...FACE, inner10_radius_mm: 10 })[0], 'X');
    assert.equal(shotText('9', 4, true), '9@4:30');
    assert.equal(shotText('X', 12, false), 'X@12');
});

test('each kind of arrow has a shape of its own, and one that was not found has none', () => {
    const arrows = [
        { mm: [0, 0] }, { mm: [1, 1], flyer: true, number: '7' }, { mm: [1, 1], bare: true }, { mm: [1, 1], flyer: true, bare: true },
        { mm: [300, 0] }, { mm: null },
    ];
    const marks = marksOf(arrows, [{ ring: '6' }, null, null, null, { ring: 'M' }, { ring: 'M' }], 2);
    assert.deepEqual(marks.map(kindOf), ['plain', 'flyer', 'bare', 'flyer-bare', 'missed']);
    assert.deepEqual(marks.map((mark) => mark.text), ['1', '7', '3', '4', '5']);
    assert.deepEqual(marks.map((mark) => mark.chosen), [false, false, true, false, false]);
});
