import assert from 'node:assert/strict';
import test from 'node:test';
import { capital, typedMoment, wall } from '../js/record/form.js';
import { asked, gathered } from '../js/record/gathered.js';

const plunger = { setting: 'plunger_turns', name: 'plunger' };
const tiller = { setting: 'tiller_mm', name: 'tiller' };

test('steps of one setting add up, in the place where the first stood', () => {
    let list = gathered([], plunger, { by: 0.25 }, '+1/4 turn');
    list = gathered(list, tiller, { to: '4' }, '4 mm');
    list = gathered(list, plunger, { by: 0.5 }, '+1/2 turn');
    assert.deepEqual(list, [
        { ...plunger, by: 0.75, words: '+1/4 turn, +1/2 turn' },
        { ...tiller, to: '4', words: '4 mm' },
    ]);
});

test('a tenth three times is three tenths', () => {
    let list = [];
    for (let n = 0; n < 3; n += 1) list = gathered(list, tiller, { by: 0.1 }, '+0.1 mm');
    assert.equal(list[0].by, 0.3);
});

test('steps that come to nothing are gone', () => {
    const list = gathered(gathered([], plunger, { by: 0.25 }, '+1/4 turn'), plunger, { by: -0.25 }, '−1/4 turn');
    assert.deepEqual(list, []);
});

test('a value that is said takes the place of steps, and a step that of a value', () => {
    const said = gathered(gathered([], plunger, { by: 0.25 }, '+1/4 turn'), plunger, { to: '3 1/4' }, '3 1/4 turns');
    assert.deepEqual(asked(said), [{ setting: 'plunger_turns', to: '3 1/4' }]);
    assert.deepEqual(asked(gathered(said, plunger, { by: 0.25 }, '+1/4 turn')), [{ setting: 'plunger_turns', by: 0.25 }]);
});

test('a value that is empty goes to the model, which says what is missing', () => {
    assert.deepEqual(asked(gathered([], plunger, { to: '' }, '')), [{ setting: 'plunger_turns', to: '' }]);
});

test('a moment is shown as the wall had it where it was, and read back as it was typed', () => {
    assert.equal(wall('2026-04-12T10:30:15+02:00'), '2026-04-12T10:30');
    assert.equal(wall(null), '');
    assert.equal(typedMoment('2026-04-12T10:30'), '2026-04-12 10:30');
    assert.equal(typedMoment(' '), undefined);
});

test('a sentence begins with a capital, be it empty', () => {
    assert.equal(capital('brace height'), 'Brace height');
    assert.equal(capital(''), '');
});
