// The photo with its marks: an SVG whose viewBox is counted in pixels of the upright full-size picture,
// so a mark is stored as it is drawn at any zoom. (0, 0) is the centre of the top-left pixel.

import {svg, el, refill, iconButton} from '../common/dom.js';
import {Loupe} from './loupe.js';
import {ghostNode, markNode, REACH} from './marknodes.js';
import {seenNode} from './seen.js';
import {gettext} from '../common/words.js';

const TOUCH = 12; // CSS px within which a tap means the mark itself; between the two it may mean a point close beside it
const SLIP = 6; // CSS px a tap may slide
const HOLD = 280; // ms after which a resting finger aims instead of tapping
const DEEPEST = 12; // CSS px per photo pixel at most
const TRACED = 6000; // ms for which the edges of a snap are shown

export class Stage {
  // hooks: onPlace(x, y), onDrag(mark, x, y) while it moves, onMove(mark, x, y) once it is let go, onSelect(mark, isTap), onNudge(mark, dx, dy), onSnap(mark), onDelete(mark), onStroke(places), onEscape()
  // tapsPlace: a tap on or near a mark is a new one all the same; a mark is dragged, or chosen by pressing it for a moment
  constructor(hooks) {
    this.hooks = hooks;
    this.size = [4, 3];
    this.view = {x: -0.5, y: -0.5, w: 4, h: 3};
    this.marks = [];
    this.ghosts = [];
    this.seen = [];
    this.selected = '';
    this.pointers = new Map();
    this.image = svg('image', {preserveAspectRatio: 'none'});
    this.lines = svg('g');
    this.traces = svg('g');
    this.layer = svg('g');
    this.aim = svg('g.aim', {visibility: 'hidden'}, svg('path', {d: 'M-26 0h20M6 0h20M0-26v20M0 6v20'}), svg('circle', {r: 2}));
    this.canvas = svg(
      'svg.canvas',
      {
        tabindex: 0,
        role: 'application',
        'aria-label': gettext('Photo. Arrow keys move the cross, Enter puts the point there, plus and minus zoom. Tab goes to the marks.'),
      },
      this.image,
      this.lines,
      this.traces,
      this.layer,
      this.aim,
    );
    this.loupe = new Loupe();
    this.tool = el('div.tool');
    this.element = el(
      'div.stage',
      {},
      el('div.window', {}, this.canvas, this.loupe.element),
      el(
        'div.zoomers',
        {},
        this.tool,
        iconButton('plus', gettext('Zoom in'), () => this.zoom(1.6)),
        iconButton('minus', gettext('Zoom out'), () => this.zoom(1 / 1.6)),
        iconButton('whole', gettext('Whole photo'), () => this.fit()),
      ),
    );
    this.offer(null);
    this.#listen();
    new ResizeObserver(() => this.#scaleMarks()).observe(this.canvas);
  }

  show(href, size, label) {
    this.size = size;
    for (const image of [this.image, this.loupe.image]) {
      image.setAttribute('href', href);
      image.setAttribute('x', -0.5);
      image.setAttribute('y', -0.5);
      image.setAttribute('width', size[0]);
      image.setAttribute('height', size[1]);
    }
    this.element.setAttribute('aria-label', label);
    this.untrace();
    this.fit();
  }

  // What can be done with the selected mark, right under the photo.
  offer(button) {
    refill(this.tool, button ?? el('span', {}, gettext('Scroll or pinch to zoom, drag to move')));
  }

  // Lines shown for a moment, and what lies where they meet in the magnifier. lines: [[x, y], [x, y]]...
  trace(at, lines) {
    this.untrace();
    this.traces.replaceChildren(
      ...lines.flatMap((points) => ['under', 'over'].map((part) => svg(`polyline.trace.${part}`, {points: points.map((p) => p.join(',')).join(' ')}))),
    );
    this.loupe.look(at, this.scale, at.x > this.view.x + this.view.w / 2 ? 'left' : 'right');
    this.traced = at;
    this.tracing = setTimeout(() => this.untrace(), TRACED);
  }

  untrace() {
    clearTimeout(this.tracing);
    if (this.traced) this.loupe.hide();
    this.traced = null;
    this.traces.replaceChildren();
  }

  // marks: {key, x, y, label, name, kind: "point" | "edge"}; lines: {points: [[x, y]...], kind}; ghosts: {name, x, y}; seen: {x, y, sure, point}
  draw({marks, lines, ghosts, seen = [], selected, target, strokes = false}) {
    this.strokes = strokes; // a drag draws a line instead of moving the picture
    this.marks = marks;
    this.ghosts = ghosts;
    this.seen = seen;
    this.selected = selected;
    this.target = target;
    if (this.traced && !marks.some((mark) => Math.hypot(mark.x - this.traced.x, mark.y - this.traced.y) < 1)) this.untrace();
    this.lines.replaceChildren(...lines.map((line) => svg(`polyline.${line.kind}`, {points: line.points.map((p) => p.join(',')).join(' ')})));
    const focused = document.activeElement?.dataset?.mark;
    this.layer.replaceChildren(
      ...ghosts.map((ghost) => ghostNode(ghost, ghost.name === target)),
      ...seen.map(seenNode),
      ...marks.map((mark) => markNode(mark, mark.key === this.selected)),
    );
    this.#holdOn();
    this.#scaleMarks();
    if (focused) this.focusMark(focused);
  }

  nearestGhost(at) {
    return this.#nearest(at, this.ghosts);
  }

  focusMark(key) {
    this.layer.querySelector(`[data-mark="${CSS.escape(key)}"]`)?.focus({preventScroll: true});
  }

  // Screen transforms ---------------------------------------------------------

  get scale() {
    // photo px per CSS px
    const box = this.canvas.getBoundingClientRect();
    return box.width && box.height ? Math.max(this.view.w / box.width, this.view.h / box.height) : 1;
  }

  toPhoto(event) {
    return new DOMPoint(event.clientX, event.clientY).matrixTransform(this.canvas.getScreenCTM().inverse());
  }

  fit() {
    this.view = {x: -0.5, y: -0.5, w: this.size[0], h: this.size[1]};
    this.#applyView();
  }

  zoom(factor, about = null) {
    const {x, y, w, h} = this.view;
    const least = Math.min(1 / DEEPEST / this.scale, 1);
    const f = Math.min(Math.max(1 / factor, least), Math.max(this.size[0] / w, 1) * 1.15);
    const at = about ?? {x: x + w / 2, y: y + h / 2};
    this.view = {x: at.x - (at.x - x) * f, y: at.y - (at.y - y) * f, w: w * f, h: h * f};
    this.#applyView();
  }

  pan(dx, dy) {
    this.view.x -= dx;
    this.view.y -= dy;
    this.#applyView();
  }

  #applyView() {
    const view = this.view;
    const keep = 0.85; // the picture never leaves the window altogether
    view.x = Math.min(Math.max(view.x, -view.w * keep), this.size[0] - view.w * (1 - keep));
    view.y = Math.min(Math.max(view.y, -view.h * keep), this.size[1] - view.h * (1 - keep));
    this.canvas.setAttribute('viewBox', `${view.x} ${view.y} ${view.w} ${view.h}`);
    this.#scaleMarks();
  }

  #scaleMarks() {
    const k = this.scale;
    for (const node of this.layer.children) node.setAttribute('transform', `translate(${node.place.x} ${node.place.y}) scale(${k})`);
    if (this.cross) this.aim.setAttribute('transform', `translate(${this.cross.x} ${this.cross.y}) scale(${k})`);
  }

  #nearest(at, among = this.marks) {
    const reach = REACH * this.scale;
    const near = among
      .map((mark) => ({mark, far: Math.hypot(mark.x - at.x, mark.y - at.y)}))
      .filter(({far}) => far <= reach)
      .sort((a, b) => a.far - b.far);
    return near[0]?.mark;
  }

  // Pointers -------------------------------------------------------------------

  #listen() {
    const c = this.canvas;
    c.addEventListener('pointerdown', (event) => this.#down(event));
    c.addEventListener('pointermove', (event) => this.#move(event));
    c.addEventListener('pointerup', (event) => this.#up(event));
    c.addEventListener('pointercancel', (event) => {
      this.pointers.delete(event.pointerId);
      this.#rest();
    });
    c.addEventListener('pointerleave', (event) => {
      if (event.pointerType === 'mouse' && !this.pointers.size) this.loupe.hide();
    });
    c.addEventListener(
      'wheel',
      (event) => {
        event.preventDefault();
        this.zoom(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.0018)), this.toPhoto(event));
      },
      {passive: false},
    );
    c.addEventListener('contextmenu', (event) => event.preventDefault());
    c.addEventListener('keydown', (event) => this.#key(event));
    c.addEventListener('focus', () => {
      if (c.matches(':focus-visible')) this.#showCross();
    });
    c.addEventListener('blur', () => this.#hideCross());
    this.layer.addEventListener('focusin', (event) => {
      const key = event.target.closest('.mark')?.dataset.mark;
      if (key && key !== this.selected && !this.pointers.size) this.hooks.onSelect(this.marks.find((m) => m.key === key), false);
    });
  }

  #down(event) {
    if (event.button > 0) return;
    event.preventDefault();
    this.#hideCross();
    this.canvas.setPointerCapture(event.pointerId);
    const at = this.toPhoto(event);
    this.pointers.set(event.pointerId, {x: event.clientX, y: event.clientY, from: {x: event.clientX, y: event.clientY}});
    if (this.pointers.size > 1) {
      this.#rest();
      this.gesture = 'pinch';
      return;
    }
    const mark = this.#nearest(at);
    if (mark && this.hooks.tapsPlace)
      this.holding = setTimeout(() => {
        this.gesture = 'held';
        this.hooks.onSelect(mark, true);
      }, HOLD);
    this.gesture = mark ? 'mark' : 'tap';
    this.held = mark && {mark, dx: mark.x - at.x, dy: mark.y - at.y};
    if (!mark && event.pointerType !== 'mouse')
      this.holding = setTimeout(() => {
        this.gesture = 'aim';
        this.#look(at, event);
      }, HOLD);
  }

  #move(event) {
    const pointer = this.pointers.get(event.pointerId);
    const at = this.toPhoto(event);
    if (!pointer) {
      if (event.pointerType === 'mouse') this.#look(at, event);
      return;
    }
    const slid = Math.hypot(event.clientX - pointer.from.x, event.clientY - pointer.from.y) > SLIP;
    if (this.gesture === 'pinch') this.#pinch(event, pointer);
    if (this.gesture === 'tap' && slid) {
      clearTimeout(this.holding);
      this.gesture = this.strokes ? 'stroke' : 'pan';
      this.path = [this.toPhoto({clientX: pointer.from.x, clientY: pointer.from.y})];
      this.loupe.hide();
    }
    if (['mark', 'held'].includes(this.gesture) && slid) {
      clearTimeout(this.holding);
      this.gesture = 'drag';
      this.hooks.onSelect(this.held.mark, false);
    }
    if (this.gesture === 'stroke') this.#stroke(at, event);
    if (this.gesture === 'pan') this.pan((event.clientX - pointer.x) * this.scale, (event.clientY - pointer.y) * this.scale);
    if (this.gesture === 'aim') this.#look(at, event);
    if (this.gesture === 'drag') this.#drag(at, event);
    pointer.x = event.clientX;
    pointer.y = event.clientY;
  }

  // A line drawn by a finger, as it goes.
  #stroke(at, event) {
    this.path.push(this.inside(at));
    const points = this.path.map(({x, y}) => `${x},${y}`).join(' ');
    this.traces.replaceChildren(...['under', 'over'].map((part) => svg(`polyline.trace.${part}`, {points})));
    this.#look(at, event);
  }

  // An answer may come while a finger drags: the mark stays under it, unless it is gone.
  #holdOn() {
    if (this.gesture !== 'drag') return;
    const node = this.#nodeOf(this.held.mark);
    if (!node) this.#rest();
    else if (this.held.to) node.place = this.held.to;
  }

  #nodeOf(mark) {
    return this.layer.querySelector(`[data-mark="${CSS.escape(mark.key)}"]`);
  }

  #drag(at, event) {
    const {mark, dx, dy} = this.held;
    const to = this.inside({x: at.x + dx, y: at.y + dy});
    this.#nodeOf(mark).place = {...mark, ...to};
    this.held.to = to;
    this.#scaleMarks();
    this.#look(to, event);
    this.hooks.onDrag(mark, to.x, to.y);
  }

  #pinch(event, pointer) {
    const other = [...this.pointers.entries()].find(([id]) => id !== event.pointerId)?.[1];
    if (!other) return;
    const was = Math.hypot(pointer.x - other.x, pointer.y - other.y);
    const now = Math.hypot(event.clientX - other.x, event.clientY - other.y);
    const middle = this.toPhoto({clientX: (event.clientX + other.x) / 2, clientY: (event.clientY + other.y) / 2});
    if (was > 0) this.zoom(now / was, middle);
    this.pan(((event.clientX - pointer.x) / 2) * this.scale, ((event.clientY - pointer.y) / 2) * this.scale);
  }

  #up(event) {
    if (!this.pointers.delete(event.pointerId)) return;
    clearTimeout(this.holding);
    const at = this.inside(this.toPhoto(event));
    const {gesture, held} = this;
    if (this.pointers.size) return;
    this.#rest();
    const isBeside = held && this.target && (this.hooks.tapsPlace || Math.hypot(held.dx, held.dy) > TOUCH * this.scale);
    if (gesture === 'mark' && !isBeside) this.hooks.onSelect(held.mark, true);
    if (gesture === 'stroke') {
      this.untrace();
      this.hooks.onStroke(this.path);
    }
    if (gesture === 'drag' && held.to) this.hooks.onMove(held.mark, held.to.x, held.to.y);
    if (gesture === 'tap' || gesture === 'aim' || (gesture === 'mark' && isBeside)) this.hooks.onPlace(at.x, at.y);
    if (event.pointerType !== 'mouse') this.loupe.hide();
  }

  #rest() {
    clearTimeout(this.holding);
    this.gesture = '';
    this.held = null;
  }

  inside({x, y}) {
    return {x: Math.min(Math.max(x, 0), this.size[0] - 1), y: Math.min(Math.max(y, 0), this.size[1] - 1)};
  }

  #look(at, event) {
    const box = this.canvas.getBoundingClientRect();
    this.loupe.look(at, this.scale, event.clientX - box.left > box.width / 2 ? 'left' : 'right');
  }

  // Keys -----------------------------------------------------------------------

  #key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const arrow = {ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1]}[event.key];
    const mark = this.marks.find((m) => m.key === event.target.closest?.('.mark')?.dataset.mark);
    const seen = this.seen[event.target.closest?.('.seen')?.dataset.seen];
    if (arrow && mark) this.hooks.onNudge(mark, ...arrow.map((d) => d * (event.shiftKey ? 10 : 1)));
    else if (arrow) this.#moveCross(arrow.map((d) => d * (event.shiftKey ? 40 : 8) * this.scale));
    else if (event.key.toLowerCase() === 's' && mark) this.hooks.onSnap(mark);
    else if ((event.key === 'Delete' || event.key === 'Backspace') && mark) this.hooks.onDelete(mark);
    else if (event.key === '+' || event.key === '=') this.zoom(1.6, mark ?? this.cross);
    else if (event.key === '-') this.zoom(1 / 1.6, mark ?? this.cross);
    else if (event.key === '0') this.fit();
    else if (event.key === 'Escape') {
      this.hooks.onEscape();
      this.canvas.focus();
    } else if (event.key === 'Enter' && seen) this.hooks.onPlace(seen.x, seen.y);
    else if (event.key === 'Enter' && !mark && this.cross) this.hooks.onPlace(this.cross.x, this.cross.y);
    else return;
    event.preventDefault();
  }

  #showCross() {
    this.cross ??= {x: this.view.x + this.view.w / 2, y: this.view.y + this.view.h / 2};
    this.aim.setAttribute('visibility', 'visible');
    this.#scaleMarks();
  }

  #hideCross() {
    this.aim.setAttribute('visibility', 'hidden');
    this.cross = null;
    this.loupe.hide();
  }

  #moveCross([dx, dy]) {
    this.#showCross();
    this.cross = this.inside({x: this.cross.x + dx, y: this.cross.y + dy});
    const {x, y, w, h} = this.view;
    if (this.cross.x < x || this.cross.x > x + w || this.cross.y < y || this.cross.y > y + h) this.pan(-dx * 12, -dy * 12);
    this.#scaleMarks();
    this.loupe.look(this.cross, this.scale, this.cross.x > x + w / 2 ? 'left' : 'right');
  }
}
