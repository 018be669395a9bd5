/** Baselines: setups of a bow under a name, to come back to. */

import { h, button, field, line } from '../dom.js';
import { form, tried, written } from './form.js';
import { outOfUse } from './out.js';
import { asking, remover } from './edit.js';

/** Returns the section; `change` is the screen it stands on. */
export function baselinesSection(change) {
    const kept = change.kept?.place === 'baseline' ? change.keptCard() : null;
    return h('section', {}, h('h2', {}, 'Baselines'), kept,
        change.baselines.length > 0
            ? h('div', { class: 'folds' }, change.baselines.map((baseline) => row(change, baseline)))
            : h('p', { class: 'soft' }, 'A baseline keeps the whole setup under a name, to come back to.'),
        saver(change),
        outOfUse(change.app, ['baseline'], (thing) => thing.fields.bow === change.bow.id, () => change.load()));
}

function row(change, baseline) {
    const { id, name, note, words, differs } = baseline;
    const place = h('div', { class: 'inside' });
    const all = h('details', {}, h('summary', {}, 'All that it holds'), h('p', {}, words));
    place.append(
        note ? h('p', { class: 'soft' }, note) : '',
        differs.length === 0 ? h('p', {}, 'The bow is set up so now.') : h('ul', {}, differs.map((line_) => h('li', {}, line_))),
        all, tolerances(change, baseline), differs.length > 0 ? putter(change, baseline) : '',
        h('div', { class: 'buttons' }, remover(change.app, { kind: 'baseline', id }, 'Take it out of use', place, (told, back) => change.tell(told, back))));
    return h('details', { class: 'fold' }, h('summary', {}, h('span', {}, h('strong', {}, name),
        h('span', { class: 'soft under' }, differs.length === 0 ? 'as the bow is now' : `${differs.length} ${differs.length === 1 ? 'setting differs' : 'settings differ'}`))), place);
}

/** How far off a setting may be after a rebuild, where the archer says so; an empty field is common practice. */
function tolerances(change, { id, tolerances: rows, tolerance_words: told }) {
    if (rows.length === 0) return '';
    const inputs = rows.map(({ setting, name, unit, own }) => [setting, line(own ?? '', { inputmode: 'decimal', dataset: { field: setting } }), `${name}, ${unit}`]);
    return h('details', {}, h('summary', {}, h('span', {}, 'Tolerances of your own', told && h('span', { class: 'soft under' }, told))),
        h('p', { class: 'hint' }, 'How far off it may be after a rebuild. Empty: common practice, no source.'),
        form({}, (made) => tried(change.app, made, async () => {
            const typed = Object.fromEntries(inputs.map(([setting, input]) => [setting, input.value]));
            const { words } = await change.app.call('tolerances', { bow: change.bow.id, baseline: id, tolerances: typed });
            written(change.app);
            await change.tell(words);
        }), inputs.map(([, input, words]) => field(words, input)), button('Keep these tolerances', null, 'main', { type: 'submit' })));
}

/** Putting it on alters several settings: one touch asks, the next notes it. */
function putter(change, { id, name, differs }) {
    const sure = differs.length === 1 ? `Yes, this setting is as in ${name} now` : `Yes, these ${differs.length} settings are as in ${name} now`;
    return asking('Put it on the bow', sure, 'main', () => tried(change.app, change.root, () => put(change, id)));
}

async function put(change, baseline) {
    const done = await change.app.call('put_baseline', { bow: change.bow.id, baseline, ...change.about() });
    written(change.app);
    // Where a part is by the records comes before what to take care of.
    await change.keep('baseline', { ...done, cautions: [...(done.remarks ?? []), ...done.cautions] }, { note: '', at: '' });
}

function saver(change) {
    const name = line('', { name: 'name' });
    const over = h('input', { type: 'checkbox', id: 'over' });
    return h('details', { class: 'fold' }, h('summary', {}, h('strong', {}, 'Save the setup of now as a baseline')),
        form({ class: 'inside' }, (made) => tried(change.app, made, async () => {
            const { words } = await change.app.call('save_baseline', { bow: change.bow.id, name: name.value, over: over.checked });
            written(change.app);
            await change.tell(words);
        }), field('Name of the baseline', name, 'For example indoor, or 70 m.'),
        h('label', { class: 'check' }, over, 'Write over the one that is called so; what it held stays in its history'), button('Save it', null, 'main', { type: 'submit' })));
}
