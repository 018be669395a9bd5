/** Wind and weather in one touch, and any other words: they go with the end as its note. */

import { h, fill, button } from '../../dom.js';

const WORDS = ['wind from the left', 'wind from the right', 'gusts', 'rain'];

/** Returns the touches, and the note behind them. */
export function conditions(end) {
    const touches = h('div', { class: 'buttons', role: 'group', 'aria-label': 'Wind and weather' });
    const text = h('textarea', { rows: 2, 'aria-label': 'Note', oninput: () => say(text.value) });
    text.value = end.draft.note ?? '';
    const parts = () => (end.draft.note ?? '').split(', ').filter(Boolean);
    const draw = () => fill(touches, ...WORDS.map((words) => button(words, () => {
        const now = parts();
        say((now.includes(words) ? now.filter((part) => part !== words) : [...now, words]).join(', '));
        text.value = end.draft.note;
    }, 'plain', { 'aria-pressed': String(parts().includes(words)) })));
    const say = (note) => {
        end.draft.note = note;
        end.save();
        draw();
    };
    draw();
    return h('div', { class: 'conditions' }, touches, h('details', {}, h('summary', {}, 'Note'), text));
}
