/** Waiting for what a test needs, instead of for a while. */

const PATIENCE_MS = 45_000;

const pause = (ms) => new Promise((resolve) => { setTimeout(resolve, ms); });

/**
 * Asks again and again until the answer is truthy, and returns it.
 * @param {string} what for the message when it never is
 * @param {() => unknown} ask may throw while the time has not come
 * @param {number} [patience_ms]
 */
export async function until(what, ask, patience_ms = PATIENCE_MS) {
    const end = Date.now() + patience_ms;
    let last = null;
    for (;;) {
        try {
            const answer = await ask();
            if (answer) return answer;
            last = null;
        } catch (e) {
            last = e;
        }
        if (Date.now() > end) throw new Error(`waited in vain: ${what}${last ? ` (${last.message})` : ''}`);
        await pause(40);
    }
}
