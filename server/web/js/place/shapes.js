/** Making elements of SVG. */

const SVG = 'http://www.w3.org/2000/svg';

/**
 * Makes an element of SVG.
 * @param {string} tag
 * @param {object | null} attributes false, null and undefined leave one out
 * @param {...(Node | string | null)} children
 * @returns {SVGElement}
 */
export function s(tag, attributes, ...children) {
    const made = document.createElementNS(SVG, tag);
    for (const [name, value] of Object.entries(attributes ?? {})) {
        if (value !== null && value !== undefined && value !== false) {
            made.setAttribute(name, String(value));
        }
    }
    made.append(...children.flat().filter((child) => child !== null));
    return made;
}

/** Returns a number as short as a picture needs it. */
export function short(number) {
    return String(Math.round(number * 1000) / 1000);
}

/** Returns the transform that moves by a point of CSS px. */
export function moveTo([x, y]) {
    return `translate(${short(x)} ${short(y)})`;
}

/**
 * Moves what is drawn without laying anything out, as a drag needs it.
 * @param {HTMLElement | SVGElement} element
 * @param {[number, number]} to CSS px
 */
export function slide(element, [x, y]) {
    element.style.transform = `translate(${short(x)}px, ${short(y)}px)`;
}
