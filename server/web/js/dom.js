/** Elements of HTML without a framework: made from a tag, properties and children; and SVG from the model's text. */

/**
 * Makes an element. Properties that begin with `on` are listeners, `dataset` an object, `class` the class list; what is
 * null, undefined or false is left out, true is an empty attribute.
 */
export function h(tag, props, ...children) {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(props ?? {})) {
        if (value === null || value === undefined || value === false) continue;
        if (name.startsWith('on')) element.addEventListener(name.slice(2), value);
        else if (name === 'dataset') Object.assign(element.dataset, value);
        else if (name === 'value' && 'value' in element) element.value = value;
        else element.setAttribute(name, value === true ? '' : String(value));
    }
    element.append(...there(children));
    return element;
}

/** Puts children in the place of those that an element has; what is null, undefined or false is left out. */
export function fill(element, ...children) {
    element.replaceChildren(...there(children));
}

const there = (children) => children.flat(3).filter((child) => child !== null && child !== undefined && child !== false);

/** Returns the element of an SVG text that the model made. */
export function svg(text) {
    // Read as a page's content is, a picture needs no namespace of its own.
    const parsed = new DOMParser().parseFromString(text, 'text/html').body.firstElementChild;
    return document.importNode(parsed, true);
}

/** Makes a button; `kind` is `main`, `plain` or `quiet`. */
export function button(words, onclick, kind = 'plain', props = {}) {
    return h('button', { type: 'button', class: `button ${kind}`, onclick: onclick && once(onclick), ...props }, words);
}

/** Returns the work so that it does not begin again while it is under way: a second touch does nothing twice. */
export function once(work) {
    let under_way = false;
    return async (event) => {
        if (under_way) return;
        under_way = true;
        try {
            await work(event);
        } finally {
            under_way = false;
        }
    };
}

/** Makes a field with its label above it; `hint` stands below. */
export function field(words, input, hint) {
    const id = `f${(field.count = (field.count ?? 0) + 1)}`;
    input.id = id;
    if (hint) input.setAttribute('aria-describedby', `${id}h`);
    return h('div', { class: 'field' }, h('label', { for: id }, words), input, hint && h('p', { class: 'hint', id: `${id}h` }, hint));
}

/** Makes an input for a line of text. */
export function line(value = '', props = {}) {
    return h('input', { type: 'text', autocomplete: 'off', autocapitalize: 'sentences', value: value ?? '', ...props });
}

/** Makes a choice of one among `{id, name}`. */
export function choice(options, chosen, props = {}) {
    const select = h('select', props, options.map(({ id, name }) => h('option', { value: id }, name)));
    if (chosen !== null && chosen !== undefined) select.value = chosen;
    return select;
}

/** Makes a list of paragraphs. */
export function paragraphs(lines, kind) {
    return (lines ?? []).map((words) => h('p', kind ? { class: kind } : {}, words));
}
