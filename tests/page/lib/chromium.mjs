/** Chromium, spoken to by playwright-core over its debugging port. */

import { existsSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { chromium } from 'playwright-core';
import { atTheEnd, scratch, started } from './programs.mjs';
import { until } from './wait.mjs';

const PATH = process.env.CHROMIUM ?? '/usr/bin/chromium';
const FLAGS = ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
    '--disable-component-update', '--disable-sync', '--remote-debugging-port=0'];

/** A phone with a profile that outlives the browser's process. */
export class Chromium {
    constructor({ width = 390, height = 844, scale = 2, mobile = true } = {}) {
        Object.assign(this, { name: 'Chromium', width, height, scale, mobile, profile: scratch('chromium'), errors: [] });
    }

    async start() {
        const file = join(this.profile, 'DevToolsActivePort');
        this.run = started(PATH, [...FLAGS, `--user-data-dir=${this.profile}`, 'about:blank']);
        const port = await until('Chromium says where it listens', () => existsSync(file) && readFileSync(file, 'utf8').split('\n')[0]);
        this.port = Number(port);
        this.browser = await chromium.connectOverCDP(`http://127.0.0.1:${port}`);
        this.context = this.browser.contexts()[0];
        atTheEnd(() => this.run.child.kill('SIGKILL'));
        await this.tab();
        this.version = this.browser.version();
        return this;
    }

    /** Opens another tab and turns to it. */
    async tab() {
        const blank = this.context.pages().find((p) => p.url() === 'about:blank');
        this.page = blank ?? await this.context.newPage();
        this.cdp = await this.context.newCDPSession(this.page);
        await this.resize(this.width, this.height);
        if (this.mobile) {
            await this.cdp.send('Emulation.setTouchEmulationEnabled', { enabled: true, maxTouchPoints: 5 });
            await this.cdp.send('Emulation.setScrollbarsHidden', { hidden: true });
        }
        this.page.on('pageerror', (e) => this.errors.push(e.message));
        return this.page;
    }

    /** Makes the phone of another size. */
    async resize(width, height) {
        Object.assign(this, { width, height });
        await this.cdp.send('Emulation.setDeviceMetricsOverride', { width, height, deviceScaleFactor: this.scale, mobile: this.mobile });
    }

    /** Turns to a tab that is open. */
    async turnTo(page) {
        this.page = page;
        this.cdp = await this.context.newCDPSession(page);
        await page.bringToFront();
    }

    async goto(url) { await this.page.goto(url); }
    async reload() { await this.page.reload(); }
    /** Runs a function in the page, as text, with arguments of JSON. */
    evaluate(work, ...given) { return this.page.evaluate(`(${work})(...${JSON.stringify(given)})`); }

    /** A touch where a finger would be; its end does not wait for its start, or a busy machine makes a long press of it. */
    async tap(x, y) {
        if (!this.mobile) return this.page.mouse.click(x, y);
        return Promise.all([['touchStart', [{ x, y }]], ['touchEnd', []]].map(([type, touchPoints]) => this.cdp.send('Input.dispatchTouchEvent', { type, touchPoints })));
    }

    async type(text) { await this.page.keyboard.insertText(text); }
    async key(name) { await this.page.keyboard.press(name); }

    /** The network of every page and worker of the browser. */
    async offline(off) { await this.context.setOffline(off); }

    async shot(path) { await this.page.screenshot({ path }); }

    /** Kills the browser's process in the middle of what it does. */
    async kill() {
        await this.run.kill('SIGKILL');
        await this.browser.close().catch(() => {});
        // The next one says anew where it listens.
        rmSync(join(this.profile, 'DevToolsActivePort'), { force: true });
    }

    async close() {
        await this.browser.close().catch(() => {});
        await this.run.kill('SIGTERM');
    }
}
