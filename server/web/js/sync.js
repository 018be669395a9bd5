/** Sync: on its own whenever it can, and by a button; what is only on this phone is always told. */

import { call } from './model.js';
import { send, ServiceError } from './service.js';
import * as store from './store.js';

/** The slip with the name of who comes in, until it is written. */
const ME = 'me';
const RETRY_MS = [15_000, 30_000, 60_000];

/** What the chip and the page of this phone show. */
export const state = { running: false, status: null, trouble: null, words: [], progress: null, last_ms: null, tried_ms: null };
const listeners = new Set();
let again = false;
let failures = 0;
let timer = null;

/** Hears every step. */
export function hear(listener) {
    listeners.add(listener);
    return () => listeners.delete(listener);
}

const told = () => listeners.forEach((listener) => listener(state));

/** Reads where this phone stands. */
export async function look() {
    state.status = await call('status');
    told();
    return state.status;
}

/** Syncs; where one is under way another follows it. Never throws: the trouble is in the state. */
export async function sync() {
    if (state.running) {
        again = true;
        return state;
    }
    clearTimeout(timer);
    // At once, so that a second touch follows this one and runs not beside it.
    state.running = true;
    try {
        const card = await store.slip('card');
        if (card?.server) await levelled();
    } catch (e) {
        Object.assign(state, { trouble: e, tried_ms: Date.now() });
        later(e);
    }
    Object.assign(state, { running: false, progress: null });
    await look().catch(() => {});
    if (again) {
        again = false;
        return sync();
    }
    return state;
}

async function levelled() {
    state.progress = null;
    told();
    await locked(level);
    Object.assign(state, { trouble: null, last_ms: Date.now() });
    failures = 0;
}

/** Two pages of this phone take turns. */
const locked = (work) => (navigator.locks ? navigator.locks.request('sheaf-sync', work) : work());

function later(e) {
    if (!(e instanceof ServiceError) || (e.kind !== 'offline' && e.kind !== 'busy')) return;
    const pause = Math.max(e.after_s * 1000, RETRY_MS[Math.min(failures, RETRY_MS.length - 1)]);
    failures += 1;
    timer = setTimeout(() => { if (document.visibilityState === 'visible') sync(); }, pause);
}

async function level() {
    let report = await exchange();
    const card = await store.slip('card');
    // Coming in was not finished when the page went: what was recorded before, and who this is, still come along.
    const me = await store.slip(ME);
    if (me || (card.carry && card.server.role !== 'coach')) {
        await call('carry', { me });
        await store.putSlip(ME, undefined);
        report = await exchange();
    }
    state.words = report.words;
    store.putSlip('synced_ms', Date.now()).catch(() => {});
}

/** Exchanges pages until both sides are level; a log that forked goes on under another id first. */
async function exchange(renewed = false) {
    let step = await call('exchange', {});
    while (step.body) {
        const card = await store.slip('card');
        let reply;
        try {
            reply = await send(`/v1/teams/${card.team}/exchange`, step.body, card.server.token);
        } catch (e) {
            if (e.kind !== 'fork' || renewed) throw e;
            await part(card);
            return exchange(true);
        }
        step = await call('exchange', { reply });
        if (step.body) {
            state.progress = { sent: step.sent, received: step.received };
            told();
        }
    }
    return step.report;
}

async function part(card) {
    let step = await call('fork', {});
    while (step.body) {
        step = await call('fork', { reply: await send(`/v1/teams/${card.team}/exchange`, step.body, card.server.token) });
    }
    const done = await call('renewed', { reply: await send(`/v1/teams/${card.team}/devices`, step.ask, card.server.token) });
    state.words = done.words;
}

/** Comes into a team by an invite; what was recorded before comes along. */
export async function join({ code, me: typed, device_name, again = false }) {
    const me = typed ?? (await call('status').catch(() => null))?.person_name ?? undefined;
    const { body } = await call('join', { code, me, device_name, again });
    await store.putSlip(ME, me);
    const reply = await send('/v1/join', body);
    await call('joined', { reply, device_name });
    // From here on this phone is in. What cannot be exchanged now is told as of any sync, and follows by itself.
    await sync();
}

/** Brings the team of this phone onto the server. */
export async function found(key) {
    const { body } = await call('found', { key });
    await call('founded', { reply: await send('/v1/teams', body) });
    return sync();
}

/** Asks for an invite; only a keeper gets one. */
export async function invite(role, person) {
    const card = await store.slip('card');
    return JSON.parse(await send(`/v1/teams/${card.team}/invites`, JSON.stringify({ role, person }), card.server.token));
}

/** Hears the team's server for as long as the signal lasts: whenever something new is there, this phone syncs. */
export async function live(signal) {
    const card = await store.slip('card');
    if (!card?.server) return;
    while (!signal.aborted) {
        try {
            const answer = await fetch(`/v1/teams/${card.team}/events`, {
                headers: { authorization: `Bearer ${card.server.token}`, accept: 'text/event-stream' },
                cache: 'no-store',
                signal,
            });
            const reader = answer.body.getReader();
            for (let part = await reader.read(); !part.done; part = await reader.read()) {
                if (new TextDecoder().decode(part.value).includes('data:')) sync();
            }
        } catch {
            if (signal.aborted) return;
        }
        await new Promise((resolve) => { setTimeout(resolve, 10_000); });
    }
}

/** Syncs whenever the phone may have come to a network: nothing that says it is offline is believed. */
export function keepAtIt() {
    const when = () => { if (document.visibilityState === 'visible') sync(); };
    addEventListener('online', when);
    document.addEventListener('visibilitychange', when);
    addEventListener('pageshow', when);
    when();
}
