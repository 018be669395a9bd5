/** Making elements. */

/**
 * Makes an element. Props: `class`, `dataset`, `on…` listeners, anything else an attribute; false and null leave it out.
 * @param {string} tag
 * @param {object | null} props
 * @param {...(Node | string | number | null | false | Array)} children
 * @returns {HTMLElement}
 */
export function h(tag, props, ...children) {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(props ?? {})) {
        if (value === null || value === undefined || value === false) {
            continue;
        }
        if (name.startsWith('on')) {
            made.addEventListener(name.slice(2), value);
        } else if (name === 'dataset') {
            Object.assign(made.dataset, value);
        } else {
            made.setAttribute(name, value === true ? '' : String(value));
        }
    }
    const kept = children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false);
    made.append(...kept.map((child) => (child instanceof Node ? child : String(child))));
    return made;
}

/**
 * Parses the text of an SVG picture.
 * @param {string} text
 * @returns {SVGSVGElement}
 */
export function svg(text) {
    return document.importNode(new DOMParser().parseFromString(text, 'image/svg+xml').documentElement, true);
}
