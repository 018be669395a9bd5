import assert from 'node:assert/strict';
import test from 'node:test';
import {
    faceView, fromClient, LOUPE, loupePlace, magnified, pictureView, shownPart, toPlane, toPx, zoomed,
} from '../js/place/view.js';

const near = (got, want, by = 1e-9) =>
    assert.ok(got.every((v, i) => Math.abs(v - want[i]) <= by), `${got} is not ${want}`);

test('the outermost ring reaches 88 % of half the square, and up is up', () => {
    const view = faceView(610, 366);
    near(toPx(view, [0, 0]), [183, 183]);
    near(toPx(view, [610, 0]), [183 + 0.88 * 183, 183]);
    near(toPx(view, [0, 610]), [183, 183 - 0.88 * 183]);
});

test('what a pixel of the page says is right to 0.1 mm', () => {
    // A pointer is told to a CSS pixel or better; the squares of pages are seldom whole pixels.
    for (const [radius, left, width] of [[610, 12, 366], [610, 11.6667, 366.65], [200, 0.5, 296.33], [100, 3, 700]]) {
        const view = faceView(radius, width);
        const rect = { left, top: 97.3, width, height: width };
        for (const mm of [[0, 0], [13.4, -250.1], [-radius, radius]]) {
            const [x, y] = toPx(view, mm);
            near(toPlane(view, fromClient(rect, width, [left + x, 97.3 + y])), mm, 1e-9);
        }
    }
});

test('a page that is scaled changes nothing', () => {
    near(fromClient({ left: 20, top: 40, width: 732, height: 732 }, 366, [20 + 732, 40 + 366]), [366, 183]);
});

test('a picture lies whole in the middle of the square, y down', () => {
    const view = pictureView({ x: 100, y: 0, width: 1000, height: 500 }, 400);
    near(toPx(view, [100, 0]), [0, 100]);
    near(toPx(view, [1100, 500]), [400, 300]);
    near(toPlane(view, [200, 200]), [600, 250]);
});

test('a zoom holds the point it is about in its middle, and never leaves the surface', () => {
    const whole = faceView(610, 366);
    const middle = zoomed(whole, [150, 170], 5);
    near(toPx(middle, toPlane(whole, [150, 170])), [183, 183]);
    near(toPx(zoomed(whole, [0, 366], 5), toPlane(whole, [0, 366])), [0, 366]);
    const part = shownPart(whole, zoomed(whole, [366, 0], 5));
    near([part.x, part.y, part.side], [366 - 73.2, 0, 73.2]);
});

test('the loupe shows the same points four times as far apart', () => {
    const view = faceView(200, 366);
    near(toPx(magnified(view, 4), [10, -20]), toPx(view, [10, -20]).map((v) => 4 * v));
});

test('the loupe is 44 px above the thumb, and beside it near the top', () => {
    const room = { left: -12, top: -60, right: 378, bottom: 780 };
    const above = loupePlace([180, 300], room, null);
    assert.equal(above.side, 'above');
    assert.equal(300 - (above.y + LOUPE.across), 44);
    assert.equal(loupePlace([100, 20], room, null).side, 'right');
    assert.equal(loupePlace([250, 20], room, null).side, 'left');
    for (let x = 0; x <= 366; x += 3) {
        for (let y = 0; y <= 366; y += 3) {
            const { side, x: left, y: top } = loupePlace([x, y], room, null);
            assert.ok(left >= -12 && left + LOUPE.across <= 378 && top >= -60, `${x},${y}`);
            if (side !== 'above') {
                assert.ok(left >= x + 44 || left + LOUPE.across <= x - 44, `covers the thumb at ${x},${y}`);
            }
        }
    }
});

test('a thumb that trembles where the loupe flips does not make it jump', () => {
    const room = { left: -12, top: -60, right: 378, bottom: 780 };
    const flips = (path) => {
        let [was, count] = [null, 0];
        for (const at of path) {
            const { side } = loupePlace(at, room, was);
            count += was !== null && side !== was ? 1 : 0;
            was = side;
        }
        return count;
    };
    const tremble = (x, y, by) => Array.from({ length: 100 }, (_, i) => [x + by[0] * (i % 2), y + by[1] * (i % 2)]);
    assert.ok(flips(tremble(183, 121, [0, 6])) <= 1, 'up and down');
    assert.ok(flips(tremble(180, 20, [6, 0])) <= 1, 'to and fro');
    assert.ok(flips([[183, 300], [183, 60], [183, 300]]) === 2, 'it does flip');
});
