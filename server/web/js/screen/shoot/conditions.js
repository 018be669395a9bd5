/** Wind and notes in one touch: words that go with the end. */

import { h, button } from '../../dom.js';

const WORDS = ['wind from the left', 'wind from the right', 'gusts', 'rain'];

/** Returns the touches, and the note behind them. */
export function conditions(end) {
    const place = h('details', { class: 'conditions' });
    const draw = () => {
        const said = end.draft.note ?? '';
        const text = h('textarea', { rows: 2, 'aria-label': 'Note', oninput: () => { end.draft.note = text.value; end.save(); } });
        text.value = said;
        const touches = WORDS.map((words) => button(words, () => {
            const parts = (end.draft.note ?? '').split(', ').filter(Boolean);
            end.draft.note = (parts.includes(words) ? parts.filter((p) => p !== words) : [...parts, words]).join(', ');
            end.save();
            draw();
        }, 'plain', { 'aria-pressed': String(said.split(', ').includes(words)) }));
        place.replaceChildren(h('summary', {}, said ? `Note: ${said}` : 'Wind, note'), h('div', { class: 'buttons' }, touches), text);
    };
    draw();
    return place;
}
