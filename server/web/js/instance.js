/** The model's instance: JSON in, JSON out through its memory. A panic spends it; `start` makes another. */

const ADDRESS = '/web/model.wasm';

let compiled = null;
let instance = null;

async function compile() {
    // Streaming wants the right media type; what a proxy alters is compiled from its bytes all the same.
    try {
        return await WebAssembly.compileStreaming(fetch(ADDRESS));
    } catch {
        const answer = await fetch(ADDRESS);
        if (!answer.ok) throw new Error(`the model cannot be fetched (status ${answer.status})`);
        return WebAssembly.compile(await answer.arrayBuffer());
    }
}

/** Starts an instance, empty. */
export async function start() {
    compiled ??= compile();
    try {
        instance = await WebAssembly.instantiate(await compiled, {});
    } catch (e) {
        compiled = null;
        throw e;
    }
}

/** Asks the model; `lines` are the texts that go behind the call as they are. Throws when it panics, after which it has to be started anew. */
export function ask(name, input, lines = []) {
    const request = {
        call: name,
        input: input ?? {},
        now_ms: Date.now(),
        offset_min: -new Date().getTimezoneOffset(),
        seed: Array.from(crypto.getRandomValues(new Uint8Array(8)), (b) => b.toString(16).padStart(2, '0')).join(''),
    };
    const bytes = new TextEncoder().encode([JSON.stringify(request), ...lines].join('\n'));
    const { memory, sheaf_input, sheaf_call, sheaf_output } = instance.exports;
    const at = sheaf_input(bytes.length) >>> 0;
    new Uint8Array(memory.buffer, at, bytes.length).set(bytes);
    const length = sheaf_call() >>> 0;
    const text = new TextDecoder().decode(new Uint8Array(memory.buffer, sheaf_output() >>> 0, length));
    return JSON.parse(text);
}
