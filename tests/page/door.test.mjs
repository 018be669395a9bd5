/** Every check value goes through the WebAssembly in a browser, as it goes through library, command line and service. */

import assert from 'node:assert/strict';
import test from 'node:test';
import { cases, complaint } from './lib/cases.mjs';
import { Chromium } from './lib/chromium.mjs';
import { Firefox } from './lib/firefox.mjs';
import { Service } from './lib/programs.mjs';
import { WebKit } from './lib/webkit.mjs';

/** In the page: the answers to some cases, the refusals as their words. */
const ASK = `async (asked) => {
    const { call } = await import('/web/js/model.js');
    return Promise.all(asked.map((it) => call('compute', it).then((output) => ({ output }), (e) => ({ refused: e.message }))));
}`;

test('an answer agrees within its tolerance, whole, and a refusal has words', () => {
    const it = { expect: { a: [1, null], b: 'x' }, rel: 1e-3, abs: 1e-6 };
    assert.equal(complaint(it, { output: { a: [1.0009, 7], b: 'x', c: 1 } }), null);
    for (const output of [{ a: [1, 7], b: 'y' }, { a: [1], b: 'x' }, { a: [1.002, 7], b: 'x' }, { a: [null, 7], b: 'x' }, { b: 'x' }, [], null]) {
        assert.notEqual(complaint(it, { output }), null, JSON.stringify(output));
    }
    assert.notEqual(complaint(it, { refused: 'no' }), null);
    assert.equal(complaint({ expect_error: true }, { refused: 'no' }), null);
    assert.notEqual(complaint({ expect_error: true }, { refused: ' ' }), null);
    assert.notEqual(complaint({ expect_error: true }, { output: {} }), null);
});

for (const Engine of [Chromium, Firefox, WebKit]) {
    const browser = new Engine();
    test(`every case agrees in ${browser.name}`, { timeout: 240_000 }, async (t) => {
        const service = await new Service().start();
        await browser.start();
        await browser.goto(service.url);
        const all = cases();
        const failed = [];
        for (let at = 0; at < all.length; at += 20) {
            const some = all.slice(at, at + 20);
            const answers = await browser.evaluate(ASK, some.map(({ method, input }) => ({ method, input })));
            some.forEach((it, i) => {
                const wrong = complaint(it, answers[i]);
                if (wrong) failed.push(`${it.method} ${it.id}: ${wrong}`);
            });
        }
        t.diagnostic(`${all.length - failed.length} of ${all.length} cases agree in ${browser.version}`);
        assert.ok(all.length >= 180, `only ${all.length} cases`);
        assert.deepEqual(failed, []);
        await browser.close();
        await service.stop();
    });
}
