/**
 * WebKitGTK, spoken to by plain WebDriver: WebKitWebDriver leads a window under Xvfb that keeps its profile on the disk
 * (`webkit_browser.py`), so that it can be killed and comes back; MiniBrowser keeps nothing while it is led.
 */

import { spawn } from 'node:child_process';
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { fileURLToPath } from 'node:url';
import { atTheEnd, scratch, started } from './programs.mjs';
import { until } from './wait.mjs';

const DRIVER = process.env.WEBKIT_DRIVER ?? '/usr/bin/WebKitWebDriver';
const WINDOW = fileURLToPath(new URL('./webkit_browser.py', import.meta.url));

/** Returns a port that nobody listens at. */
function freePort() {
    return new Promise((resolve) => {
        const server = createServer().listen(0, '127.0.0.1', () => {
            const { port } = server.address();
            server.close(() => resolve(port));
        });
    });
}

/** A screen that nobody sees. */
async function screen() {
    const child = spawn('Xvfb', ['-displayfd', '3', '-screen', '0', '1400x1000x24', '-nolisten', 'tcp'], { stdio: ['ignore', 'ignore', 'ignore', 'pipe'] });
    atTheEnd(() => child.kill('SIGKILL'));
    const number = await new Promise((resolve, reject) => {
        child.once('error', reject);
        child.stdio[3].once('data', (bytes) => resolve(String(bytes).trim()));
    });
    return { display: `:${number}`, end: () => child.kill('SIGTERM') };
}

/** A phone with a profile that outlives the browser's process. */
export class WebKit {
    constructor({ width = 390, height = 844 } = {}) {
        Object.assign(this, { name: 'WebKitGTK', width, height, profile: scratch('webkit'), errors: [] });
    }

    async start() {
        this.screen ??= await screen();
        const port = await freePort();
        const env = { ...process.env, DISPLAY: this.screen.display, HOME: this.profile, XDG_RUNTIME_DIR: this.profile, WEBKIT_DISABLE_COMPOSITING_MODE: '1', GDK_BACKEND: 'x11', NO_AT_BRIDGE: '1' };
        this.run = started(DRIVER, [`--port=${port}`, '--host=127.0.0.1'], { env });
        this.base = `http://127.0.0.1:${port}`;
        await until('WebKitWebDriver is ready', async () => (await fetch(`${this.base}/status`)).ok);
        const options = { binary: WINDOW, args: [this.profile, String(this.width), String(this.height)] };
        const { sessionId, capabilities } = await this.ask('POST', '/session', { capabilities: { alwaysMatch: { browserName: 'WebKitGTK', 'webkitgtk:browserOptions': options } } });
        this.session = `/session/${sessionId}`;
        this.version = `${capabilities.browserName} ${capabilities.browserVersion}`;
        await this.ask('POST', `${this.session}/timeouts`, { script: 30_000, pageLoad: 30_000 });
        return this;
    }

    async ask(method, path, body) {
        const answer = await fetch(this.base + path, { method, body: body && JSON.stringify(body) });
        const { value } = await answer.json();
        if (value?.error) throw new Error(`${value.error}: ${value.message}`);
        return value;
    }

    goto(url) { return this.ask('POST', `${this.session}/url`, { url }); }
    reload() { return this.ask('POST', `${this.session}/refresh`, {}); }

    async evaluate(work, ...given) {
        const script = `const done = arguments[arguments.length - 1];
            Promise.resolve().then(() => (${work})(...arguments[0])).then((value) => done({ value }), (e) => done({ wrong: String(e?.message ?? e) }));`;
        const { value, wrong } = await this.ask('POST', `${this.session}/execute/async`, { script, args: [given] });
        if (wrong) throw new Error(wrong);
        return value;
    }

    /** A touch is no input of this driver: the pointer of a mouse takes its place. */
    async tap(x, y) {
        const at = { x: Math.round(x), y: Math.round(y) };
        await this.ask('POST', `${this.session}/actions`, { actions: [{ type: 'pointer', id: 'hand', parameters: { pointerType: 'mouse' }, actions: [
            { type: 'pointerMove', duration: 0, origin: 'viewport', ...at }, { type: 'pointerDown', button: 0 }, { type: 'pointerUp', button: 0 }] }] });
    }

    async type(text) {
        const actions = [...text].flatMap((value) => [{ type: 'keyDown', value }, { type: 'keyUp', value }]);
        await this.ask('POST', `${this.session}/actions`, { actions: [{ type: 'key', id: 'keys', actions }] });
    }

    /** This driver cannot take the network away: the flow stops the service as well. */
    async offline() {}

    async shot(path) {
        writeFileSync(path, Buffer.from(await this.ask('GET', `${this.session}/screenshot`), 'base64'));
    }

    /** Kills the browser with all its processes in the middle of what it does. */
    async kill() {
        const all = below(this.run.child.pid);
        if (all.length < 3) throw new Error('the processes of the browser were not found');
        all.forEach((pid) => process.kill(pid, 'SIGKILL'));
        await this.run.kill('SIGKILL');
        await until('the browser is gone', () => all.every((pid) => !alive(pid)));
    }

    async close() {
        await this.ask('DELETE', this.session).catch(() => {});
        await this.run.kill('SIGTERM');
        this.screen.end();
    }
}

/** Returns the status line of a process, as far as it is there. */
function told(pid) {
    try {
        return readFileSync(`/proc/${pid}/stat`, 'utf8').replace(/^.*\) /, '').split(' ');
    } catch {
        return null;
    }
}

const alive = (pid) => !['Z', undefined].includes(told(pid)?.[0]);

/** Returns the processes that a process started, and theirs. */
function below(pid) {
    const parents = readdirSync('/proc').filter((name) => /^\d+$/.test(name)).map((name) => [Number(name), Number(told(name)?.[1])]);
    const found = [pid];
    for (let at = 0; at < found.length; at += 1) {
        found.push(...parents.filter(([, parent]) => parent === found[at]).map(([child]) => child));
    }
    return found.slice(1);
}
