/**
 * The published and computed check values, and when an answer agrees with one. The rule is that of
 * `tests/reference/check.py`: what `expect` names has to be there and agree within abs + rel |want|; null is not
 * checked; `expect_error` wants a refusal with words.
 */

import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { TOP } from './programs.mjs';

/** Reads every case, in the order of the files. */
export function cases() {
    const folder = join(TOP, 'tests/reference/cases');
    const files = readdirSync(folder).filter((name) => name.endsWith('.json')).sort();
    return files.flatMap((name) => JSON.parse(readFileSync(join(folder, name), 'utf8')).cases);
}

/**
 * Returns what is wrong with an answer, or null.
 * @param {{output?: unknown, refused?: string}} answer
 */
export function complaint(it, answer) {
    if (it.expect_error) {
        if (answer.refused === undefined) return 'want a refusal';
        return answer.refused.trim() === '' ? 'refused without a word' : null;
    }
    if (answer.refused !== undefined) return `refused: ${answer.refused}`;
    const found = [];
    differences(it.expect, answer.output, it, '', found);
    return found.length > 0 ? found.slice(0, 4).join('; ') : null;
}

function differences(want, got, it, path, found) {
    if (want === null) return;
    if (typeof want === 'number') {
        const room = (it.abs ?? 0) + (it.rel ?? 0) * Math.abs(want);
        if (typeof got !== 'number' || !(Math.abs(got - want) <= room)) found.push(`${path}: want ${want}, got ${short(got)}`);
    } else if (Array.isArray(want)) {
        if (!Array.isArray(got) || got.length !== want.length) found.push(`${path}: want a list of ${want.length}, got ${short(got)}`);
        else want.forEach((one, i) => differences(one, got[i], it, `${path}[${i}]`, found));
    } else if (typeof want === 'object' && typeof got === 'object' && got !== null && !Array.isArray(got)) {
        for (const [name, one] of Object.entries(want)) differences(one, got[name] ?? null, it, path ? `${path}.${name}` : name, found);
    } else if (want !== got) {
        found.push(`${path}: want ${short(want)}, got ${short(got)}`);
    }
}

const short = (value) => String(JSON.stringify(value)).slice(0, 60);
