/** The fields of a part: those of its sort, its maker's limits folded away, and none that belongs to another sort. */

import { h } from '../dom.js';

/**
 * Groups the inputs of a part below what says its sort. `given` are pairs of a field and its input; `noted` says which
 * fields hold something, and stay whatever the sort. Returns the elements and which fields are shown now.
 */
export function ofSort(given, noted) {
    const [first, limits, more] = [[], [], []];
    given.forEach((pair) => (['name', 'what'].includes(pair[0].field) ? first : pair[0].limit ? limits : more).push(pair));
    const what = first.map(([, input]) => input.querySelector('select[name="what"]')).find(Boolean);
    const belongs = ({ field, sorts }) => noted(field) || !sorts || sorts.includes(what.value);
    const folded = h('details', {}, h('summary', {}, 'Maker\'s limits, where you know them'), limits.map(([, input]) => input));
    const show = () => {
        given.forEach(([field, input]) => { input.hidden = !belongs(field); });
        folded.hidden = limits.every(([field]) => !belongs(field));
    };
    what.addEventListener('change', show);
    show();
    const about = h('details', {}, h('summary', {}, 'More about it'), more.map(([, input]) => input));
    return { elements: [first.map(([, input]) => input), about, folded], shown: (name) => given.some(([field]) => field.field === name && belongs(field)) };
}
