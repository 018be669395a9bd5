/** What is asked of the model while the arrows of an end are placed, on the face and on a picture alike. */

/** Returns the questions about the draft that `draft()` returns; it may alter while they stand. */
export function questions(app, draft) {
    return {
        look: (arrows) => {
            const { face, shaft_mm, distance_m } = draft();
            return app.call('look', { face: face.code, shaft_mm, distance_m, arrows, units: app.units });
        },
        typed: async (text) => (await app.call('typed', { face: draft().face.code, text })).arrows,
    };
}
