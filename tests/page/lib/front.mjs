/**
 * What stands between a phone and the service: hands everything on, and alters, refuses or loses what a test says. The
 * page and the interface are of one origin here, as they are at the service itself.
 */

import { createHash } from 'node:crypto';
import http from 'node:http';
import { atTheEnd } from './programs.mjs';

const sha256 = (bytes) => createHash('sha256').update(bytes).digest('hex');

/** A proxy before a service. */
export class Front {
    /** @param {string} url of the service; it may be stopped and started meanwhile */
    constructor(url) {
        this.behind = new URL(url);
        /** Answers a request in the service's stead: `(path, request) => {status, headers, body} | 'cut' | null`. */
        this.fault = null;
        /** Alters an answer of the interface: `(path, {status, headers, body}) => {status, headers, body}`. */
        this.alter = null;
        /** Files of the page in another version, by their path: bytes, or null for one that is missing. */
        this.files = new Map();
        /** Paths asked for, with the bytes that went out. */
        this.seen = [];
    }

    async start() {
        this.server = http.createServer((request, response) => {
            this.answer(request, response).catch(() => response.destroy());
        });
        await new Promise((resolve) => { this.server.listen(this.port ?? 0, '127.0.0.1', resolve); });
        this.port = this.server.address().port;
        this.url = `http://127.0.0.1:${this.port}`;
        atTheEnd(() => this.server.closeAllConnections());
        return this;
    }

    /** Takes it off the network; `start` brings it back at the same address. */
    async stop() {
        this.server.closeAllConnections();
        await new Promise((resolve) => { this.server.close(resolve); });
    }

    async answer(request, response) {
        const path = request.url;
        const body = await gather(request);
        const instead = this.fault?.(path, request) ?? null;
        if (instead === 'cut') return response.destroy();
        let reply = instead ?? await this.pass(request, body, response);
        if (reply === null) return undefined;
        if (!instead && path.startsWith('/v1/') && this.alter) reply = this.alter(path, reply);
        const bytes = Buffer.from(reply.body ?? '');
        this.seen.push({ path, bytes: bytes.length, status: reply.status });
        response.writeHead(reply.status, { ...reply.headers, 'content-length': bytes.length });
        return response.end(bytes);
    }

    /** Hands a request on; a stream goes through as it comes, and there is no reply then. */
    async pass(request, body, response) {
        const events = request.url.endsWith('/events');
        const headers = { ...request.headers, host: this.behind.host };
        // What is altered has to be readable.
        if (this.alter || this.files.size > 0) delete headers['accept-encoding'];
        const upstream = await new Promise((resolve, reject) => {
            const asked = http.request({ hostname: this.behind.hostname, port: this.behind.port, path: request.url, method: request.method, headers }, resolve);
            asked.on('error', reject);
            response.on('close', () => asked.destroy());
            asked.end(body);
        });
        if (events && upstream.statusCode === 200) {
            response.writeHead(200, upstream.headers);
            upstream.pipe(response);
            return null;
        }
        const kept = { ...upstream.headers };
        delete kept['transfer-encoding'];
        return this.otherVersion(request, { status: upstream.statusCode, headers: kept, body: await gather(upstream) });
    }

    /** The page in another version: altered files, and a worker whose table names them. */
    otherVersion(request, reply) {
        if (this.files.size === 0) return reply;
        const path = request.url;
        const headers = { ...reply.headers };
        delete headers.etag;
        if (this.files.has(path)) {
            const bytes = this.files.get(path);
            return bytes === null ? { status: 404, headers: { 'content-type': 'text/plain' }, body: 'gone' } : { status: 200, headers, body: bytes };
        }
        if (path !== '/sw.js' || reply.status !== 200) return reply;
        const text = reply.body.toString('utf8');
        const line = text.slice(0, text.indexOf('\n'));
        const table = JSON.parse(line.replace(/^const FILES = /, '').replace(/;$/, ''));
        for (const [name, bytes] of this.files) table[name] = bytes === null ? sha256('a file that is missing') : sha256(bytes);
        return { ...reply, headers, body: `const FILES = ${JSON.stringify(table)};${text.slice(line.length)}` };
    }
}

async function gather(stream) {
    const parts = [];
    for await (const part of stream) parts.push(part);
    return Buffer.concat(parts);
}

/** An answer of somebody else: a network's page to log in. */
export const login = { status: 200, headers: { 'content-type': 'text/html' }, body: '<!doctype html><title>Wi-Fi</title><p>Log in to use this network.</p>' };
/** The same by sending the browser elsewhere. */
export const detour = { status: 302, headers: { location: 'http://login.example/' }, body: '' };
