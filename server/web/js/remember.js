/** What a browser remembers for convenience alone. One that refuses it, since it is full or shut, costs nothing else. */

/** Returns what is remembered under a key, or null. */
export function recall(key) {
    try {
        return localStorage.getItem(key);
    } catch {
        return null;
    }
}

/** Remembers it where the browser lets; returns whether it did. */
export function remember(key, value) {
    try {
        if (value === null) localStorage.removeItem(key);
        else localStorage.setItem(key, value);
        return true;
    } catch {
        return false;
    }
}
