/**
 * What the phone keeps: entries as the texts of the model, slips (card, how far the server has come, counts), drafts and
 * pictures, in IndexedDB. A connection that the system has closed is opened again, once, before anything fails.
 */

const NAME = 'sheaf';
const VERSION = 1;
const PAGE = 1000;

let connection = null;

function open() {
    connection ??= new Promise((resolve, reject) => {
        const asked = indexedDB.open(NAME, VERSION);
        asked.onupgradeneeded = () => {
            for (const name of ['entries', 'slips', 'drafts', 'pictures']) asked.result.createObjectStore(name);
        };
        asked.onsuccess = () => {
            const db = asked.result;
            db.onclose = () => { connection = null; };
            db.onversionchange = () => { db.close(); connection = null; };
            resolve(db);
        };
        asked.onerror = () => { connection = null; reject(asked.error); };
        asked.onblocked = () => { connection = null; reject(new Error('the store is held by another tab')); };
    });
    return connection;
}

/** Runs a transaction; `work` gets it and returns a request, or nothing, whose result is the answer. */
async function run(stores, mode, work) {
    try {
        return await attempt(stores, mode, work);
    } catch (e) {
        if (e?.name !== 'InvalidStateError' && e?.name !== 'UnknownError' && e?.name !== 'AbortError') throw e;
        connection = null;
        return attempt(stores, mode, work);
    }
}

async function attempt(stores, mode, work) {
    const db = await open();
    return new Promise((resolve, reject) => {
        const act = db.transaction(stores, mode, { durability: 'strict' });
        let request;
        act.oncomplete = () => resolve(request?.result);
        // What was still asked for when the work gave up fails with it, before there is a reason.
        act.onerror = () => reject(act.error ?? request?.error ?? new DOMException('the store gave up', 'AbortError'));
        act.onabort = () => reject(act.error ?? new DOMException('the store gave up', 'AbortError'));
        request = work(act);
    });
}

const all = (team) => IDBKeyRange.bound([team], [team, []]);

/** Hands the entries of a team out in pages, each log in order. */
export async function eachPage(team, take) {
    let range = all(team);
    for (;;) {
        let texts, keys;
        await run(['entries'], 'readonly', (act) => {
            const store = act.objectStore('entries');
            store.getAll(range, PAGE).onsuccess = (e) => { texts = e.target.result; };
            store.getAllKeys(range, PAGE).onsuccess = (e) => { keys = e.target.result; };
        });
        if (texts.length > 0) await take(texts);
        if (texts.length < PAGE) return;
        range = IDBKeyRange.bound(keys.at(-1), [team, []], true);
    }
}

/** The store is not as this page knows it: `gone` when the card is not there any more, `other` when it is another one. */
export class StrangeStore extends Error {
    constructor(kind) {
        super(kind === 'gone' ? 'the store was emptied' : 'the store holds the records of another page');
        this.kind = kind;
    }
}

/** Whether two cards are of one team and device, or both are none. */
export const sameCard = (one, other) => one?.team === other?.team && one?.device === other?.device;

/**
 * Keeps what a call wrote, in one transaction: entries, the card, how far the server has come. Only where `mine` is the
 * card that lies there: a store that was emptied would hold the end of a log alone, and another page's is not to be
 * written over.
 */
export async function keep(team, answer, mine) {
    let strange = null;
    try {
        await run(['entries', 'slips'], 'readwrite', (act) => {
            strange = null;
            act.objectStore('slips').get('card').onsuccess = ({ target }) => {
                if (sameCard(target.result, mine)) return write(act, team, answer);
                strange = target.result ? 'other' : 'gone';
                return act.abort();
            };
        });
    } catch (e) {
        throw strange ? new StrangeStore(strange) : e;
    }
}

function write(act, team, { fresh = [], gone, card, have }) {
    const entries = act.objectStore('entries');
    if (gone) entries.delete(IDBKeyRange.bound([team, gone.device, gone.after], [team, gone.device, []], true));
    for (const text of fresh) {
        const { device, seq } = JSON.parse(text);
        add(act, entries, [team, device, seq], text);
    }
    if (card) act.objectStore('slips').put(card, 'card');
    if (have) act.objectStore('slips').put(have, 'have');
    entries.count(all(team)).onsuccess = ({ target }) => { act.objectStore('slips').put(target.result, 'counted'); };
}

/** Adds an entry. One that is there already is no harm; another one of that number is, and nothing of it all is kept. */
function add(act, entries, key, text) {
    entries.add(text, key).onerror = (event) => {
        event.preventDefault();
        event.stopPropagation();
        entries.get(key).onsuccess = ({ target }) => { if (target.result !== text) act.abort(); };
    };
}

/** Returns a slip, or undefined. */
export const slip = (name) => run(['slips'], 'readonly', (act) => act.objectStore('slips').get(name));
/** Keeps a slip. */
export const putSlip = (name, value) => run(['slips'], 'readwrite', (act) => { act.objectStore('slips').put(value, name); });

/** Returns the draft of a screen, or undefined. */
export const draft = (name) => run(['drafts'], 'readonly', (act) => act.objectStore('drafts').get(name));
/** Keeps the draft of a screen; null lets go of it. */
export function putDraft(name, value) {
    return run(['drafts'], 'readwrite', (act) => {
        if (value === null) act.objectStore('drafts').delete(name);
        else act.objectStore('drafts').put(value, name);
    });
}

/** Returns a picture, or undefined. */
export const picture = (name) => run(['pictures'], 'readonly', (act) => act.objectStore('pictures').get(name));
/** Keeps a picture; it never leaves the phone. */
export const putPicture = (name, blob) => run(['pictures'], 'readwrite', (act) => { act.objectStore('pictures').put(blob, name); });
/** Returns how many pictures are kept. */
export const countPictures = () => run(['pictures'], 'readonly', (act) => act.objectStore('pictures').count());
/** Lets go of all pictures. */
export const dropPictures = () => run(['pictures'], 'readwrite', (act) => { act.objectStore('pictures').clear(); });
