/** The invented season of `sheaf demo`, on its real service, and a phone that has come into its team. */

import { execFile } from 'node:child_process';
import { Front } from './front.mjs';
import { Hand } from './hand.mjs';
import { atTheEnd, Home, program, scratch } from './programs.mjs';

/** Plays the season and leaves its service running until the tests end. */
export async function season() {
    const folder = scratch('season');
    const told = await new Promise((resolve, reject) => {
        const env = { ...process.env, TMPDIR: folder, NO_COLOR: '1' };
        execFile(program('sheaf'), ['demo', '--keep'], { env, maxBuffer: 1 << 24 }, (error, out) => (error ? reject(error) : resolve(out)));
    });
    const [, url, pid] = told.match(/The service: (\S+) \(process (\d+);/);
    const [, place] = told.match(/Everything lies in (.*)\./);
    atTheEnd(() => process.kill(Number(pid), 'SIGTERM'));
    const home = (name) => Object.assign(new Home(), { folder: `${place}/${name}` });
    return { url, home, keeper: home('ilse'), front: await new Front(url).start() };
}

/** Brings a phone into the season's team, and returns its hand. */
export async function inSeason({ keeper, front }, browser, words = ['--role', 'keeper']) {
    const hand = new Hand(browser);
    await hand.join(front.url, (await keeper.json('invite', ...words)).code, 'Rowan');
    return hand;
}

/** Returns the addresses of all screens with something on them, of a phone in the season. */
export async function screens(hand) {
    const one = async (call, input, list) => (await hand.ask(call, input).catch(() => ({})))[list]?.[0];
    const bow = (await one('things', { kind: 'bow' }, 'things')).id;
    const person = (await one('squad', {}, 'rows'))?.person;
    const { shown } = await hand.ask('answer', { bow }).catch(() => ({}));
    return ['shoot', 'photo', 'ends', 'change', 'timeline', `answer?bow=${bow}`, `luck?bow=${bow}&change=${shown?.change ?? ''}`, 'plan',
        `bow?bow=${bow}`, `rebuild?bow=${bow}`, 'things', 'settle', 'squad', `archer?person=${person}&bow=${bow}`, 'phone', 'more'];
}

/** Returns the words by which the files of a screen are named. */
export const named = (screen) => screen.split('?')[0];

/** Opens a screen and waits until it is drawn. */
export async function open(hand, screen) {
    await hand.evaluate('() => { document.querySelector("#notice")?.replaceChildren(); location.hash = "#more"; }');
    await hand.until('the screen before is there', '() => document.querySelector("#screen > .screen.more h1")');
    await hand.evaluate('(hash) => { location.hash = hash; }', screen);
    await hand.until(`the screen ${screen} is there`, `(name) => document.querySelector('#screen > .screen.' + name + ' h1')`, named(screen));
    // The model answers in order: what the screen has asked is there once this is.
    for (let asked = 0; asked < 3; asked += 1) await hand.ask('status');
    await hand.evaluate('() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))');
}
