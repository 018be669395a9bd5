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
    const { bow, change } = await told(hand);
    const [row] = (await hand.ask('squad')).rows;
    return ['shoot', 'photo', 'ends', 'change', 'timeline', `answer?bow=${bow}`, `luck?bow=${bow}&change=${change}`, 'plan', `bow?bow=${bow}`,
        `rebuild?bow=${bow}`, `curve?bow=${bow}`, `pairs?bow=${bow}`, `marks?bow=${bow}`, 'shafts', 'things', 'things?kind=part', 'parts', 'fits', 'settle', 'squad', `archer?person=${row.person}&bow=${row.bow}`, 'phone', 'more'];
}

/** Returns a bow with a change of which all can be told. */
async function told(hand) {
    for (const { id: bow } of (await hand.ask('things', { kind: 'bow' })).things) {
        const { answers } = await hand.ask('answer', { bow });
        for (const { change } of answers) {
            if (await hand.ask('luck', { bow, change }).then(() => true, () => false)) return { bow, change };
        }
    }
    throw new Error('no change of the season can be dealt');
}

/** Returns the screen of a change that moved the groups; null where the season has none. */
export async function movement(hand) {
    for (const { id: bow } of (await hand.ask('things', { kind: 'bow' })).things) {
        const { answers } = await hand.ask('answer', { bow });
        const moved = answers.find(({ word }) => word === 'moved');
        if (moved) return `answer?bow=${bow}&change=${moved.change}`;
    }
    return null;
}

/** Returns the words by which the files of a screen are named. */
export const named = (screen) => screen.split('?')[0];

/** Opens a screen and waits until it is drawn. */
export async function open(hand, screen) {
    await hand.evaluate('() => { document.querySelector("#notice")?.replaceChildren(); location.hash = "#more"; }');
    await hand.until('the screen before is there', '() => document.querySelector("#screen > .screen.more h1")');
    await hand.evaluate('(hash) => { location.hash = hash; }', screen);
    const shown = await hand.until(`the screen ${screen} is there`, `(name) => {
        if (document.querySelector('#screen > .screen.' + name + ' h1')) return 'whole';
        return document.querySelector('#screen h1')?.textContent === 'This could not be shown' && document.querySelector('#screen').innerText;
    }`, named(screen));
    if (shown !== 'whole') throw new Error(`${screen}: ${shown}`);
    await settled(hand);
}

/** Waits until what the screen has asked of the model is drawn: the model answers in order. */
export async function settled(hand) {
    for (let asked = 0; asked < 3; asked += 1) await hand.ask('status');
    await hand.evaluate('() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))');
}
