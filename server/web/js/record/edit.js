/** What can be put right in a record that was kept, and the way back for one that was taken out of use. */

import { h, button, field, line, paragraphs } from '../dom.js';
import { form, moment, text, tried, typedMoment, wall, written } from './form.js';

/** Makes what says how something went; it takes the focus once it is on the screen. */
export function said(words, ...more) {
    return h('div', { class: 'card kept', role: 'status', tabindex: -1 }, paragraphs(words), more);
}

/** Makes the form that alters a record's note, time and count; `done` gets what the model says. */
export function editor(app, { kind, id, at, note, count }, fields, done) {
    const words = { note: 'Note', text: 'Words', count: 'How many arrows' };
    const was = (name) => String((name === 'count' ? count : note) ?? '');
    const input = (name) => (name === 'count' ? line(was(name), { name, inputmode: 'numeric' }) : text(note, { name }));
    const areas = fields.filter((name) => name !== 'at').map((name) => [name, input(name)]);
    return form({}, (made) => tried(app, made, async () => {
        const set = Object.fromEntries(areas.filter(([name, area]) => area.value !== was(name)).map(([name, area]) => [name, area.value]));
        const typed = made.querySelector('[name=at]')?.value;
        if (typed !== undefined && typed !== wall(at)) set.at = typedMoment(typed) ?? '';
        const told = await app.call('set', { kind, id, fields: set });
        written(app);
        await done(told.words);
    }), areas.map(([name, area]) => field(words[name], area)), fields.includes('at') && moment('When it was', at),
    button('Keep what is altered', null, 'main', { type: 'submit' }));
}

/** Makes a button that asks once more before it does what cannot be taken back by a touch, or does much at once. */
export function asking(words, sure, kind, work) {
    const place = h('div', { class: 'buttons' });
    const ask = (focus) => {
        const first = button(words, () => {
            const yes = button(sure, work, 'main');
            place.replaceChildren(yes, button('No', () => ask(true)));
            yes.focus();
        }, kind);
        place.replaceChildren(first);
        if (focus) first.focus();
    };
    ask(false);
    return place;
}

/** Makes the button that takes a record out of use; what follows says so, with the way back beside it. */
export function remover(app, { kind, id }, words, place, done) {
    return button(words, () => tried(app, place, () => retire(app, { kind, id }, true, done)), 'danger');
}

/** Takes a record out of use or back; `done` gets the words, and once it is out the button that brings it back. */
export async function retire(app, { kind, id }, retired, done) {
    const { words } = await app.call('retire', { kind, id, retired });
    written(app);
    const back = retired ? button('Bring it back', () => tried(app, back, () => retire(app, { kind, id }, false, done)), 'main') : null;
    await done(words, back);
}
