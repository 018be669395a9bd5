// The service worker `sw.js` itself, run with the table that the service puts before it, over caches and a network of
// which every answer can be said. Node's own Request, Response and Web Crypto are the browser's.

import assert from 'node:assert/strict';
import {createHash} from 'node:crypto';
import {readFileSync} from 'node:fs';
import test from 'node:test';
import vm from 'node:vm';

const ORIGIN = 'https://range.example';
const source = readFileSync(new URL('../sw.js', import.meta.url), 'utf8');

const hex = (text) => createHash('sha256').update(text).digest('hex');

/** Caches as a browser has them, in memory; `full` lets none take anything more. */
class Caches {
    constructor() {
        this.all = new Map();
        this.full = false;
    }

    async has(name) {
        return this.all.has(name);
    }

    async keys() {
        return [...this.all.keys()];
    }

    async delete(name) {
        return this.all.delete(name);
    }

    async open(name) {
        if (!this.all.has(name)) {
            this.all.set(name, new Map());
        }
        const held = this.all.get(name);
        return {
            put: async (path, response) => {
                if (this.full) {
                    throw new DOMException('no room', 'QuotaExceededError');
                }
                held.set(path, response);
            },
        };
    }

    async match(path, {cacheName}) {
        return this.all.get(cacheName)?.get(path)?.clone();
    }
}

/**
 * Starts a worker for files, over a network that answers a path with a text or a response.
 * @param {Record<string, string>} files what the table says of
 * @param {Record<string, string|Response>} network
 * @param {Caches} caches
 */
function worker(files, network, caches) {
    const table = Object.fromEntries(Object.entries(files).map(([path, text]) => [path, hex(text)]));
    const heard = {};
    const did = {fetched: [], claimed: 0, skipped: 0};
    const self = {
        location: new URL(`${ORIGIN}/sw.js`),
        addEventListener: (name, listener) => {
            heard[name] = listener;
        },
        clients: {claim: async () => did.claimed++},
        skipWaiting: async () => did.skipped++,
    };
    const fetch = async (asked, how) => {
        const path = typeof asked === 'string' ? asked : new URL(asked.url).pathname;
        did.fetched.push([path, how?.cache]);
        const answer = network[path];
        if (answer === undefined) {
            throw new TypeError('no network');
        }
        return typeof answer === 'string' ? new Response(answer) : answer.clone();
    };
    const world = {self, fetch, caches, crypto, TextEncoder, URL, Response, Headers, Error, Uint8Array, Array, Object};
    vm.runInNewContext(`const FILES = ${JSON.stringify(table)};\n${source}`, world);
    const tell = async (name, more) => {
        const waits = [];
        let answer = null;
        heard[name]({...more, waitUntil: (p) => waits.push(p), respondWith: (p) => (answer = p)});
        await Promise.all(waits);
        return answer;
    };
    const ask = (path, how = {}) => {
        const request = {url: new URL(path, ORIGIN).href, method: 'GET', mode: 'cors', ...how};
        return tell('fetch', {request});
    };
    return {did, tell, ask};
}

const FILES = {'/': '<!doctype html>', '/web/js/app.js': 'start();', '/web/model.wasm': 'bytes'};

test('all files are fetched past every cache and kept, and then there is no need for a network', async () => {
    const caches = new Caches();
    const network = {...FILES};
    const page = worker(FILES, network, caches);
    await page.tell('install');
    assert.deepEqual(page.did.fetched.sort(), Object.keys(FILES).map((path) => [path, 'no-cache']));
    assert.equal(page.did.skipped, 0, 'it waits');
    await page.tell('activate');
    assert.equal(page.did.claimed, 1);
    Object.keys(network).forEach((path) => delete network[path]);
    for (const [path, text] of Object.entries(FILES)) {
        assert.equal(await (await page.ask(path)).text(), text, path);
    }
    const opened = await page.ask('/any/where?x#join=AB', {mode: 'navigate'});
    assert.equal(await opened.text(), FILES['/']);
});

test('a file that is missing, another one or not to be had leaves everything as it was', async () => {
    for (const [path, wrong] of [
        ['/web/js/app.js', 'start(); // of another version'],
        ['/web/js/app.js', new Response('start();', {status: 206})],
        ['/', new Response('', {status: 404})],
        ['/web/model.wasm', undefined],
    ]) {
        const caches = new Caches();
        const older = worker({'/': 'older'}, {'/': 'older'}, caches);
        await older.tell('install');
        const before = await caches.keys();
        const page = worker(FILES, {...FILES, [path]: wrong}, caches);
        await assert.rejects(page.tell('install'), /cannot be had|not the file|no network/, path);
        assert.deepEqual(await caches.keys(), before, path);
        assert.equal(await (await older.ask('/')).text(), 'older');
    }
});

test('where there is no room nothing half is left, and a whole cache of the same files stays', async () => {
    const caches = new Caches();
    caches.full = true;
    await assert.rejects(worker(FILES, FILES, caches).tell('install'), /no room/);
    assert.deepEqual(await caches.keys(), []);
    caches.full = false;
    await worker(FILES, FILES, caches).tell('install');
    caches.full = true;
    await assert.rejects(worker(FILES, FILES, caches).tell('install'), /no room/);
    assert.equal((await caches.keys()).length, 1);
});

test('who takes over lets go of the versions before and of nothing else', async () => {
    const caches = new Caches();
    await caches.open('something-else');
    await worker({'/': 'older'}, {'/': 'older'}, caches).tell('install');
    const page = worker(FILES, FILES, caches);
    await page.tell('install');
    assert.equal((await caches.keys()).length, 3, 'the older one is there until then');
    await page.tell('activate');
    const names = await caches.keys();
    assert.ok(names.includes('something-else') && names.length === 2, names.join());
});

test('a new worker takes over when it is told to, and only then', async () => {
    const page = worker(FILES, FILES, new Caches());
    for (const data of [undefined, null, 'take_over', {}, {take_over: 'yes'}]) {
        await page.tell('message', {data});
    }
    assert.equal(page.did.skipped, 0);
    await page.tell('message', {data: {take_over: true}});
    assert.equal(page.did.skipped, 1);
});

test('the interface, other methods, other files and other sites go to the network untouched', async () => {
    const page = worker(FILES, FILES, new Caches());
    await page.tell('install');
    for (const [path, how] of [
        ['/v1/health', {}],
        ['/v1/openapi.json', {mode: 'navigate'}],
        ['/', {method: 'POST', mode: 'navigate'}],
        ['/web/js/app.js', {method: 'HEAD'}],
        ['/web/js/other.js', {}],
        ['https://elsewhere.example/web/js/app.js', {}],
        ['https://elsewhere.example/', {mode: 'navigate'}],
    ]) {
        assert.equal(await page.ask(path, how), null, `${how.method ?? 'GET'} ${path}`);
    }
});

test('a file that the browser threw away comes from the network', async () => {
    const caches = new Caches();
    const page = worker(FILES, FILES, caches);
    await page.tell('install');
    for (const name of await caches.keys()) {
        await caches.delete(name);
    }
    assert.equal(await (await page.ask('/web/js/app.js')).text(), FILES['/web/js/app.js']);
    assert.deepEqual(await caches.keys(), [], 'none is made by looking');
});
