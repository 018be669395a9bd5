/** The service worker and updates: a newer page takes over only when the user agrees, and only between ends. */

let waiting = null;
let overtaken = false;
const listeners = new Set();

/** Hears when a newer version waits. */
export function hear(listener) {
    listeners.add(listener);
    if (waiting) listener();
}

/** Whether a newer version waits to be agreed to. */
export const isWaiting = () => waiting !== null;

/** Whether a newer version took over from another tab: what is fetched from now on is of that one. */
export const isOvertaken = () => overtaken;

/** Registers the service worker, and looks for a newer one on load, on coming back and on focus. */
export async function register() {
    if (!('serviceWorker' in navigator)) return;
    try {
        const registration = await navigator.serviceWorker.register('/sw.js', { updateViaCache: 'none' });
        const found = () => {
            if (!registration.waiting || !navigator.serviceWorker.controller) return;
            waiting = registration.waiting;
            listeners.forEach((listener) => listener());
        };
        found();
        registration.addEventListener('updatefound', () => {
            registration.installing?.addEventListener('statechange', found);
        });
        let controlled = Boolean(navigator.serviceWorker.controller);
        navigator.serviceWorker.addEventListener('controllerchange', () => {
            overtaken ||= controlled;
            controlled = true;
        });
        const search = () => { if (document.visibilityState === 'visible') registration.update().catch(() => {}); };
        addEventListener('pageshow', search);
        addEventListener('focus', search);
        document.addEventListener('visibilitychange', search);
    } catch {
        // Plain http on a home network has no service worker: the page works while the server can be reached.
    }
}

/** Lets the newer version take over, and loads it. */
export function takeOver() {
    if (!waiting) return;
    navigator.serviceWorker.addEventListener('controllerchange', () => location.reload(), { once: true });
    waiting.postMessage({ take_over: true });
}

/** Asks the browser to keep the store; returns nothing, since one engine answers very late. */
export function askToKeep() {
    navigator.storage?.persist?.().catch(() => {});
}
