/** The arrows of the end as a row: ring, number and marks; a touch on one opens what can be said of it. */

import { h, button, line } from '../../dom.js';

/** Returns the draft of the next end, shot with the same. */
export function blank({ asked, face, shaft_mm, distance_m, arrows_per_end, end_number, title }) {
    return { asked, face, shaft_mm, distance_m, arrows_per_end, end_number: end_number + 1, title, shot: [], note: '' };
}

/** Returns the buttons of the arrows that are placed, and room for those that are to come. */
export function slots(end) {
    const { shot, arrows_per_end } = end.draft;
    const placed = shot.map((arrow, i) => {
        const told = end.told?.arrows?.[i];
        const ring = arrow.mm === null ? 'M' : (told?.ring ?? '·');
        const marks = [arrow.number && `n° ${arrow.number}`, arrow.flyer && 'flyer', arrow.bare && 'bare'].filter(Boolean).join(', ');
        return button([h('span', { class: 'ring-word' }, ring), marks && h('small', {}, marks)], () => open(end, i), 'slot', {
            'aria-label': `Arrow ${i + 1}: ${told?.words ?? ring}${marks ? `, ${marks}` : ''}. Alter it`,
        });
    });
    const open_ = Array.from({ length: Math.max(0, arrows_per_end - shot.length) }, () => h('span', { class: 'slot empty', 'aria-hidden': 'true' }, '·'));
    return [...placed, ...open_];
}

function open(end, i) {
    const arrow = end.draft.shot[i];
    const dialog = h('dialog', { class: 'sheet', 'aria-label': `Arrow ${i + 1}` });
    const close = () => { dialog.close(); dialog.remove(); };
    const flag = (words, name) => button(words, () => { end.alter(i, { [name]: !arrow[name] }); close(); }, 'plain', { 'aria-pressed': String(Boolean(arrow[name])) });
    const number = line(arrow.number ?? '', { 'aria-label': 'Number on the shaft', size: 6, onchange: () => end.alter(i, { number: number.value.trim() || undefined }) });
    dialog.append(h('h2', {}, `Arrow ${i + 1}${end.told?.arrows?.[i] ? `: ${end.told.arrows[i].words}` : ''}`),
        h('div', { class: 'buttons' }, flag('Flyer', 'flyer'), flag('Bare shaft', 'bare'),
            arrow.mm !== null && button('Move it', () => { end.surface.choose(i); close(); })),
        h('div', { class: 'field' }, h('label', {}, 'Number on the shaft', number)),
        numbers(end, i, close),
        h('div', { class: 'buttons' }, button('Take it out', () => { end.alter(i, null); close(); }, 'danger'), button('Done', close, 'main')));
    dialog.addEventListener('cancel', () => dialog.remove());
    document.body.append(dialog);
    dialog.showModal();
}

/** The numbers of the set, a touch each. */
function numbers(end, i, close) {
    const count = Math.min(end.frame?.arrows?.count ?? 0, 24);
    if (count === 0) return null;
    return h('div', { class: 'buttons numbers' }, Array.from({ length: count }, (_, n) =>
        button(String(n + 1), () => { end.alter(i, { number: String(n + 1) }); close(); }, 'plain', { 'aria-pressed': String(end.draft.shot[i].number === String(n + 1)) })));
}
