/** How often a verdict was looked at while its data grew: each look outside a plan is a chance for a false word. */

const SLIP = 'looks';

/**
 * Notes a look and returns the how-many-eth it is. A look at the same groups is no new one; another last change is
 * another question.
 */
export async function looked(store, { question, change, groups }) {
    const all = (await store.slip(SLIP)) ?? {};
    const known = all[question]?.change === change ? all[question].groups : [];
    if (known.at(-1) === groups) return known.length;
    const seen = [...known, groups];
    // A full disk costs the count of looks, not the verdict.
    await store.putSlip(SLIP, { ...all, [question]: { change, groups: seen } }).catch(() => {});
    return seen.length;
}
