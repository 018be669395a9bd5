/** Drafts: what is under way on a screen, kept at every touch, so that a killed page comes back where it was. */

import * as store from './store.js';

const held = new Map();
let writing = Promise.resolve();

/** Returns the draft of a screen, or null. */
export async function take(name) {
    if (held.has(name)) return held.get(name);
    // Where the store once refused it, the newer one lies beside it.
    let value = JSON.parse(localStorage.getItem(`sheaf-draft-${name}`) ?? 'null');
    value ??= (await store.draft(name).catch(() => null)) ?? null;
    held.set(name, value);
    return value;
}

/** Keeps the draft of a screen; null lets go of it. Resolves when it is on the disk. */
export function put(name, value) {
    held.set(name, value);
    writing = writing.catch(() => {}).then(async () => {
        try {
            await store.putDraft(name, value);
            localStorage.removeItem(`sheaf-draft-${name}`);
        } catch (e) {
            // A full or lost store: the small text beside it may still take a draft.
            try {
                if (value === null) localStorage.removeItem(`sheaf-draft-${name}`);
                else localStorage.setItem(`sheaf-draft-${name}`, JSON.stringify(value));
            } catch {
                throw e;
            }
        }
    });
    return writing;
}
