/**
 * The square on which points are placed: a ground, the marks on it, the loupe, and three ways to say a point: press,
 * look, lift; tap, then tap in the zoom; the arrow keys.
 */

import { h } from '../dom.js';
import { drawFigures, drawMarks } from './face.js';
import { pressOn } from './gesture.js';
import { aimKeys } from './keys.js';
import { loupe } from './loupe.js';
import { s, slide } from './shapes.js';
import { map, tapOn } from './tap.js';
import { toPlane } from './view.js';

/**
 * @typedef {object} PaneOptions
 * @property {() => import('./ground.js').Ground} makeGround
 * @property {(size: number) => import('./view.js').View} fit the view of the whole
 * @property {'press' | 'tap' | string} mode any other only shows
 * @property {string} label for a screen reader
 * @property {number} [shaft] diameter in units of the plane, drawn in the loupe
 * @property {(point: [number, number]) => void} onpoint a point of the plane
 * @property {(aiming: 'aiming' | 'leaving' | 'idle') => void} [onaim]
 */

/**
 * @param {PaneOptions} options
 * @returns {HTMLElement} with `marks(list)`, `figures(figures)`, `lines(node)`, `mode(name)`, `whole()`
 */
export function pane(options) {
    const it = parts(options);
    const drawn = { whole: options.fit(366), part: null, marks: [], figures: null, line: null, mode: options.mode };
    const draw = () => redraw(it, drawn);
    const show = (part) => {
        drawn.part = part;
        it.element.classList.toggle('zoomed', part !== null);
        draw();
    };
    it.map = map(options.makeGround(), options.fit, () => show(null));
    it.element.append(it.map.element);
    const press = listen(it, drawn, options, show);
    watchSize(it.element, (size) => {
        drawn.whole = options.fit(size);
        show(null);
    });
    return Object.assign(it.element, {
        marks: (list) => { drawn.marks = list; draw(); },
        figures: (figures) => { drawn.figures = figures; draw(); },
        /** Draws a line of the plane's own over the ground: `(view) => Node`. */
        lines: (line) => { drawn.line = line; draw(); },
        mode: (name) => {
            press.stop();
            drawn.mode = name;
            it.element.dataset.mode = name;
            show(null);
        },
        whole: () => show(null),
    });
}

function parts({ makeGround, label, mode }) {
    const ground = makeGround();
    const lens = loupe(ground);
    const over = s('svg', { class: 'over', 'aria-hidden': 'true' });
    const aim = h('div', { class: 'aim', 'aria-hidden': 'true' }, aimCross());
    const element = h('div', {
        class: 'pane', tabindex: '0', role: 'application', 'aria-label': label, dataset: { mode },
    }, ground.element, over, aim, lens.element);
    return { element, ground, over, aim, lens };
}

function aimCross() {
    const d = 'M-16 0H-4M4 0H16M0 -16V-4M0 4V16';
    return s('svg', { viewBox: '-18 -18 36 36' }, s('path', { class: 'casing', d }), s('path', { class: 'line', d }));
}

function redraw(it, drawn) {
    const view = drawn.part ?? drawn.whole;
    it.ground.draw(view);
    it.over.setAttribute('viewBox', `0 0 ${view.size} ${view.size}`);
    const line = drawn.line ? [drawn.line(view)] : [];
    it.over.replaceChildren(...line, drawFigures(drawn.figures, view), drawMarks(drawn.marks, view));
    it.map.show(drawn.whole, drawn.part);
}

function listen(it, drawn, options, show) {
    const sight = sightOf(it, drawn, options);
    const keys = aimKeys(it.element, {
        size: () => drawn.whole.size,
        onaim: (aim) => {
            if (drawn.part !== null) {
                show(null);
            }
            sight.begin(it.element.getBoundingClientRect());
            sight.aimAt(aim, aim);
        },
        onplace: (aim) => options.onpoint(toPlane(drawn.whole, aim)),
        onleave: sight.hide,
    });
    tapOn(it.element, {
        enabled: () => drawn.mode === 'tap',
        views: () => drawn,
        onpart: show,
        onpoint: options.onpoint,
    });
    return pressOn(it.element, {
        enabled: () => drawn.mode === 'press',
        size: () => drawn.whole.size,
        onbegin: (rect) => { keys.forget(); sight.begin(rect); },
        onstate: (state) => {
            follow(state, it.element, sight);
            options.onaim?.(state.phase === 'void' ? 'idle' : state.phase);
        },
        onplaced: ({ at }) => options.onpoint(toPlane(drawn.whole, at)),
    });
}

/** The loupe and the cross of the aim. All that is drawn anew is drawn at `begin`; `aimAt` only moves. */
function sightOf(it, drawn, options) {
    let room = null;
    return {
        begin(rect) {
            room = { left: -rect.left, top: -rect.top, right: window.innerWidth - rect.left, bottom: window.innerHeight - rect.top };
            it.lens.prepare(drawn.whole, drawn.marks, (options.shaft ?? 0) * drawn.whole.scale, drawn.line);
        },
        aimAt(thumb, aim) {
            it.lens.show(thumb, aim, room);
            slide(it.aim, aim);
            it.aim.classList.add('shown');
            it.element.classList.add('aiming');
        },
        hide() {
            it.lens.hide();
            it.aim.classList.remove('shown');
            it.element.classList.remove('aiming', 'leaving');
        },
    };
}

function follow(state, element, sight) {
    if (state.phase === 'aiming') {
        element.classList.remove('leaving');
        sight.aimAt(state.thumb, state.aim);
        return;
    }
    sight.hide();
    element.classList.toggle('leaving', state.phase === 'leaving');
}

function watchSize(element, onsize) {
    let was = 0;
    const watch = new ResizeObserver(() => {
        const size = element.clientWidth;
        if (size > 0 && size !== was) {
            was = size;
            onsize(size);
        }
    });
    watch.observe(element);
}
