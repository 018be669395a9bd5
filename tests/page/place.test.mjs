/** A six-arrow end costs seven touches, and an arrow is recorded where the touch was felt. */

import assert from 'node:assert/strict';
import test from 'node:test';
import { sides, thumb, touchesAndGeometry } from './lib/measures.mjs';
import { Stage } from './lib/stage.mjs';

test('touches, geometry and room while shooting', { timeout: 300_000 }, async (t) => {
    const stage = await Stage.set();
    const { hand } = stage;
    await hand.begin();
    const { touches, worst_mm } = await touchesAndGeometry(hand);
    t.diagnostic(`${touches} touches, ${worst_mm.toFixed(3)} mm off at worst`);
    assert.ok(touches <= 7, `${touches} touches`);
    assert.ok(worst_mm <= 0.1, `${worst_mm} mm off`);
    await hand.arrow([0, 0]);
    const { all, main, mark } = await sides(hand);
    assert.ok(all >= 51.95, `${all} px`);
    assert.ok(main >= 60, `${main} px`);
    assert.ok(mark >= 11, `${mark} px`);
    await hand.nothingIsCut();
    await stage.clear();
});

test('the modelled thumb places within its bars', async () => {
    const { large_mm, small_mm } = await thumb();
    assert.ok(large_mm <= 4, `${large_mm} mm on a face of 122 cm`);
    assert.ok(small_mm <= 1.5, `${small_mm} mm on a face of 40 cm`);
});

test('the whole page is in reach without dragging: an end by tap and tap, and one typed', { timeout: 300_000 }, async () => {
    const stage = await Stage.set();
    const { hand } = stage;
    await hand.begin();
    await hand.touch('Tap, tap');
    const middle = () => hand.evaluate(`() => { const b = document.querySelector('.pane').getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]; }`);
    await hand.evaluate(`() => document.querySelector('.pane').scrollIntoView({ block: 'center', behavior: 'instant' })`);
    await hand.browser.tap(...await middle());
    await hand.until('the part is shown large', `() => document.querySelector('.pane.zoomed')`);
    await hand.browser.tap(...await middle());
    await hand.sees('arrow 2 of');
    await hand.touch('Type');
    await hand.fill('Arrows of the end', '9@4:30 X@2 M');
    await hand.touch('Add');
    await hand.sees('arrow 5 of');
    const rings = await hand.until('the model has said what they are', `() => {
        const all = [...document.querySelectorAll('.strip .ring-of')].map((e) => e.textContent);
        return all.length === 4 && !all.includes('…') && all.join(' ');
    }`);
    assert.equal(rings, 'X 9 X M');
    await hand.touch('Finish');
    await hand.sees('End 2');
    await stage.holds(1, 4);
    await stage.clear();
});
