/** From a picture to the face and back, by the model's method `rectify`. */

/** How many points of a ring are drawn. */
const AROUND = 72;

/**
 * Fixes where the face lies in the picture.
 * @param {(method: string, input: object) => Promise<object>} compute the model's methods
 * @param {import('./taps.js').Taps} taps
 * @returns {Promise<{toPx: (mm: [number, number][]) => Promise<([number, number] | null)[]>}>} throws what is wrong
 *   with the taps
 */
export async function fix(compute, taps) {
    const px = inside(taps.ring);
    const found = await compute('rectify', {
        points_px: px, ring_px: taps.ring, ring_radius_mm: taps.radius_mm, centre_px: taps.middle, top_px: taps.top,
    });
    const mm = found.points_mm;
    if (mm.includes(null)) {
        throw new Error('The ring runs beyond what the picture can show; tap points all around one ring.');
    }
    return {
        // The way back is the same method with the two planes changed about.
        async toPx(points) {
            const back = await compute('rectify', { points_px: points, image_px: mm, plane_mm: px });
            return back.points_mm;
        },
    };
}

/** Returns the corners of a box well inside a ring, whose map says all of the plane's. */
function inside(ring) {
    const [low, high] = [Math.min, Math.max].map((of) => [0, 1].map((i) => of(...ring.map((at) => at[i]))));
    const at = (part) => low.map((v, i) => v + part[i] * (high[i] - v));
    return [[0.25, 0.25], [0.75, 0.25], [0.75, 0.75], [0.25, 0.75]].map(at);
}

/**
 * Returns the rings of a face in the picture, each as the points of a line.
 * @param {{toPx: Function}} fixed
 * @param {import('./face.js').Face} face
 */
export async function ringsInPicture(fixed, face) {
    const circle = (r) => Array.from({ length: AROUND }, (_, i) => {
        const turn = (2 * Math.PI * i) / AROUND;
        return [r * Math.sin(turn), r * Math.cos(turn)];
    });
    const points = await fixed.toPx(face.zones.flatMap((zone) => circle(zone.outer_radius_mm)));
    return face.zones.map((_, i) => points.slice(i * AROUND, (i + 1) * AROUND));
}
