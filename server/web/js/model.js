/** The model as the page asks it: a promise a call, in the order in which they were asked. */

/** What was wrong, where, and what to do, as the model says it. */
class ModelError extends Error {
    constructor({ code, message, field }) {
        super(message);
        this.code = code;
        this.field = field;
    }
}

const waiting = new Map();
const listeners = new Set();
let worker = null;
let last = 0;

function start() {
    worker = new Worker('/web/js/worker.js', { type: 'module', name: 'sheaf' });
    worker.onmessage = ({ data }) => {
        if (data.id === undefined) {
            listeners.forEach((listener) => listener(data));
            return;
        }
        const asked = waiting.get(data.id);
        waiting.delete(data.id);
        if (data.error) asked?.reject(new ModelError(data.error));
        else asked?.resolve(data.output);
    };
    worker.onerror = (e) => {
        e.preventDefault?.();
        const error = new ModelError({ code: 'trouble', message: `The model could not run here (${e.message ?? 'no reason given'}). What was recorded is kept; reload the page.` });
        waiting.forEach(({ reject }) => reject(error));
        waiting.clear();
        // Its lock goes with it, so that the next one may write.
        worker.terminate();
        worker = null;
    };
}

/** Asks the model; what it wrote is on the disk when the promise resolves. */
export function call(name, input = {}) {
    if (!worker) start();
    return new Promise((resolve, reject) => {
        const id = (last += 1);
        waiting.set(id, { resolve, reject });
        worker.postMessage({ id, name, input });
    });
}

/** Hears what the worker tells unasked: progress, a store that lost something, another tab. */
export function hear(listener) {
    listeners.add(listener);
}
