/**
 * Lays a picture of a face flat: where the arrows are placed, a mm is as long everywhere. Pure arrays.
 *
 * The model says where a grid of points of the face lies in the picture. Between four of them the way is bilinear,
 * which over so small a cell is the same as the true perspective to a hundredth of a pixel.
 */

/** Cells of the grid along a side. */
export const CELLS = 64;

/**
 * Returns the points of the face at which the picture is asked for, row by row from the top left.
 * @param {number} half_mm half the side of the flat picture
 * @returns {[number, number][]}
 */
export function gridOf(half_mm) {
    const at = (i) => (2 * i) / CELLS - 1;
    return Array.from({ length: (CELLS + 1) ** 2 }, (_, i) => [
        half_mm * at(i % (CELLS + 1)), -half_mm * at(Math.floor(i / (CELLS + 1))),
    ]);
}

/**
 * Returns how many pixels a side of the flat picture needs to keep what the picture shows.
 * @param {([number, number] | null)[]} nodes of the grid in the picture
 */
export function sideFor(nodes) {
    const middle = (CELLS / 2) * (CELLS + 1);
    const [left, right] = [nodes[middle + CELLS / 4], nodes[middle + (3 * CELLS) / 4]];
    const across = left && right ? 2 * Math.hypot(right[0] - left[0], right[1] - left[1]) : 0;
    return Math.round(Math.min(Math.max(across, 480), 1440));
}

/**
 * Paints the flat picture.
 * @param {{data: Uint8ClampedArray, width: number, height: number}} picture
 * @param {([number, number] | null)[]} nodes of the grid in the picture
 * @param {number} side px
 * @returns {Uint8ClampedArray} red, green, blue, opacity; grey where the picture shows nothing
 */
export function flatten(picture, nodes, side) {
    const flat = new Uint8ClampedArray(4 * side * side).fill(119);
    const columns = Array.from({ length: side }, (_, x) => cell(x, side));
    for (let y = 0; y < side; y += 1) {
        const line = nodesOnLine(nodes, cell(y, side));
        for (let x = 0; x < side; x += 1) {
            const [column, along] = columns[x];
            const to = 4 * (y * side + x);
            const from = 2 * column;
            sample(picture, line[from] + along * (line[from + 2] - line[from]), line[from + 1] + along * (line[from + 3] - line[from + 1]), flat, to);
            flat[to + 3] = 255;
        }
    }
    return flat;
}

/** Returns where the grid's columns cross a line of pixels, in the picture; no number where that is not in it. */
function nodesOnLine(nodes, [row, down]) {
    const line = new Float64Array(2 * (CELLS + 1)).fill(NaN);
    for (let i = 0; i <= CELLS; i += 1) {
        const [above, under] = [nodes[row * (CELLS + 1) + i], nodes[(row + 1) * (CELLS + 1) + i]];
        if (above && under) {
            line[2 * i] = (1 - down) * above[0] + down * under[0];
            line[2 * i + 1] = (1 - down) * above[1] + down * under[1];
        }
    }
    return line;
}

/** Returns in which cell the middle of a pixel lies, and how far along. */
function cell(pixel, side) {
    const at = ((pixel + 0.5) * CELLS) / side;
    const whole = Math.min(Math.floor(at), CELLS - 1);
    return [whole, at - whole];
}

/** Copies what the picture shows at a point, between the middles of its pixels. */
function sample({ data, width, height }, x, y, flat, to) {
    const u = x - 0.5;
    const v = y - 0.5;
    // Also where one is no number.
    if (!(u >= 0 && v >= 0 && u <= width - 1 && v <= height - 1)) {
        return;
    }
    const left = Math.min(Math.floor(u), width - 2);
    const top = Math.min(Math.floor(v), height - 2);
    const along = u - left;
    const down = v - top;
    const from = 4 * (top * width + left);
    for (let i = 0; i < 3; i += 1) {
        const upper = from + i;
        const lower = upper + 4 * width;
        flat[to + i] = (1 - down) * ((1 - along) * data[upper] + along * data[upper + 4])
            + down * ((1 - along) * data[lower] + along * data[lower + 4]);
    }
}
