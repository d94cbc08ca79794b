// The grip at the first row's edge: dragged, or moved with the arrow keys, it tries another width of the first row.

import {follow, svg} from './dom.js';
import {gettext} from './words.js';

const LEAST = 20; // mm: a strip thinner than this cannot be sawn

const [X, Y] = [0, 1];
const KEYS = {ArrowUp: [Y, -1], ArrowLeft: [X, -1], ArrowDown: [Y, 1], ArrowRight: [X, 1], PageUp: [Y, -10], PageDown: [Y, 10]}; // mm, right and down

export class RowHandle {
  #held = null;
  asked = undefined; // the width last asked for, mm, while what is drawn has yet to follow

  // hooks: onTry(mm) while it is moved, onSet(mm) when it is let go
  constructor(hooks) {
    this.hooks = hooks;
  }

  // The grip for a plan, at `place` on the drawing; width: of the first row, most: the widest it can be, mm; way: which way on the screen the
  // row grows, a unit vector.
  node(drawing, place, {width, most, way}) {
    this.k = drawing.k;
    this.way = way;
    this.width = this.#held?.to ?? this.asked ?? width;
    this.most = most;
    const group = svg(
      'g.handle',
      {
        tabindex: 0,
        role: 'slider',
        'data-key': 'first-row',
        'aria-label': gettext('Width of the first row'),
        'aria-orientation': Math.abs(way[1]) > Math.abs(way[0]) ? 'vertical' : 'horizontal',
        'aria-valuemin': LEAST,
        'aria-valuemax': Math.floor(most),
        'aria-valuenow': Math.round(this.width),
        'aria-valuetext': `${Math.round(this.width)} mm`,
        onpointerdown: (event) => this.#down(event, drawing.element),
        onkeydown: (event) => this.#key(event),
      },
      svg('circle.reach', {r: 22}),
      svg('circle.grip', {r: 12}),
      svg('path', {d: 'M-4.500-2.500 0-7l4.500 4.500M-4.500 2.500 0 7l4.500-4.500', transform: `rotate(${(Math.atan2(way[1], way[0]) * 180) / Math.PI - 90})`}),
    );
    return drawing.at(place, group);
  }

  #within(mm) {
    return Math.min(Math.max(Math.round(mm), LEAST), Math.floor(this.most));
  }

  #down(event, element) {
    event.preventDefault();
    event.currentTarget.focus({preventScroll: true});
    follow(element, event.pointerId, {onMove: (moved) => this.#move(moved), onUp: () => this.#up()});
    this.#held = {x: event.clientX, y: event.clientY, from: this.width, k: this.k, to: undefined};
  }

  #move(event) {
    if (!this.#held) return;
    const {x, y, from, k} = this.#held;
    const to = this.#within(from + ((event.clientX - x) * this.way[0] + (event.clientY - y) * this.way[1]) * k);
    if (to === (this.#held.to ?? Math.round(this.#held.from))) return;
    this.#held.to = to;
    this.hooks.onTry(to);
  }

  #up() {
    const {to} = this.#held ?? {};
    this.#held = null;
    if (to !== undefined) this.hooks.onSet(to);
  }

  // A key moves the edge the way it points on the screen; one that points along the edge moves it as right and down do.
  #key(event) {
    const [axis, step] = KEYS[event.key] ?? [];
    if (!step) return;
    event.preventDefault();
    const isBack = this.way[axis] < -0.3; // the row grows upwards, or to the left
    const to = this.#within(this.width + (isBack ? -step : step) * (event.shiftKey ? 10 : 1));
    this.width = to;
    this.hooks.onTry(to);
    clearTimeout(this.resting);
    this.resting = setTimeout(() => this.hooks.onSet(to), 700);
  }
}
