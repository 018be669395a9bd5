// The service worker: keeps the page on the phone, all of its files or none, so that it opens with no network.
//
// The service puts the line `const FILES = {path: SHA-256, …};` before this text when it serves it, so that the worker
// is a new one exactly when any file is. A new one waits until the page tells it to take over: only between ends.

/* global FILES */

/** What the names of this page's caches begin with. */
const NAMES = 'sheaf-page-';

/**
 * Returns what SHA-256 makes of bytes, in hex digits.
 * @param {BufferSource} bytes
 * @returns {Promise<string>}
 */
async function sha256(bytes) {
    const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
    return Array.from(digest, (byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** The name of the cache of these very files. */
const name = sha256(new TextEncoder().encode(JSON.stringify(FILES))).then((digest) => NAMES + digest);

/**
 * Fetches a file past every cache, and refuses it unless it is the one that belongs to this worker: while a service is
 * replaced, or through a proxy that keeps things, some may be of another version.
 * @param {string} path
 * @returns {Promise<Response>}
 */
async function fetched(path) {
    const response = await fetch(path, {cache: 'no-cache', credentials: 'same-origin'});
    if (response.status !== 200 || response.redirected) {
        throw new Error(`${path} cannot be had: the service answers ${response.status}`);
    }
    const bytes = await response.arrayBuffer();
    if (await sha256(bytes) !== FILES[path]) {
        throw new Error(`${path} is not the file that belongs to this version`);
    }
    const headers = new Headers(response.headers);
    // The bytes are unpacked by now.
    headers.delete('content-encoding');
    headers.delete('content-length');
    return new Response(bytes, {status: 200, headers});
}

/** Brings all files here, or none. */
async function install() {
    const paths = Object.keys(FILES);
    const responses = await Promise.all(paths.map(fetched));
    const already = await caches.has(await name);
    const cache = await caches.open(await name);
    try {
        await Promise.all(paths.map((path, at) => cache.put(path, responses[at])));
    } catch (error) {
        // No room, for one. A cache that was there before is whole, and the worker at work may need it.
        if (!already) {
            await caches.delete(await name);
        }
        throw error;
    }
}

/** Lets go of the files of versions before, and takes the pages that are open. */
async function activate() {
    const current = await name;
    const old = (await caches.keys()).filter((key) => key.startsWith(NAMES) && key !== current);
    await Promise.all(old.map((key) => caches.delete(key)));
    await self.clients.claim();
}

/**
 * Returns which of the files a request is for; none for what goes to the network.
 * @param {Request} request
 * @returns {string|null}
 */
function listed(request) {
    const url = new URL(request.url);
    const own = url.origin === self.location.origin && !url.pathname.startsWith('/v1/');
    if (!own || request.method !== 'GET') {
        return null;
    }
    if (request.mode === 'navigate') {
        return '/';
    }
    return Object.hasOwn(FILES, url.pathname) ? url.pathname : null;
}

/**
 * Answers with a file from the cache; from the network where the browser threw the cache away.
 * @param {string} path
 * @param {Request} request
 * @returns {Promise<Response>}
 */
async function answer(path, request) {
    // Not by `open`, which would make an empty cache anew where there is none.
    return (await caches.match(path, {cacheName: await name, ignoreVary: true})) ?? fetch(request);
}

self.addEventListener('install', (event) => event.waitUntil(install()));
self.addEventListener('activate', (event) => event.waitUntil(activate()));
self.addEventListener('fetch', (event) => {
    const path = listed(event.request);
    if (path !== null) {
        event.respondWith(answer(path, event.request));
    }
});
self.addEventListener('message', (event) => {
    if (event.data?.take_over === true) {
        event.waitUntil(self.skipWaiting());
    }
});
