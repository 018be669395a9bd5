/** Wind and weather in one touch, and any other words: they go with the end as its note. */

import { h, button } from '../../dom.js';

const WORDS = ['wind from the left', 'wind from the right', 'gusts', 'rain'];

/** Returns the touches, and the note behind them. */
export function conditions(end) {
    const text = h('textarea', { rows: 2, 'aria-label': 'Note', oninput: () => say(text.value) });
    text.value = end.draft.note ?? '';
    const parts = () => (end.draft.note ?? '').split(', ').filter(Boolean);
    const touches = WORDS.map((words) => button(words, () => {
        const now = parts();
        say((now.includes(words) ? now.filter((part) => part !== words) : [...now, words]).join(', '));
        text.value = end.draft.note;
    }));
    const show = () => touches.forEach((touch, i) => touch.setAttribute('aria-pressed', String(parts().includes(WORDS[i]))));
    const say = (note) => {
        end.draft.note = note;
        end.save();
        show();
    };
    show();
    return h('div', { class: 'conditions' }, h('div', { class: 'buttons', role: 'group', 'aria-label': 'Wind and weather' }, touches), h('details', {}, h('summary', {}, 'Note'), text));
}
