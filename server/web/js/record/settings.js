/** The settings of a bow in the order of the trade: each folds open to the steps by which it is altered. */

import { h, button, field, line } from '../dom.js';
import { capital, cautions, form } from './form.js';

/** How many of the settings that were altered last stand first. */
const LAST = 4;

/**
 * Returns the list. `change` is the screen: what is open, what was typed and gathered, and `alter(setting, {by|to}, words)`.
 */
export function settingsList(change) {
    const last = altered(change.settings);
    const others = change.settings.filter((setting) => !last.includes(setting));
    return [
        last.length > 0 && h('section', {}, h('h2', {}, 'Altered last'), h('div', { class: 'folds' }, last.map((setting) => row(change, setting)))),
        h('section', {}, last.length > 0 && h('h2', {}, 'All others'), h('div', { class: 'folds' }, others.map((setting) => row(change, setting)), own(change))),
    ];
}

/** The measured settings that were altered last: these are the likeliest to be altered next. */
function altered(settings) {
    const measured = settings.filter(({ unit, since }) => unit && since);
    return measured.sort((a, b) => (a.since < b.since ? 1 : -1)).slice(0, LAST);
}

function row(change, setting) {
    const { draft } = change;
    const place = h('div', { class: 'inside' });
    const open = draft.open.includes(setting.setting);
    const made = h('details', { class: 'fold', open, dataset: { setting: setting.setting }, ontoggle: () => {
        change.opened(setting.setting, made.open);
        if (made.open && !place.firstChild) place.append(...panel(change, setting));
    } }, h('summary', {}, h('span', { class: 'setting-head' }, h('strong', {}, title(change, setting)), value(change, setting))), place);
    if (open) place.append(...panel(change, setting));
    return made;
}

/** A part and its adjustment may share a name: the part says that it is one. */
function title({ settings }, { name, unit }) {
    const shared = settings.filter((other) => other.name === name).length > 1;
    return capital(shared && !unit ? `${name}, the part` : name);
}

/** What a setting is now and since when; what is gathered for it and not kept yet. */
function value(change, { setting, shown, since, gone }) {
    const gathered = change.draft.gathered.find((item) => item.setting === setting);
    return h('span', { class: 'value-now' }, shown ? h('strong', {}, shown) : h('span', { class: 'soft' }, 'not noted'),
        since && h('span', { class: 'soft under' }, `since ${since}`),
        gone && h('span', { class: 'soft under' }, gone),
        gathered && h('span', { class: 'under' }, h('strong', {}, `→ ${gathered.words}`)));
}

/** What a setting opens to; what is wrong is said in the part with the steps, not in the card of what was kept before. */
function panel(change, setting) {
    const { name, about, shown, unit, steps, parts, value: now } = setting;
    const kept = change.kept?.place === setting.setting ? change.keptCard() : null;
    const within = h('div');
    const touch = (by, words, props) => button(words, () => change.alter(setting, by, words, within), 'plain', props);
    within.append(...[
        shown && steps.length > 0 && h('div', { class: 'setting-steps' }, [...steps].sort(bySize).map(({ by, words }) => touch({ by }, words, { 'aria-label': `${name}: ${words}` }))),
        parts.length > 0 && h('div', { class: 'setting-steps' }, parts.map((part) => touch({ to: part.id }, part.name, { 'aria-pressed': String(part.id === now) }))),
        typed(change, setting, unit, within),
    ].filter(Boolean));
    return [
        kept,
        h('p', { class: 'soft' }, capital(about), shown ? '.' : '. What it is now is not noted yet. Was it so all along, it is no change, and nothing is judged by it.'),
        ...cautions(setting.cautions.filter((words) => !change.kept?.cautions?.includes(words))),
        within,
    ].filter(Boolean);
}

/** The small steps first, less on the left and more on the right. */
const bySize = (a, b) => Math.abs(a.by) - Math.abs(b.by) || a.by - b.by;

/** The field for any value: a number with a decimal point or comma or as a fraction, or a name. */
function typed(change, setting, unit, within) {
    const input = line(change.draft.typed[setting.setting] ?? '', {
        name: change.draft.several ? null : 'to', inputmode: unit === 'turns' || !unit ? 'text' : 'decimal', oninput: () => change.typed(setting.setting, input.value),
    });
    const or = (setting.shown && unit) || setting.parts.length > 0 ? 'or ' : '';
    const words = capital(unit ? `${or}what it is now, ${unit}` : `${or}its name`);
    const hint = unit === 'turns' ? 'For example 3 1/4 or 3,25' : null;
    return form(at(change), () => change.alter(setting, { to: input.value }, withUnit(input.value.trim(), unit), within), field(words, input, hint),
        !setting.shown && !change.draft.several && button('It was so all along', () => change.alter(setting, { to: input.value }, withUnit(input.value.trim(), unit), within, true), 'main'),
        send(change, setting));
}

/** Where the model says that something is wrong in a change of one setting. */
const at = (change) => (change.draft.several ? {} : { dataset: { field: 'set[0]' } });

const send = (change, setting) => {
    const words = setting && !setting.shown ? 'Altered to it now' : 'Note it';
    return button(change.draft.several ? 'Gather' : words, null, 'plain', { type: 'submit' });
};

/** A number that was typed without its unit gets it; words and other units stay. */
const withUnit = (said, unit) => (unit && /[\d½¼¾]$/.test(said) ? `${said} ${unit}` : said);

/** A setting that the list does not have. */
function own(change) {
    const { draft } = change;
    const kept = (key) => line(draft.own[key] ?? '', { name: draft.several ? null : key, oninput: (event) => { draft.own[key] = event.target.value; change.save(); } });
    const [name, input] = [kept('setting'), kept('to')];
    return h('details', { class: 'fold', open: Boolean(draft.own.setting) }, h('summary', {}, h('strong', {}, 'Something else')),
        form({ class: 'inside', ...at(change) }, (made) => change.alter({ setting: name.value, name: name.value }, { to: input.value }, input.value.trim(), made),
            field('What was altered', name, 'Its name ends in its unit: damper gr, button mm'), field('What it is now', input), send(change)));
}
