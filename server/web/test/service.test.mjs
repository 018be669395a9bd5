import assert from 'node:assert/strict';
import test from 'node:test';
import { send } from '../js/service.js';

/** Asks a service that answers so; returns what it comes to. */
async function asked(status, body, headers = {}) {
    const fetched = globalThis.fetch;
    globalThis.fetch = async () => new Response(body, { status, headers });
    try {
        return { text: await send('/v1/x', '{}', 't') };
    } catch (e) {
        return e;
    } finally {
        globalThis.fetch = fetched;
    }
}

const PROBLEM = { 'content-type': 'application/problem+json' };

test('a problem without words is told as an answer of something else', async () => {
    for (const body of ['null', '[]', '{}', '{"code":"fork"}', '{"detail":3}', 'x']) {
        for (const status of [400, 401, 409, 429, 500]) {
            const { kind, message } = await asked(status, body, PROBLEM);
            assert.ok(['refused', 'busy'].includes(kind), `${status} ${body}: ${kind}`);
            assert.ok(message.includes('is kept on this phone') && !message.includes('undefined'), message);
        }
    }
});

test('a service cannot ask for so long a pause that a timer runs at once', async () => {
    const told = await asked(429, '{"code":"slow","detail":"Slower."}', { ...PROBLEM, 'retry-after': '1000000000' });
    assert.deepEqual([told.kind, told.after_s], ['busy', 3600]);
    assert.equal((await asked(429, '{"code":"slow","detail":"Slower."}', { ...PROBLEM, 'retry-after': 'soon' })).after_s, 0);
});

test('an answer is handed on as it is', async () => {
    assert.equal((await asked(200, '{"a":1}', { 'content-type': 'application/json' })).text, '{"a":1}');
    assert.equal((await asked(200, '<html>', { 'content-type': 'text/html' })).kind, 'offline');
});
