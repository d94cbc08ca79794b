// The empty sheet: whoever has a tape only draws the outline roughly, corner after corner, and types the lengths. It is no measure: it tells
// how the walls turn, and left from right.

import {el, follow, refill, say, svg} from '../common/dom.js';
import {nextName, pointNames} from '../common/names.js';
import {list, pointNode} from '../common/planview.js';
import {outward, SHEET} from '../common/sketchview.js';
import {gettext} from '../common/words.js';

const [WIDE, HIGH] = SHEET; // a cell is a tenth of its height
const CELL = 450;
const SNAP = 200; // a wall so nearly level or upright is drawn so; so near another corner is that corner
const REACH = 22; // CSS px round a corner from which it is dragged
const TOUCH = 12; // CSS px within which a tap means the corner itself; a little farther off begins a short wall
const SLIP = 6; // CSS px a tap may slide
const ARROWS = {ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1]};

const turned = ([x, y]) => [x, HIGH - y]; // y up in the job, down on the screen, and back

export class Sheet {
  #held = null; // {name, to}: a corner that is being dragged
  #isOnTheWay = false; // the last tap put a corner: one on the first of all closes the outline
  #aim = null; // the keys' cross, once it was used

  // onPick(name): a corner was tapped; chosen(): corners picked so far, pair(): the length asked for.
  constructor(ctx, {onPick, chosen, pair}) {
    Object.assign(this, {ctx, onPick, chosen, pair});
    this.canvas = svg('svg.sheet-canvas', {
      viewBox: `0 0 ${WIDE} ${HIGH}`,
      tabindex: 0,
      role: 'application',
      'aria-label': gettext('Empty sheet. Arrow keys move the cross, Enter puts the next corner there. Tab goes to the corners.'),
      onpointerdown: (event) => this.#down(event),
      onkeydown: (event) => this.#key(event),
    });
    // What a pointer means is settled when it is lifted; a click of the keyboard or a screen reader goes to the corner.
    this.canvas.addEventListener('click', (event) => event.detail && event.stopPropagation(), {capture: true});
    this.words = el('p.why', {'aria-live': 'polite'});
    this.element = el('section.sheet', {'aria-label': gettext('The outline, drawn by hand'), hidden: true}, this.words, this.canvas);
    new ResizeObserver(() => this.#draw()).observe(this.canvas);
  }

  // Sheet units per CSS px, as the browser draws it.
  get #k() {
    return 1 / (this.canvas.getScreenCTM()?.a || 1);
  }

  get #places() {
    const {outline = [], sketch = {}} = this.ctx.store.job;
    return new Map(outline.filter((name) => sketch[name]).map((name) => [name, turned(this.#held?.name === name && this.#held.to ? this.#held.to : sketch[name])]));
  }

  update() {
    const count = this.#places.size;
    refill(
      this.words,
      count < 3
        ? gettext('Draw the room roughly, as seen from above: tap its corners one after the other, round the walls. Sizes do not matter, turns do.')
        : gettext('Tap on for more corners, drag one to move it. When you are round, type the lengths; tap two corners to choose another length.'),
    );
    this.#draw();
  }

  #draw() {
    const k = this.#k;
    const at = this.#places;
    const names = [...at.keys()];
    const ring = [...at.values()];
    const drawing = {k, at: (place, ...nodes) => svg('g', {transform: `translate(${place[0]} ${place[1]}) scale(${k})`}, ...nodes)};
    const away = ring.length > 2 ? outward(names, ring) : new Map();
    const pair = (this.pair() ?? []).map((name) => at.get(name));
    refill(
      this.canvas,
      grid(),
      ring.length > 2 ? svg('polygon.sketched', {points: list(ring)}) : '',
      ring.length > 1 ? svg('polyline.drawn', {points: list(ring)}) : '',
      ring.length > 2 ? svg('line.closing', {x1: ring.at(-1)[0], y1: ring.at(-1)[1], x2: ring[0][0], y2: ring[0][1]}) : '',
      pair.length === 2 && pair.every(Boolean) ? svg('line.next', {x1: pair[0][0], y1: pair[0][1], x2: pair[1][0], y2: pair[1][1]}) : '',
      ...names.map((name, i) => pointNode(drawing, name, ring[i], {corner: true, chosen: this.chosen().includes(name), onPoint: this.onPick, away: away.get(name)})),
      this.#aim ? drawing.at(turned(this.#aim), svg('g.aim', {}, svg('path', {d: 'M-16 0H-4M4 0H16M0-16V-4M0 4V16'}))) : '',
    );
  }

  #placeOf(event) {
    const {x, y} = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.canvas.getScreenCTM().inverse());
    return turned([Math.min(Math.max(x, 0), WIDE), Math.min(Math.max(y, 0), HIGH)]);
  }

  #nearest([x, y], px) {
    const reach = px * this.#k;
    const far = (name) => Math.hypot(this.ctx.store.job.sketch[name][0] - x, this.ctx.store.job.sketch[name][1] - y);
    return [...this.#places.keys()].filter((name) => far(name) <= reach).sort((a, b) => far(a) - far(b))[0];
  }

  #down(event) {
    if (event.button > 0) return;
    event.preventDefault();
    this.#aim = null;
    const place = this.#placeOf(event);
    const letter = event.target.closest('rect, text')?.closest('.spot')?.dataset.key?.slice('point-'.length);
    const name = letter ?? this.#nearest(place, REACH);
    const from = [event.clientX, event.clientY];
    let isDrag = false;
    follow(this.canvas, event.pointerId, {
      onMove: (moved) => {
        isDrag ||= Math.hypot(moved.clientX - from[0], moved.clientY - from[1]) > SLIP;
        if (!name || !isDrag) return;
        this.#held = {name, to: this.#placeOf(moved)};
        this.#draw();
      },
      onUp: () => {
        const to = this.#held?.to;
        this.#held = null;
        if (to) this.#move(name, to);
        else if (!isDrag) this.#tap(letter ?? this.#nearest(place, TOUCH), place);
      },
    });
  }

  #tap(name, place) {
    const isClosing = this.#isOnTheWay && this.#places.size > 2 && name === this.ctx.store.job.outline[0];
    this.#isOnTheWay = !name;
    if (!name) this.#add(place);
    else if (isClosing) say(gettext('That is once round the room. Now type the lengths.'));
    else this.onPick(name);
  }

  #key(event) {
    if (event.target !== this.canvas) return;
    const step = ARROWS[event.key];
    if (step) this.#aim = (this.#aim ?? [WIDE / 2, HIGH / 2]).map((part, i) => Math.min(Math.max(part + step[i] * (event.shiftKey ? CELL : CELL / 5), 0), [WIDE, HIGH][i]));
    else if (event.key === 'Enter' && this.#aim) this.#add(this.#aim);
    else return;
    event.preventDefault();
    this.#draw();
  }

  #add(place) {
    const {store} = this.ctx;
    const name = nextName(new Set(pointNames(store.job)));
    const [x, y] = this.#squared(place);
    store.change(gettext('drew corner {name}', {name}), (job) => {
      job.outline = [...(job.outline ?? []), name];
      job.sketch = {...job.sketch, [name]: [x, y]};
    });
    say(gettext('{name} drawn.', {name}));
  }

  // Nearly level or upright from the last corner, or to the first, is meant to be.
  #squared([x, y]) {
    const {outline = [], sketch = {}} = this.ctx.store.job;
    const known = [outline.at(-1), outline[0]].map((name) => sketch[name]).filter(Boolean);
    const plain = [x, y].map((value) => Math.round(value / 10) * 10);
    const [level, upright] = plain.map((value, i) => known.map((spot) => spot[i]).find((other) => Math.abs(other - value) <= SNAP) ?? value);
    const isTaken = Object.values(sketch).some((spot) => spot[0] === level && spot[1] === upright);
    if (!isTaken) return [level, upright];
    // Both would put it on another corner: a short wall goes where it goes most.
    return Math.abs(plain[0] - level) > Math.abs(plain[1] - upright) ? [plain[0], upright] : [level, plain[1]];
  }

  #move(name, place) {
    this.ctx.store.change(gettext('moved {name} on the drawing', {name}), (job) => {
      job.sketch[name] = place.map((part) => Math.round(part / 10) * 10);
    });
  }
}

function grid() {
  const lines = [];
  for (let x = CELL; x < WIDE; x += CELL) lines.push(`M${x} 0V${HIGH}`);
  for (let y = CELL; y < HIGH; y += CELL) lines.push(`M0 ${y}H${WIDE}`);
  return svg('path.cells', {d: lines.join('')});
}
