// The floor with what stands in it: doors, which can be dragged along the walls, pipes and bare parts.

import {el, follow, refill, svg} from './dom.js';
import {samePair} from './names.js';
import {Drawing, flip, list, pointNode, freeSides} from './planview.js';

const STEP = 10; // mm: a door is only put roughly by hand, the tape says the rest

export class RoomPlan {
  #held = null; // {name, wall, from}: the door under the hand, where it would go

  constructor(ctx) {
    this.ctx = ctx;
    this.drawing = new Drawing('Plan of the room', 'room');
    this.words = el('p.why');
    this.element = el('section.card', {'aria-label': 'The room on the plan', hidden: true}, el('h2', {}, 'On the plan'), this.words, this.drawing.element);
    this.drawing.redraw = () => this.update();
  }

  update() {
    const {survey, store} = this.ctx;
    this.element.hidden = !survey.answer && !survey.working;
    this.drawing.element.toggleAttribute('hidden', !survey.answer);
    if (!survey.answer) {
      refill(this.words, 'The floor is being worked out; a few seconds.');
      return;
    }
    const doors = store.job.doors ?? [];
    refill(
      this.words,
      doors.length ? 'Drag a door along the walls to where it is, roughly; then type what the tape says.' : 'Doors, pipes and bare parts show here as you add them.',
    );
    const {answer} = survey;
    const at = new Map(Object.entries(answer.points).map(([name, p]) => [name, flip([p.x, p.y])]));
    const ring = answer.outline.map((name) => at.get(name));
    this.drawing.frame(ring, 46);
    const away = freeSides(answer.outline, ring);
    refill(
      this.drawing.element,
      svg('polygon.ground', {points: list(ring)}),
      ...(answer.islands ?? []).map((island) => svg('polygon.hole', {points: list(island.corners.map((name) => at.get(name)))})),
      ...answer.outline.map((name) => pointNode(this.drawing, name, at.get(name), {corner: true, away: away.get(name)})),
      ...(store.job.pipes ?? []).flatMap((pipe) => this.#pipe(pipe, pipe.at ? flip(pipe.at) : at.get(pipe.name))),
      ...doors.flatMap((door) => this.#door(this.#held?.name === door.name ? {...door, ...this.#held} : door, at)),
    );
  }

  #pipe({name, diameter}, place) {
    if (!place) return [];
    const [cx, cy] = place;
    return [
      svg('g.pipe', {}, svg('circle', {cx, cy, r: Math.max(diameter / 2, 3 * this.drawing.k)}), this.drawing.text(place, name, {dy: -9, size: 11, name: 'letter'})),
    ];
  }

  #door(door, at) {
    const [p, q] = door.wall.map((name) => at.get(name));
    if (!p || !q) return [];
    const long = Math.hypot(q[0] - p[0], q[1] - p[1]);
    const along = (mm) => [0, 1].map((i) => p[i] + ((q[i] - p[i]) * mm) / long);
    const [a, b, middle] = [along(door.from), along(door.from + door.width), along(door.from + door.width / 2)];
    const grip = svg(
      'g.handle.door',
      {
        tabindex: 0,
        role: 'slider',
        'data-key': `door-grip-${door.name}`,
        'aria-label': `Door ${door.name} along the wall from ${door.wall.join(' to ')}`,
        'aria-valuemin': 0,
        'aria-valuemax': Math.max(0, Math.floor(long - door.width)),
        'aria-valuenow': Math.round(door.from),
        'aria-valuetext': `begins ${Math.round(door.from)} mm from ${door.wall[0]}`,
        onpointerdown: (event) => this.#down(event, door),
        onkeydown: (event) => this.#key(event, door),
      },
      svg('circle.reach', {r: 22}),
      svg('rect.grip', {x: -15, y: -10, width: 30, height: 20, rx: 10}),
      svg('text', {y: 4, 'font-size': 11}, door.name),
    );
    return [svg('line.opening', {x1: a[0], y1: a[1], x2: b[0], y2: b[1]}), this.drawing.at(middle, grip)];
  }

  #down(event, door) {
    event.preventDefault();
    event.currentTarget.focus({preventScroll: true});
    follow(this.drawing.element, event.pointerId, {onMove: (moved) => this.#move(moved), onUp: () => this.#up()});
    this.#held = {name: door.name, wall: door.wall, from: door.from, width: door.width, isMoved: false};
  }

  #move(event) {
    if (!this.#held) return;
    const place = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.drawing.element.getScreenCTM().inverse());
    Object.assign(this.#held, this.#nearest([place.x, place.y], this.#held), {isMoved: true});
    this.update();
  }

  // The wall nearest to a place of the drawing and where on it a door would begin whose middle is put there.
  #nearest([x, y], {wall: own, width}) {
    const {answer} = this.ctx.survey;
    const places = Object.fromEntries(answer.outline.map((name) => [name, flip([answer.points[name].x, answer.points[name].y])]));
    const walls = answer.walls.map(({from, to}) => (samePair([from, to], own) ? own : [from, to]));
    const found = walls.map((wall) => {
      const [p, q] = wall.map((name) => places[name]);
      const long = Math.hypot(q[0] - p[0], q[1] - p[1]);
      const [ux, uy] = [(q[0] - p[0]) / long, (q[1] - p[1]) / long];
      const middle = Math.min(Math.max((x - p[0]) * ux + (y - p[1]) * uy, width / 2), long - width / 2);
      const far = Math.hypot(p[0] + middle * ux - x, p[1] + middle * uy - y);
      return {wall, from: Math.max(0, Math.round((middle - width / 2) / STEP) * STEP), far, fits: long >= width};
    });
    const {wall, from} = found.filter(({fits}) => fits).sort((a, b) => a.far - b.far)[0] ?? {wall: own, from: 0};
    return {wall, from};
  }

  #up() {
    const held = this.#held;
    this.#held = null;
    if (held?.isMoved) this.#put(held);
  }

  #key(event, door) {
    const step = {ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -10, PageUp: 10}[event.key];
    if (!step) return;
    event.preventDefault();
    const most = Number(event.currentTarget.getAttribute('aria-valuemax'));
    this.#put({...door, from: Math.min(Math.max(0, door.from + step * STEP * (event.shiftKey ? 10 : 1)), most)});
  }

  #put({name, wall, from}) {
    this.ctx.store.change(`moved ${name}`, (job) => Object.assign(job.doors.find((door) => door.name === name), {wall, from}));
  }
}
