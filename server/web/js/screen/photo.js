/** From a picture: the arrows of the end under way, placed on a picture of its face. */

import { h, button } from '../dom.js';
import { photo } from '../place/photo.js';

const DRAFT = 'shoot';
/** Where the picture of the end under way is kept, on this phone. */
const PICTURE = 'shoot';

/** Shows the screen; the end is that of the screen `shoot`, and goes on there. */
export async function show(root, app) {
    const draft = await app.drafts.take(DRAFT);
    if (!draft?.face) {
        app.go('shoot');
        return;
    }
    app.busy = true;
    const kept = draft.picture ? await app.store.picture(PICTURE).catch(() => undefined) : undefined;
    const save = (change) => {
        Object.assign(draft, change);
        app.drafts.put(DRAFT, draft).catch(app.fail);
    };
    const { face } = draft;
    const place = photo({
        face,
        arrows: draft.shot ?? [],
        mode: localStorage.getItem('sheaf-placing') === 'tap' ? 'tap' : 'press',
        shaft_mm: draft.shaft_mm,
        of: draft.arrows_per_end,
        picture: kept,
        taps: kept ? draft.picture.taps : undefined,
        compute: (method, input) => app.call('compute', { method, input }),
        look: (arrows) => app.call('look', { face: face.code, shaft_mm: draft.shaft_mm, distance_m: draft.distance_m, arrows, units: app.units }),
        typed: async (text) => (await app.call('typed', { face: face.code, text })).arrows,
        keepPicture: (blob) => app.store.putPicture(PICTURE, blob),
        ontaps: (taps) => save({ picture: { taps } }),
        onchange: (shot, seen) => { if (!seen) save({ shot }); },
        onerror: app.fail,
    });
    root.append(h('h1', { tabindex: -1 }, 'Arrows from a picture'), place,
        h('div', { class: 'buttons' }, button('To the end', () => app.go('shoot'), 'main'),
            button('Undo', () => place.surface()?.undo())));
}
