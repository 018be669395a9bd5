import assert from 'node:assert/strict';
import test from 'node:test';
import { flatten, gridOf, sideFor } from '../js/place/flatten.js';
import { keptSize, LONGEST } from '../js/place/picture.js';
import { noTaps, onwards, ringDone, tapMarks, tappable, tappedAt, untapped } from '../js/place/taps.js';

/** A pinhole camera that looks at the face from below and from the side, as the model's own test has it. */
function seen([x, y], scale) {
    const [u, v] = [x / 1000, y / 1000];
    const depth = 3 + 0.31 * u - 0.22 * v;
    return [scale * (640 + (1200 * (u + 0.04 * v)) / depth), scale * (480 - (1200 * (0.96 * v - 0.05 * u)) / depth)];
}

/** A picture whose red and green tell where a pixel's middle is. */
function slopes(width, height) {
    const data = new Uint8ClampedArray(4 * width * height).fill(255);
    for (let y = 0; y < height; y += 1) {
        for (let x = 0; x < width; x += 1) {
            data[4 * (y * width + x)] = Math.round((255 * (x + 0.5)) / width);
            data[4 * (y * width + x) + 1] = Math.round((255 * (y + 0.5)) / height);
        }
    }
    return { data, width, height };
}

test('the flat picture shows at each mm what the camera saw there', () => {
    const [half, side] = [693, 200];
    const picture = slopes(640, 480);
    const flat = flatten(picture, gridOf(half).map((mm) => seen(mm, 0.5)), side);
    let worst = 0;
    for (let y = 0; y < side; y += 7) {
        for (let x = 0; x < side; x += 7) {
            const mm = [half * ((2 * x + 1) / side - 1), -half * ((2 * y + 1) / side - 1)];
            const [u, v] = seen(mm, 0.5);
            const at = 4 * (y * side + x);
            worst = Math.max(worst, Math.abs(flat[at] - (255 * u) / 640), Math.abs(flat[at + 1] - (255 * v) / 480));
        }
    }
    // One step of a colour is 2.5 px here; both the picture and the flat one are rounded to one.
    assert.ok(worst <= 1.1, `${worst}`);
});

test('between the points of the grid the way is as good as straight', () => {
    const half = 693;
    const grid = gridOf(half);
    const cell = (2 * half) / 64;
    for (const i of [0, 31, 63]) {
        const first = i * 65 + i;
        const corners = [first, first + 1, first + 65, first + 66].map((n) => seen(grid[n], 1.6));
        const middle = [0, 1].map((axis) => corners.reduce((sum, at) => sum + at[axis], 0) / 4);
        const truth = seen([grid[first][0] + cell / 2, grid[first][1] - cell / 2], 1.6);
        assert.ok(Math.hypot(middle[0] - truth[0], middle[1] - truth[1]) < 0.05, `${middle} ${truth}`);
    }
});

test('what the picture does not show is grey, and so is what lies beyond its horizon', () => {
    const nodes = gridOf(100).map(([x, y]) => (y > 50 ? null : [x, y]));
    const flat = flatten(slopes(64, 48), nodes, 64);
    assert.deepEqual([...flat.slice(0, 4)], [119, 119, 119, 255]);
    assert.deepEqual([...flat.slice(-4)], [119, 119, 119, 255]);
});

test('the flat picture has as many pixels as the face had, within bounds', () => {
    const wide = (px) => sideFor(gridOf(1).map(([x, y]) => [px * (x + 1) / 2, px * (1 - y) / 2]));
    assert.equal(wide(1000), 1000);
    assert.equal(wide(100), 480);
    assert.equal(wide(9000), 1440);
    assert.equal(sideFor(gridOf(1).map(() => null)), 480);
});

test('a picture is kept at 2,048 px at most, and never enlarged', () => {
    assert.equal(LONGEST, 2048);
    assert.deepEqual(keptSize(4000, 3000), { width: 2048, height: 1536 });
    assert.deepEqual(keptSize(3000, 8000), { width: 768, height: 2048 });
    assert.deepEqual(keptSize(640, 480), { width: 640, height: 480 });
    assert.deepEqual(keptSize(100000, 1), { width: 2048, height: 1 });
});

test('five taps on the ring, then the middle, then the top', () => {
    let taps = noTaps(610);
    for (let i = 0; i < 4; i += 1) {
        taps = tappedAt(taps, [i, i]);
    }
    assert.equal(ringDone(taps), false);
    assert.equal(onwards(taps), taps);
    taps = onwards(tappedAt(taps, [9, 9]));
    assert.equal(taps.step, 'middle');
    taps = tappedAt(tappedAt(taps, [50, 50]), [50, 10]);
    assert.deepEqual([taps.step, taps.middle, taps.top, taps.ring.length], ['check', [50, 50], [50, 10], 5]);
    assert.equal(tappedAt(taps, [1, 1]), taps);
    assert.equal(tapMarks(taps).length, 7);
});

test('every tap can be taken back, and the others stay', () => {
    let taps = { ...noTaps(610), ring: [[1, 1], [2, 2], [3, 3], [4, 4], [5, 5]], middle: [6, 6], top: [7, 7], step: 'check' };
    taps = untapped(taps);
    assert.deepEqual([taps.step, taps.top, taps.middle], ['top', null, [6, 6]]);
    taps = untapped(taps);
    assert.deepEqual([taps.step, taps.middle], ['middle', null]);
    taps = untapped(untapped(taps));
    assert.deepEqual([taps.step, taps.ring.length], ['ring', 4]);
});

test('back at the ring, what was tapped of the middle and the top is not asked again', () => {
    const taps = { ...noTaps(610), ring: Array(5).fill([1, 1]), middle: [6, 6], top: [7, 7] };
    assert.equal(onwards(taps).step, 'check');
    assert.equal(tappedAt({ ...taps, step: 'middle', middle: null }, [8, 8]).step, 'check');
});

test('rings are offered from the widest inwards', () => {
    const rings = tappable({ zones: [{ points: 10, outer_radius_mm: 61, colour: 'yellow' }, { points: 9, outer_radius_mm: 122, colour: 'yellow' }] });
    assert.deepEqual(rings.map((ring) => ring.radius_mm), [122, 61]);
    assert.equal(rings[0].words, 'Outer line of the 9 (yellow)');
});
