/** What the page asks for at a start: its scripts all at once, instead of level by level as each names the next. */

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { join, posix } from 'node:path';
import test from 'node:test';
import { fileURLToPath } from 'node:url';

const WEB = fileURLToPath(new URL('..', import.meta.url));

/** Returns the scripts that some bring with them, and these themselves. */
function withImports(paths, seen = new Set()) {
    for (const path of paths.filter((path) => !seen.has(path))) {
        seen.add(path);
        const text = readFileSync(join(WEB, path), 'utf8');
        const named = [...text.matchAll(/^(?:import|export)\s[^;]*?from '([^']+)';/gm)].map(([, name]) => name);
        withImports(named.map((name) => posix.join(posix.dirname(path), name)), seen);
    }
    return seen;
}

test('the page asks at once for every script of its frame and of the screen of shooting, and for no other', () => {
    const html = readFileSync(join(WEB, 'index.html'), 'utf8');
    const asked = [...html.matchAll(/<link rel="modulepreload" href="\/web\/([^"]+)">/g)].map(([, path]) => path);
    assert.deepEqual(asked.toSorted(), [...withImports(['js/main.js', 'js/screen/shoot.js'])].sort());
});
