/** What the bars of the page are held against: each measure returns words and whether the bar is kept. */

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { gzipSync } from 'node:zlib';
import { WEB } from './programs.mjs';

const median = (numbers) => [...numbers].sort((a, b) => a - b)[Math.floor(numbers.length / 2)];
const quantile = (numbers, part) => [...numbers].sort((a, b) => a - b)[Math.min(numbers.length - 1, Math.floor(part * numbers.length))];

/** Where arrows are meant to go, mm: all over a face of 122 cm. */
const TARGETS = [[0, 0], [100, 50], [-210, 130], [333.3, -77.7], [-401, -250], [12.5, 580], [-500, 300], [250, -430], [-37, 41], [599, 3], [-3, -595], [61, 61]];

/** In the page: where a touch was felt lies on the face, mm, by what the engine says of the drawing. */
const FELT = `() => {
    const ring = document.querySelector('.pane svg.ground .ring');
    const { x, y } = new DOMPoint(...globalThis.felt).matrixTransform(ring.getScreenCTM().inverse());
    return [x, -y];
}`;

/** How many touches a six-arrow end takes, and how far from where a touch was felt its arrow is recorded, mm. */
export async function touchesAndGeometry(hand) {
    await hand.evaluate(`() => addEventListener('pointerdown', (event) => { globalThis.felt = [event.clientX, event.clientY]; }, true)`);
    const before = hand.touches;
    const errors = [];
    const shoot = async (targets) => {
        for (const mm of targets) errors.push(off(await hand.arrow(mm), await hand.evaluate(FELT)));
    };
    await shoot(TARGETS.slice(0, 6));
    await hand.touch('Finish');
    await hand.sees('End 2');
    const touches = hand.touches - before;
    await shoot(TARGETS.slice(6));
    await hand.touch('Finish');
    await hand.sees('End 3');
    return { touches, worst_mm: Math.max(...errors) };
}

const off = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);

/** How far off the modelled thumb of the page's own tests places, 95 of 100 arrows, mm. */
export async function thumb() {
    const of = (path) => import(pathToFileURL(join(WEB, path)));
    const [{ generator, place }, { THUMB }, { faceView }] = await Promise.all([of('test/thumb.mjs'), of('js/place/press.js'), of('js/place/view.js')]);
    const size = 366;
    const p95 = (radius_mm) => {
        const [random, view] = [generator(1), faceView(radius_mm, size)];
        return quantile(Array.from({ length: 1000 }, () => {
            const [r, turn] = [radius_mm * Math.sqrt(random()), 2 * Math.PI * random()];
            const target = [size / 2 + view.scale * r * Math.cos(turn), size / 2 + view.scale * r * Math.sin(turn)];
            const { at } = place(target, random, { ...THUMB, size });
            return at === null ? Infinity : off(at, target) / view.scale;
        }), 0.95);
    };
    return { large_mm: p95(610), small_mm: p95(200) };
}

/** In the page, before anything of it runs: notes when an arrow can be placed and when the model has answered. */
const WATCH = `(() => {
    const seen = globalThis.seen = {};
    new MutationObserver((_, watch) => {
        if (!document.querySelector('.pane svg.ground .ring')) return;
        seen.place_ms ??= performance.now();
        watch.disconnect();
    }).observe(document, { childList: true, subtree: true });
    const Real = Worker;
    globalThis.Worker = class extends Real {
        constructor(...given) {
            super(...given);
            this.addEventListener('message', ({ data }) => { if (data.id !== undefined) seen.model_ms ??= performance.now(); });
        }
    };
})()`;

/** Stores so many ends by the model of the page itself. */
export function store(hand, ends) {
    return hand.evaluate(`async (ends) => {
        const { call } = await import('/web/js/model.js');
        const { bow, archer, arrows, distance_m, face } = await call('frame', {});
        for (let at = 0; at < ends; at += 1) {
            const shot = Array.from({ length: 6 }, (_, i) => ({ mm: [((at * 37 + i * 61) % 200) - 100, ((at * 53 + i * 29) % 200) - 100] }));
            await call('keep', { bow: bow.id, archer: archer.id, arrows: arrows?.id, distance_m, face: face.code, shot, id: (await call('new_id')).id });
        }
    }`, ends);
}

/** Starts the page cold and with no network, the processor throttled, and says when it was of use, ms: the median. */
export async function coldStart(hand, url, { throttle = 4, times = 5 } = {}) {
    const runs = [];
    for (let run = 0; run < times; run += 1) {
        await hand.browser.kill();
        await hand.browser.start();
        const { cdp, page } = hand.browser;
        await hand.browser.offline(true);
        await page.addInitScript(WATCH);
        await cdp.send('Emulation.setCPUThrottlingRate', { rate: throttle });
        await hand.browser.goto(url);
        await hand.until('the model has answered', '() => seen.model_ms && seen.place_ms && true');
        runs.push(await hand.evaluate('() => seen'));
        await cdp.send('Emulation.setCPUThrottlingRate', { rate: 1 });
        await hand.browser.offline(false);
    }
    return { place_ms: median(runs.map((r) => r.place_ms)), model_ms: median(runs.map((r) => r.model_ms)), runs };
}

/** Drags over a face with twelve arrows, the processor throttled, and says how long frames took, ms. */
export async function drag(hand, { throttle = 4, moves = 240 } = {}) {
    for (const mm of TARGETS) await hand.arrow(mm.map((v) => v / 2));
    const frames = await dragged(hand, throttle, moves);
    const { cdp } = hand.browser;
    // The thread's own time, which what else the machine does takes nothing from and adds nothing to.
    await cdp.send('Performance.enable', { timeDomain: 'threadTicks' });
    const worked = async () => (await cdp.send('Performance.getMetrics')).metrics.find(({ name }) => name === 'TaskDuration').value * 1000;
    const before = await worked();
    const free = await dragged(hand, 1, moves);
    const work_ms = throttle * (await worked() - before) / free.length;
    await cdp.send('Performance.disable');
    return { p95_ms: quantile(frames, 0.95), worst_ms: Math.max(...frames), over: frames.filter((ms) => ms > 50).length, frames: frames.length, work_ms };
}

/** Drags in a curve, and returns how long each frame took, ms. */
async function dragged(hand, throttle, moves) {
    const { cdp } = hand.browser;
    const box = await hand.evaluate(`() => { const b = document.querySelector('.pane').getBoundingClientRect(); return { x: b.x, y: b.y, side: b.width }; }`);
    await cdp.send('Emulation.setCPUThrottlingRate', { rate: throttle });
    await hand.evaluate(`() => {
        const frames = globalThis.frames_ms = [];
        let last = null;
        const step = (now) => { if (last !== null) frames.push(now - last); last = now; globalThis.stepping = requestAnimationFrame(step); };
        requestAnimationFrame(step);
    }`);
    const at = (i) => ({ x: box.x + box.side * (0.5 + 0.35 * Math.sin(i / 19)), y: box.y + box.side * (0.5 + 0.35 * Math.cos(i / 13)) });
    await cdp.send('Input.dispatchTouchEvent', { type: 'touchStart', touchPoints: [at(0)] });
    for (let i = 1; i <= moves; i += 1) await cdp.send('Input.dispatchTouchEvent', { type: 'touchMove', touchPoints: [at(i)] });
    await cdp.send('Input.dispatchTouchEvent', { type: 'touchCancel', touchPoints: [] });
    const frames = await hand.evaluate('() => { cancelAnimationFrame(globalThis.stepping); return globalThis.frames_ms; }');
    await cdp.send('Emulation.setCPUThrottlingRate', { rate: 1 });
    return frames;
}

/** The sides of what can be touched, and of an arrow's mark, px. */
export function sides(hand) {
    return hand.evaluate(`() => {
        const shown = (e) => e.getClientRects().length > 0 && e.checkVisibility({ visibilityProperty: true }) && e.getBoundingClientRect().right > 0;
        const low = (kinds) => Math.min(...[...document.querySelectorAll(kinds)].filter(shown).map((e) => { const b = e.getBoundingClientRect(); return Math.min(b.width, b.height); }));
        const mark = document.querySelector('.arrow-mark .body')?.getBoundingClientRect();
        return { all: low('button, a[href], input, select, textarea, summary'), main: Math.min(...[...document.querySelectorAll('.button.main')].filter(shown).map((e) => e.getBoundingClientRect().height)), mark: mark ? Math.min(mark.width, mark.height) : null };
    }`);
}

/** The contrast of the page's own colours on its ground: of text, and of edges and marks. */
export function contrasts(hand) {
    return hand.evaluate(`() => {
        const style = getComputedStyle(document.documentElement);
        const probe = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
        const luminance = (name) => {
            probe.fillStyle = style.getPropertyValue(name).trim();
            probe.fillRect(0, 0, 1, 1);
            const [r, g, b] = [...probe.getImageData(0, 0, 1, 1).data].map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
            return 0.2126 * r + 0.7152 * g + 0.0722 * b;
        };
        const ratio = (a, b) => { const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y); return (high + 0.05) / (low + 0.05); };
        const text = [['--ink', '--ground'], ['--ink', '--raised'], ['--soft', '--ground'], ['--soft', '--raised'], ['--on-main', '--main'], ['--bad', '--bad-ground'], ['--bad', '--ground']];
        const graphics = [['--edge', '--ground'], ['--edge', '--raised'], ['--before', '--ground'], ['--after', '--ground'], ['--main', '--ground']];
        const low = (pairs) => Math.min(...pairs.map(([a, b]) => ratio(a, b)));
        return { text: low(text), graphics: low(graphics) };
    }`);
}

/** The size of the model, and what a first visit brings over the line, bytes. */
export function sizes(front) {
    const wasm = readFileSync(join(WEB, 'model.wasm'));
    const files = front.seen.filter(({ path }) => !path.startsWith('/v1/'));
    const once = [...new Map(files.map((it) => [it.path, it.bytes])).values()];
    return { raw: wasm.length, gzipped: gzipSync(wasm, { level: 9 }).length, files: once.length, page: once.reduce((sum, n) => sum + n, 0), all: files.reduce((sum, it) => sum + it.bytes, 0) };
}

/** How many archers a coach's phone shows unscrolled, and how tall a row is at least, px; six have shot. */
export async function squad(hand, keeper) {
    for (const name of ['Alder', 'Birch', 'Hazel', 'Juniper', 'Maple', 'Willow']) {
        await keeper.sheaf('add', 'person', name);
        await keeper.sheaf('add', 'bow', `${name.toLowerCase()} bow`);
        await keeper.sheaf('shoot', `${name.toLowerCase()} bow`, '30m', '9@4:30', 'X@12', '10@2', '8@7', '9@10', '10@6', '--face', 'wa_122', '--archer', name);
    }
    await keeper.sheaf('sync');
    await hand.level();
    await hand.screen('squad');
    await hand.until('six rows are there', `() => document.querySelectorAll('.squad-row').length >= 6`);
    return hand.evaluate(`() => {
        scrollTo(0, 0);
        const foot = document.querySelector('#tabs').getBoundingClientRect().top;
        const rows = [...document.querySelectorAll('.squad-row')].map((e) => e.getBoundingClientRect());
        return { whole: rows.filter((b) => b.top >= 0 && b.bottom <= foot).length, low: Math.min(...rows.map((b) => b.height)) };
    }`);
}
