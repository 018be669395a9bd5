/**
 * The worker: the model and the records. What a call wrote is on the disk before the call is answered; where the disk
 * refuses it the model begins anew from what is there, so that nothing is shown as kept that is not.
 */

import * as instance from './instance.js';
import * as store from './store.js';

let card = null;
let begun = null;
let held = null;

class Told extends Error {
    constructor(code, message, field) {
        super(message);
        this.code = code;
        this.field = field ?? null;
    }
}

/** Starts the model from what is on the disk. Until that has come to its end nothing is asked of it. */
function begin() {
    begun = load();
    begun.catch(() => { begun = null; });
    return begun;
}

async function load() {
    held ??= alone();
    await held;
    await instance.start();
    card = (await store.slip('card')) ?? null;
    if (!card) return;
    const have = (await store.slip('have')) ?? {};
    checked(instance.ask('open', { card, have }));
    let seen = 0;
    await store.eachPage(card.team, (entries) => {
        seen += entries.length;
        checked(instance.ask('load', {}, entries));
        if (entries.length >= 1000) postMessage({ progress: { loaded: seen } });
    });
    const counted = (await store.slip('counted')) ?? 0;
    if (seen < counted) postMessage({ lost: { counted, found: seen } });
}

function checked(answer) {
    if (answer.error) throw new Told(answer.error.code, answer.error.message, answer.error.field);
    return answer.output;
}

/** One tab writes: two would give one number to two entries. */
function alone() {
    if (!navigator.locks) return Promise.resolve();
    return new Promise((resolve) => {
        const timer = setTimeout(() => postMessage({ elsewhere: true }), 1500);
        const go = () => {
            clearTimeout(timer);
            postMessage({ elsewhere: false });
            resolve();
        };
        // A browser that grants no locks here leaves it to the store, which takes no number twice.
        navigator.locks.request('sheaf-records', () => {
            go();
            return new Promise(() => {});
        }).catch(go);
    });
}

/** Writes everything anew that the model holds: the store was emptied while the page was open. */
async function rewrite() {
    if (!card) return null;
    const all = instance.ask('whole', {});
    checked(all);
    await store.keep(card.team, all, null);
    postMessage({ rewritten: true });
    return null;
}

async function called(name, input) {
    if (name === 'rewrite') return rewrite();
    if (card && (name === 'start' || name === 'start_from')) {
        throw new Told('open_already', `This phone holds the records of ${card.team_name} already.`);
    }
    if (name === 'carry' && card?.carry) {
        input.entries = [];
        await store.eachPage(card.carry.team, (texts) => { input.entries.push(...texts); });
    }
    let answer;
    try {
        answer = instance.ask(name, input);
    } catch (e) {
        await begin();
        const message = `The model stopped on this (${e.message}). It was started anew; everything that was kept is there.`;
        throw new Told('model_stopped', message);
    }
    if (answer.fresh || answer.card || answer.gone) await keep(answer);
    return checked(answer);
}

async function keep(answer) {
    const team = (answer.card ?? card).team;
    try {
        await store.keep(team, answer, card).catch((e) => {
            if (e?.kind !== 'gone' || team !== card.team) throw e;
            return rewrite();
        });
    } catch (e) {
        await begin();
        if (e instanceof store.StrangeStore) {
            throw new Told('elsewhere', 'Another tab or window of this phone has begun or joined a team meanwhile: load this page anew. Nothing was kept of this step.');
        }
        throw e?.name === 'QuotaExceededError'
            ? new Told('storage_full', 'This phone has no room left for the record: nothing was kept of this step, and your draft stays. Free some space (pictures, other sites), then try again.')
            : new Told('storage', `The phone's store refused the record (${e?.name ?? e}). Your draft stays; try again, and export a file under "This phone" if it happens again.`);
    }
    if (answer.card) card = answer.card;
}

let turn = Promise.resolve();

onmessage = ({ data: { id, name, input } }) => {
    turn = turn.then(async () => {
        try {
            await (begun ?? begin());
            postMessage({ id, output: await called(name, input) });
        } catch (e) {
            const error = { code: e.code ?? 'trouble', message: e.message ?? String(e), field: e.field ?? null };
            postMessage({ id, error });
        }
    });
};

postMessage({ here: true });
