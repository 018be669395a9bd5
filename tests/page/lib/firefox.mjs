/** Firefox ESR, spoken to by puppeteer-core over WebDriver BiDi. */

import puppeteer from 'puppeteer-core';
import { atTheEnd, scratch } from './programs.mjs';

const PATH = process.env.FIREFOX ?? '/usr/bin/firefox-esr';

/** A phone with a profile that outlives the browser's process. */
export class Firefox {
    constructor({ width = 390, height = 844 } = {}) {
        Object.assign(this, { name: 'Firefox', width, height, profile: scratch('firefox'), errors: [] });
    }

    async start() {
        this.browser = await puppeteer.launch({
            browser: 'firefox', executablePath: PATH, headless: true, userDataDir: this.profile,
            defaultViewport: { width: this.width, height: this.height },
            // The driver sends the two halves of a touch one by one: a busy machine must not make a long press of it.
            extraPrefsFirefox: { 'dom.w3c_touch_events.enabled': 1, 'apz.max_tap_time': 20_000, 'ui.click_hold_context_menus.delay': 20_000 },
        });
        const process_ = this.browser.process();
        atTheEnd(() => process_.kill('SIGKILL'));
        this.page = await this.browser.newPage();
        this.page.on('pageerror', (e) => this.errors.push(e.message));
        this.version = await this.browser.version();
        return this;
    }

    async goto(url) { await this.page.goto(url); }
    async reload() { await this.page.reload(); }
    evaluate(work, ...given) { return this.page.evaluate(`(${work})(...${JSON.stringify(given)})`); }
    async tap(x, y) { await this.page.touchscreen.tap(x, y); }
    async type(text) { await this.page.keyboard.type(text); }
    async key(name) { await this.page.keyboard.press(name); }
    /** BiDi of this version cannot take the network away: the flow stops the service as well. */
    async offline() {}
    async shot(path) { await this.page.screenshot({ path }); }

    async kill() {
        const child = this.browser.process();
        const gone = new Promise((resolve) => { child.once('exit', resolve); });
        child.kill('SIGKILL');
        await gone;
    }

    async close() { await this.browser.close(); }
}
