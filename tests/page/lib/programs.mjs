/** The real programs: built by cargo once, started over throw-away folders, ended by their own process id. */

import { execFile, spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { until } from './wait.mjs';

/** The folder of the project. */
export const TOP = fileURLToPath(new URL('../../..', import.meta.url));
/** The folder of the page's files. */
export const WEB = join(TOP, 'server/web');

const TARGET = process.env.CARGO_TARGET_DIR ?? join(TOP, 'target');
let folder = null;

/** Returns where a program lies; `SHEAF_PROGRAMS` names a folder of built ones. */
export function program(name) {
    folder ??= process.env.SHEAF_PROGRAMS ?? build();
    return join(folder, name);
}

function build() {
    const done = spawnSync('cargo', ['build', '--quiet', '-p', 'sheaf-cli', '-p', 'sheaf-server', '--bins'], { cwd: TOP, stdio: 'inherit' });
    if (done.status !== 0) throw new Error('the programs could not be built');
    return join(TARGET, 'debug');
}

const ends = [];

/** Has something ended or taken away when the process does, whatever happened. */
export function atTheEnd(work) {
    ends.push(work);
}

process.on('exit', () => {
    for (const work of ends.reverse()) {
        try {
            work();
        } catch {
            // What is gone already needs no ending.
        }
    }
});
for (const signal of ['SIGINT', 'SIGTERM']) process.once(signal, () => process.exit(1));

/** Makes a throw-away folder. */
export function scratch(name = 'page') {
    const made = mkdtempSync(join(tmpdir(), `sheaf-${name}-`));
    atTheEnd(() => rmSync(made, { recursive: true, force: true, maxRetries: 5 }));
    return made;
}

/** Starts a program that is ended with the tests. */
export function started(path, words, options = {}) {
    const child = spawn(path, words, { stdio: 'ignore', ...options });
    const gone = new Promise((resolve) => { child.once('exit', resolve); });
    child.once('error', () => {});
    atTheEnd(() => child.kill('SIGKILL'));
    return { child, gone, async kill(signal = 'SIGKILL') { child.kill(signal); await gone; } };
}

/** `sheafd` over a folder of its own; `stop` and `start` leave it at its address. */
export class Service {
    constructor() {
        this.folder = scratch('service');
        this.address = '127.0.0.1:0';
    }

    /** Starts it and waits until it is ready. */
    async start(words = []) {
        const file = join(this.folder, 'address');
        rmSync(file, { force: true });
        const all = ['serve', '--listen', this.address, '--data', join(this.folder, 'data'), '--port-file', file, ...words];
        this.run = started(program('sheafd'), all, { stdio: process.env.SHEAF_TALK ? 'inherit' : 'ignore' });
        this.address = await until('the service says where it listens', () => existsSync(file) && readFileSync(file, 'utf8').trim());
        this.url = `http://${this.address}`;
        await until('the service is ready', async () => (await fetch(`${this.url}/v1/ready`)).ok);
        return this;
    }

    /** Ends it in good order. */
    stop() {
        return this.run.kill('SIGTERM');
    }

    /** Returns the founding key. */
    key() {
        return readFileSync(join(this.folder, 'data/founding-key'), 'utf8').trim();
    }
}

/** A home of the command line. */
export class Home {
    constructor() {
        this.folder = join(scratch('home'), 'home');
    }

    /** Runs a command and returns what it printed; an exit code other than 0 is an error. */
    sheaf(...words) {
        return new Promise((resolve, reject) => {
            const done = (error, out, err) => (error ? reject(new Error(`sheaf ${words.join(' ')}: ${err}${out}`)) : resolve(out));
            execFile(program('sheaf'), ['--home', this.folder, ...words], { env: { ...process.env, NO_COLOR: '1' } }, done);
        });
    }

    /** Runs a command and returns what it answers as data. */
    async json(...words) {
        return JSON.parse(await this.sheaf('--json', ...words));
    }
}

/** Starts a service with a team on it; the founder's home has a bow, arrows and a first group. */
export async function team(service, name = 'Elm pair') {
    const home = new Home();
    await home.sheaf('start', name, '--me', 'Ash');
    await home.sheaf('add', 'bow', 'elm', '--riser', '25in');
    await home.sheaf('add', 'arrows', 'blue', '--count', '12', '--shaft-diameter', '5.5mm');
    await home.sheaf('connect', service.url, '--key', service.key());
    await home.sheaf('sync');
    return home;
}
