/** The end under way, placed on a picture of the face. The picture stays on this phone. */

import { h, button } from '../dom.js';
import { photo } from '../place/photo.js';
import { lastMode } from './shoot/modes.js';
import { questions } from './shoot/questions.js';

const DRAFT = 'shoot';

/** Shows the picture of the end under way, or how to take one. */
export async function show(root, app) {
    const draft = await app.drafts.take(DRAFT);
    if (!draft?.face) {
        root.append(h('h1', { tabindex: -1 }, 'From a picture'), h('p', {}, 'Choose bow, distance and face first.'), button('To shooting', () => app.go('shoot'), 'main'));
        return;
    }
    // The picture lies under the id of its end.
    draft.id ??= (await app.call('new_id')).id;
    const told = h('p', { class: 'told figures', 'aria-live': 'polite' });
    const keep = (what) => {
        Object.assign(draft, what);
        app.busy = draft.shot.length > 0;
        return app.drafts.put(DRAFT, draft).catch(app.fail);
    };
    const place = photo({
        face: draft.face,
        arrows: draft.shot,
        shaft_mm: draft.shaft_mm,
        of: draft.arrows_per_end,
        mode: lastMode(),
        compute: (method, input) => app.call('compute', { method, input }),
        ...questions(app, () => draft),
        picture: await app.store.picture(draft.id).catch(() => undefined),
        keepPicture: (blob) => app.store.putPicture(draft.id, blob),
        taps: draft.taps,
        ontaps: (taps) => keep({ taps }),
        onchange: (arrows, seen) => {
            if (seen) told.textContent = seen.words;
            else keep({ shot: arrows });
        },
        onerror: app.fail,
    });
    root.append(h('h1', { tabindex: -1 }, 'From a picture'), place, told,
        h('div', { class: 'buttons' }, button('Back to the end', () => app.go('shoot'), 'main'), button('Undo', () => place.surface()?.undo())));
}
