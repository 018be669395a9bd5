/** What wears: arrows seen by each part, reminders that are due or to be set, and arrows shot without being placed. */

import { h, button, choice, field, line } from '../../dom.js';
import { form, moment, text, tried, valuesOf, written } from '../../record/form.js';

/** Makes the section; `care` shows each caution once. */
export function wearSection({ wear: rows }, care, bow, app) {
    return h('section', { class: 'wear' }, h('h2', {}, 'Wear'),
        rows.length > 0
            ? h('ul', { class: 'rows setup' }, rows.map((row) => worn(row, care, bow, app)))
            : h('p', {}, 'Nothing is noted that wears. Note string, limbs, tab and arrows as a change; what they see is counted from then on.'),
        counter(bow, app));
}

/** A thing that wears. What is due is said like a caution, the rest quietly. */
function worn(row, care, bow, app) {
    const { part, name, words, due, reminder, how, caution } = row;
    const urgent = due === 'soon' || due === 'now';
    return h('li', {},
        h('div', { class: 'set' }, h('span', {}, part), h('strong', {}, name), h('span', { class: 'soft small-words' }, words)),
        urgent && care.once(reminder),
        row.kind && reminding(row, bow, app),
        how && h('details', {}, h('summary', {}, `A reminder for ${name}`), h('p', {}, how)),
        care.once(caution));
}

/** Sets the number at which the archer wants to be reminded. */
function reminding({ kind, id, name, remind_at: at, reminder, due }, bow, app) {
    const after = line(at ?? '', { inputmode: 'numeric', name: 'remind_at_arrows' });
    return h('details', {}, h('summary', {}, at ? `Reminder for ${name}` : `Set a reminder for ${name}`),
        reminder && due === 'later' && h('p', { class: 'soft' }, reminder),
        form({}, (made) => tried(app, made, async () => {
            const { words } = await app.call('set', { kind, id, fields: { remind_at_arrows: after.value } });
            await done(app, bow, words);
        }), field(`Arrows of ${name} until the reminder`, after, 'Empty is no reminder.'), button(`Keep the reminder for ${name}`, null, 'main', { type: 'submit' })));
}

/** Counts arrows that were shot without being placed. */
function counter(bow, app) {
    const inside = h('div', { class: 'inside' });
    const details = h('details', { ontoggle: () => { if (details.open && !inside.firstChild) app.attempt(() => fill(inside, bow, app)); } },
        h('summary', {}, 'Arrows shot without placing'), inside);
    return details;
}

async function fill(inside, bow, app) {
    const { things: sets } = await app.call('things', { kind: 'arrows' });
    const { id } = await app.call('new_id');
    const one = [{ id: '', name: 'the set on the bow' }, ...sets];
    inside.replaceChildren(form({}, (made) => tried(app, made, async () => {
        const { count, arrows, at, note } = valuesOf(made);
        const { words } = await app.call('practice', { id, bow: bow.id, count, arrows: arrows || undefined, at: at || undefined, note });
        await done(app, bow, words);
    }),
    h('p', { class: 'soft' }, 'They count for the wear alone; no group and no verdict counts them.'),
    field('How many arrows', line('', { inputmode: 'numeric', name: 'count' })),
    sets.length > 0 && field('Of which set', choice(one, '', { name: 'arrows' })),
    moment('When they were shot', '', {}, 'Empty is now.'),
    field('Note', text('', { name: 'note' })),
    button('Keep the count', null, 'main', { type: 'submit' })));
}

async function done(app, bow, words) {
    written(app);
    app.say(words.join(' '));
    app.go(`bow?bow=${bow.id}`);
}
