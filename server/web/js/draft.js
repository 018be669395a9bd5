/** Drafts: what is under way on a screen, kept at every touch, so that a killed page comes back where it was. */

import { recall, remember } from './remember.js';
import * as store from './store.js';

const held = new Map();
let writing = Promise.resolve();
let refused = false;

const beside = (name) => `sheaf-draft-${name}`;

/** Returns the draft of a screen, or null. Throws where the disk cannot be read: what is there is not to be written over. */
export async function take(name) {
    if (held.has(name)) return held.get(name);
    const value = (await onDisk(name)) ?? null;
    // What was put meanwhile is newer.
    if (!held.has(name)) held.set(name, value);
    return held.get(name);
}

/** Returns what is kept of a draft; where the store once refused it, the newer one lies beside it. */
async function onDisk(name) {
    const text = recall(beside(name));
    if (text) {
        try {
            return JSON.parse(text);
        } catch {
            remember(beside(name), null);
        }
    }
    return store.draft(name);
}

/** Whether another tab has gone on from a draft: what is kept under its name bears another mark. */
export async function overtaken(name, mark) {
    await writing.catch(() => {});
    // What could be kept nowhere says nothing of another tab.
    if (refused) return false;
    const kept = await onDisk(name).catch(() => undefined);
    return kept?.mark !== undefined && kept.mark !== mark;
}

/** Forgets what is held of the drafts, so that they are read anew from the disk. */
export function forget() {
    held.clear();
}

/** Keeps the draft of a screen; null lets go of it. Resolves when it is on the disk. */
export function put(name, value) {
    held.set(name, value);
    writing = writing.catch(() => {}).then(async () => {
        try {
            await store.putDraft(name, value);
            remember(beside(name), null);
            refused = false;
        } catch (e) {
            // A full or lost store: the small text beside it may still take a draft.
            refused = !remember(beside(name), value === null ? null : JSON.stringify(value));
            if (refused) throw e;
        }
    });
    return writing;
}
