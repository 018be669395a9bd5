/** What an end is shot with: bow, archer, arrows, distance, face, sight; the last ones are there already. */

import { h, button, field, line, choice, once } from '../../dom.js';

/** Returns a draft with all of its parts, whatever version of the page wrote it; null for none. */
export function whole(draft) {
    if (!draft || typeof draft !== 'object') return null;
    const { face, shot, note, title, asked: use } = draft;
    const drawn = Array.isArray(face?.zones) && face.zones.length > 0 && face.radius_mm > 0 ? face : undefined;
    const list = Array.isArray(shot) ? shot.filter((arrow) => arrow && (arrow.mm === null || Array.isArray(arrow.mm))) : [];
    const id = list.length > 0 || draft.taps || draft.at || draft.mends ? draft.id : undefined;
    return { arrows_per_end: list.length, end_number: 1, ...draft, id, face: drawn, shot: list, note: String(note ?? ''), title: title ?? {}, asked: use ?? {} };
}

/** Whether the arrows of a draft lie where those of a kept end do, to the tenth of a millimetre that is kept. */
export const alike = (points_mm, shot) => points_mm.length === shot.length && shot.every(({ mm }, i) => (mm === null || points_mm[i] === null
    ? mm === points_mm[i] : mm.every((v, k) => Math.abs(v - points_mm[i][k]) < 0.051)));

/** Returns what tells one draft from another, before it has an id. */
export const mark = () => `${Date.now()} ${Math.random()}`;

/** Returns the draft of the next end, shot with the same. */
export function blank({ asked: use, title, face, shaft_mm, distance_m, arrows_per_end, end_number, at }) {
    // After one that was put right, what is shot next follows from the records again.
    if (at) return whole({ shot: [] });
    return { asked: use, title, face, shaft_mm, distance_m, arrows_per_end, end_number: end_number + 1, shot: [], note: '', mark: mark() };
}

/** Returns what an end is shot with: once it is under way, what was not noted stays so, whatever came in since. */
export function meant(draft) {
    const use = draft?.asked ?? {};
    return draft?.id && draft.shot.length > 0 ? { ...use, arrows: use.arrows ?? '', sight: use.sight ?? '' } : use;
}

/** Returns the part of a draft that follows from what the records say; what was said not to be noted stays so. */
export function asked(frame, use = {}) {
    const { bow, archer, arrows, distance_m, distance_words, face, sight, session, plan, shaft_mm, arrows_per_end, end_number } = frame;
    const left = (field) => (use[field] === '' ? '' : undefined);
    return {
        asked: { bow: bow.id, archer: archer.id, arrows: arrows?.id ?? left('arrows'), distance_m, face: face.code, sight: sight ?? left('sight'), session: session ?? undefined, plan: plan?.id },
        title: { bow: bow.name, distance: distance_words, face: face.name, arrows: arrows?.name, sight: sight ?? '' },
        face, shaft_mm, distance_m, arrows_per_end, end_number,
    };
}

/** A number alone is of the units that the user is told in; the model reads the unit. */
function inUnits(typed, units) {
    const words = typed.trim();
    return units === 'imperial' && /^[\d.,]+$/.test(words) ? `${words} yd` : words;
}

/** Adds a thing under Shoot. It stays chosen, so that it is not added again where something else is still wrong. */
const adder = (app, reveal) => async (kind, name, list) => {
    const { id } = await app.call('add', { kind, fields: { name: name.value } });
    list.prepend(h('option', { value: id }, name.value.trim()));
    list.value = id;
    reveal();
    return id;
};

/** Returns the form that alters what is shot with; `first` when nothing was ever shot. */
export function chooser(frame, app, take, first) {
    const { choices } = frame;
    const bow = choice([...choices.bows, { id: '', name: 'a new bow…' }], frame.bow?.id ?? choices.bows[0]?.id ?? '');
    const bowName = line('');
    const newBow = field('Name of the bow', bowName, 'For example the riser\'s nickname.');
    const arrows = choice([{ id: '', name: 'not noted' }, ...choices.arrows, { id: 'new', name: 'a new set…' }], frame.arrows?.id ?? '');
    const arrowsName = line('');
    const newArrows = field('Name of the arrow set', arrowsName);
    const distance = line(frame.distance_words ?? '', { inputmode: 'text', list: 'distances', placeholder: '18 m' });
    const face = choice(choices.faces.map(({ code, name }) => ({ id: code, name })), frame.face?.code ?? choices.faces[0]?.code);
    const archer = choice(choices.archers, frame.archer?.id);
    const sight = line(frame.sight ?? '', { placeholder: 'for example 34.5' });
    const reveal = () => { newBow.hidden = bow.value !== ''; newArrows.hidden = arrows.value !== 'new'; };
    bow.addEventListener('change', reveal);
    arrows.addEventListener('change', reveal);
    reveal();
    const added = adder(app, reveal);
    const use = once(() => app.attempt(async () => {
        const bowId = bow.value || await added('bow', bowName, bow);
        const set = arrows.value === 'new' ? await added('arrows', arrowsName, arrows) : arrows.value;
        // Empty is not noted; before the first end there is nothing to say so of. A sight that was left as it stands is
        // that of the bow, archer and distance before.
        const same = bowId === frame.bow?.id && archer.value === frame.archer?.id && distance.value.trim() === (frame.distance_words ?? '');
        const stands = sight.value.trim() === (frame.sight ?? '') && !same;
        const said = (value) => value || (first ? null : '');
        const given = { bow: bowId, archer: archer.value, arrows: said(set), distance_m: inUnits(distance.value, app.units) || null, face: face.value, sight: stands ? null : said(sight.value.trim()), plan: same ? frame.plan?.id : null };
        const found = await app.call('frame', given);
        if (!found.distance_m) throw new Error('How far is it? Give the distance with its unit, like 18 m or 20 yd.');
        await take(asked(found, given));
    }));
    return h('form', { onsubmit: (event) => { event.preventDefault(); use(); } },
        h('div', { class: 'two' },
            h('div', {}, field('Bow', bow), newBow, field('Distance', distance, app.units === 'imperial' ? 'In yards, or with its unit: 18 m.' : 'In metres, or with its unit: 20 yd.'), field('Face', face)),
            h('div', {}, field('Arrows', arrows), newArrows, !first && field('Archer', archer), field('Where the sight stands', sight, 'Write it anew whenever you move it: where groups lie is compared only while the sight stands.'))),
        h('datalist', { id: 'distances' }, choices.distances.map(({ words }) => h('option', { value: words }))),
        h('div', { class: 'buttons' }, button(first ? 'Begin to shoot' : 'Shoot with this', null, 'main', { type: 'submit' })));
}
