/** What is gathered for one change and not kept yet: each setting once. */

/**
 * Returns the list with what was touched: steps of one setting add up, and are gone when they come to nothing; a value
 * that is said takes the place of what was gathered for it.
 */
export function gathered(list, { setting, name }, by, words) {
    const there = list.find((item) => item.setting === setting);
    const item = { setting, name, ...by, words };
    if (there?.by !== undefined && by.by !== undefined) {
        // To a ten-thousandth, so that 0.1 three times is 0.3.
        item.by = Math.round((there.by + by.by) * 1e4) / 1e4;
        item.words = `${there.words}, ${words}`;
    }
    const others = list.map((other) => (other === there ? item : other));
    const all = there ? others : [...list, item];
    return all.filter((other) => other.by !== 0);
}

/** Returns what the model takes of the list. */
export function asked(list) {
    return list.map(({ setting, by, to }) => (to === undefined ? { setting, by } : { setting, to }));
}
