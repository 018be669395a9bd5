/** Reads a picture that was taken or chosen, and makes it small enough to work with. It never leaves the phone here. */

import { h } from '../dom.js';

/** The longest side, px: enough for an arrow's width, and far below what a canvas may hold on any phone. */
export const LONGEST = 2048;

/**
 * Returns the size at which a picture is kept.
 * @param {number} width
 * @param {number} height
 */
export function keptSize(width, height) {
    const less = Math.min(1, LONGEST / Math.max(width, height));
    return { width: Math.max(1, Math.round(width * less)), height: Math.max(1, Math.round(height * less)) };
}

/**
 * Reads a picture. Writing it anew leaves behind where and when it was taken.
 * @param {Blob} file
 * @returns {Promise<{canvas: HTMLCanvasElement, blob: Blob}>}
 */
export async function readPicture(file) {
    const seen = await decoded(file);
    const { width, height } = keptSize(seen.width, seen.height);
    const canvas = h('canvas', { width, height });
    const pen = canvas.getContext('2d', { alpha: false, willReadFrequently: true });
    pen.imageSmoothingQuality = 'high';
    pen.drawImage(seen, 0, 0, width, height);
    seen.close?.();
    const blob = await new Promise((done) => { canvas.toBlob(done, 'image/jpeg', 0.9); });
    if (blob === null) {
        throw new Error('The picture is too large for this phone; take it at a smaller size.');
    }
    return { canvas, blob };
}

async function decoded(file) {
    try {
        return await createImageBitmap(file);
    } catch {
        throw new Error(`${file.name ? `“${file.name}”` : 'This file'} cannot be read as a picture; choose a JPEG or PNG.`);
    }
}
