/** What is held of every screen: rules of access, room to touch, room for large text. Each returns what is wrong. */

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { named, open, screens, settled } from './season.mjs';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** How a person may have set the phone. */
export const SETTINGS = {
    light: [['prefers-color-scheme', 'light']],
    dark: [['prefers-color-scheme', 'dark']],
    'more contrast': [['prefers-color-scheme', 'light'], ['prefers-contrast', 'more']],
    'forced colours': [['forced-colors', 'active']],
    'reduced motion': [['prefers-color-scheme', 'light'], ['prefers-reduced-motion', 'reduce']],
};

/** Sets the phone so. */
export function set(browser, setting) {
    const features = SETTINGS[setting].map(([name, value]) => ({ name, value }));
    return browser.cdp.send('Emulation.setEmulatedMedia', { features });
}

/** Runs axe-core with its rules of WCAG 2.2 A to AA, its best practices, and text of 7:1 where colours are the page's own. */
export async function violations(hand, setting) {
    if (!await hand.evaluate('() => Boolean(window.axe)')) await hand.browser.page.evaluate(AXE);
    return hand.evaluate(`async (own) => {
        const options = { resultTypes: ['violations'], rules: { 'color-contrast-enhanced': { enabled: own }, 'target-size': { enabled: true } } };
        const { violations } = await axe.run(document, options);
        return violations.map((it) => it.id + ': ' + it.nodes.slice(0, 4).map((n) => n.target.join(' ') + ' (' + (n.any[0]?.message ?? n.all[0]?.message ?? n.none[0]?.message ?? it.help) + ')').join('; ') + (it.nodes.length > 4 ? '; ' + it.nodes.length + ' in all' : ''));
    }`, setting !== 'forced colours');
}

/** Returns what can be touched and is smaller than a side in px. */
export function small(hand, side = 52) {
    return hand.evaluate(`(side) => [...document.querySelectorAll('button, a[href], input, select, textarea, summary, [role=button], [role=radio]')].flatMap((e) => {
        const label = ['checkbox', 'radio'].includes(e.type) ? e.closest('label') : null;
        const box = (label ?? e).getBoundingClientRect();
        if (box.width === 0 || box.right <= 0 || !e.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true })) return [];
        const low = Math.min(box.width, box.height);
        return low < side - 0.05 ? [(e.getAttribute('aria-label') ?? e.textContent.trim() ?? e.tagName).slice(0, 40) + ' ' + e.tagName.toLowerCase() + '.' + e.getAttribute('class') + ': ' + box.width.toFixed(1) + ' x ' + box.height.toFixed(1)] : [];
    })`, side);
}

/** Returns what is cut off, lies over something else or stands in a column of letters. */
export function crowded(hand) {
    return hand.evaluate(`() => {
        const found = [];
        const root = document.documentElement;
        const told = (e) => e.tagName.toLowerCase() + '.' + (e.getAttribute('class') ?? '') + ' "' + (e.getAttribute('aria-label') ?? e.textContent).trim().slice(0, 30) + '"';
        if (root.scrollWidth > root.clientWidth) {
            const wide = [...document.querySelectorAll('#screen *')].filter((e) => e.getBoundingClientRect().right > root.clientWidth + 0.5 && !e.closest('.wide')).slice(0, 3);
            found.push('the page is ' + root.scrollWidth + ' px wide in ' + root.clientWidth + ' px: ' + wide.map(told).join(', '));
        }
        const shown = (e) => e.getClientRects().length > 0 && e.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true });
        for (const e of document.querySelectorAll('button, a, h1, h2, h3, p, label, legend, td, th, li, summary')) {
            const style = getComputedStyle(e);
            // What is for screen readers alone is a pixel wide.
            if (!shown(e) || e.clientWidth <= 1 || e.closest('.wide') || style.overflowX === 'visible' && e.scrollWidth <= e.clientWidth + 1) continue;
            if (style.display !== 'inline' && e.scrollWidth > e.clientWidth + 1 && !e.matches('.skip')) found.push('cut: ' + told(e));
        }
        for (const e of document.querySelectorAll('#screen *')) {
            const words = [...e.childNodes].filter((it) => it.nodeType === Node.TEXT_NODE && it.data.trim().length > 5);
            for (const text of shown(e) && !e.closest('svg') ? words : []) {
                const range = document.createRange();
                range.selectNodeContents(text);
                const lines = new Set([...range.getClientRects()].map((box) => Math.round(box.top))).size;
                if (lines > 2 && text.data.trim().length / lines < 4) found.push('a column of letters: ' + told(e));
            }
        }
        const free = (e) => { for (let at = e; at; at = at.parentElement) if (['fixed', 'sticky', 'absolute'].includes(getComputedStyle(at).position)) return false; return true; };
        const flat = [...document.querySelectorAll('button, a[href], input, select, textarea, summary, h1, h2, p')].filter((e) => shown(e) && free(e));
        flat.forEach((a, i) => flat.slice(i + 1).forEach((b) => {
            if (a.contains(b) || b.contains(a)) return;
            const [p, q] = [a.getBoundingClientRect(), b.getBoundingClientRect()];
            const [w, h] = [Math.min(p.right, q.right) - Math.max(p.left, q.left), Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top)];
            if (w > 1 && h > 1) found.push('over each other: ' + told(a) + ' and ' + told(b));
        }));
        return found;
    }`);
}

/** Makes all text as large again, as a person sets it in the browser. */
export function enlarge(hand, times) {
    return hand.evaluate(`(times) => {
        const root = document.documentElement;
        root.style.fontSize = '';
        if (times !== 1) root.style.fontSize = times * parseFloat(getComputedStyle(root).fontSize) + 'px';
    }`, times);
}

/** The narrow phone, and the usual one. */
const SIZES = [[320, 640], [390, 844]];

/** Goes through all screens of a phone in the season, and returns what is wrong, by what was looked for. */
export async function survey(hand) {
    const found = Object.fromEntries([...Object.keys(SETTINGS).map((name) => `axe in ${name}`), 'small', '390 px', '320 px', 'text of 200 %', 'shown'].map((name) => [name, []]));
    for (const screen of await screens(hand)) {
        const note = (what, words) => found[what].push(...words.map((one) => `${named(screen)}: ${one}`));
        try {
            await open(hand, screen);
        } catch (e) {
            note('shown', [e.message]);
            continue;
        }
        await unfold(hand);
        // As tall as all of it: the bar at the foot lies over nothing then.
        await hand.browser.resize(390, Math.min(12_000, 80 + await hand.evaluate('() => document.documentElement.scrollHeight')));
        for (const setting of Object.keys(SETTINGS)) {
            await set(hand.browser, setting);
            note(`axe in ${setting}`, await violations(hand, setting));
        }
        await set(hand.browser, 'light');
        note('small', await small(hand));
        for (const [width, height] of SIZES) {
            await hand.browser.resize(width, height);
            note(`${width} px`, await crowded(hand));
        }
        await enlarge(hand, 2);
        note('text of 200 %', await crowded(hand));
        await enlarge(hand, 1);
    }
    return found;
}

/** Opens what is folded, the first of many. */
async function unfold(hand) {
    await hand.evaluate(`() => [...document.querySelectorAll('#screen details')].slice(0, 8).forEach((e) => { e.open = true; })`);
    await settled(hand);
}

/** Returns what is wrong with the screen that is there, of a phone in no team. */
export async function first(hand) {
    const found = [];
    for (const setting of Object.keys(SETTINGS)) {
        await set(hand.browser, setting);
        found.push(...(await violations(hand, setting)).map((words) => `${setting}: ${words}`));
    }
    await set(hand.browser, 'light');
    found.push(...await small(hand), ...await crowded(hand));
    return found;
}
