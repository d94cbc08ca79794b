// The floor with what stands in it. Doors, pipes and bare parts are put on it by a tap, or by the keys with a cross, and dragged about.

import {el, follow, refill, say, svg} from '../common/dom.js';
import {isInside, offEach, ROUGH_PM, roughly, twoWalls, wallLines} from '../fields/offwalls.js';
import {wallName} from '../common/names.js';
import {Drawing, freeSides, list, pointNode} from '../common/planview.js';
import {flip, unflip} from '../common/turning.js';
import {bareOff, moveTo, openingAt, pipeOff, put} from './putting.js';
import {gettext, lowered, raised} from '../common/words.js';

const KEY = 10; // mm a press of an arrow key; with Shift ten times as much
const ARROWS = {ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1]}; // on the screen
const TOOLS = [
  ['door', gettext('Door'), gettext('Tap the wall where the middle of the door is.')],
  ['pipe', gettext('Pipe'), gettext('Tap where the pipe stands.')],
  ['radiator', gettext('Radiator'), gettext('Tap midway between the two pipes of the radiator.')],
  ['bare', gettext('Bare part'), gettext('Tap the middle of the part that stays bare: a hearth, a column, a radiator on feet.')],
];

export class RoomPlan {
  #held = null; // {kind, name, ...}: the thing under the hand, where it would go
  #tool = null; // the tool in hand: one of TOOLS
  #aim = null; // where the keys' cross is, plan mm

  constructor(ctx) {
    this.ctx = ctx;
    this.drawing = new Drawing(gettext('Plan of the room'), 'room');
    this.tools = el('div.row.tools', {role: 'group', 'aria-label': gettext('Put on the plan')});
    this.words = el('p.why', {'aria-live': 'polite'});
    this.element = el('section.card', {'aria-label': gettext('The room on the plan'), hidden: true}, el('h2', {}, gettext('On the plan')), this.tools, this.words, this.drawing.element);
    this.drawing.redraw = () => this.update();
    this.drawing.element.addEventListener('click', (event) => this.#tapped(event));
  }

  update() {
    const {survey, store} = this.ctx;
    this.element.hidden = !survey.answer && !survey.working;
    this.drawing.element.toggleAttribute('hidden', !survey.answer);
    if (!survey.answer) {
      refill(this.tools);
      refill(this.words, gettext('The floor is being worked out; a few seconds.'));
      return;
    }
    this.lines = wallLines(survey.answer);
    this.#fillTools(store.job);
    this.#draw(survey.answer, store.job);
  }

  #fillTools(job) {
    const tools = job.floor ? TOOLS.filter(([key]) => key !== 'bare') : TOOLS;
    refill(
      this.tools,
      tools.map((tool) =>
        el('button', {type: 'button', 'data-key': `tool-${tool[0]}`, 'aria-pressed': String(this.#tool === tool), onclick: () => this.#take(tool)}, tool[1]),
      ),
    );
    const hint = gettext('Roughly is enough (±{length}); then type what the tape says.', {length: roughly(ROUGH_PM, job.show)});
    refill(
      this.words,
      this.#tool
        ? `${this.#tool[2]} ${gettext('With the keys: arrows move the cross, Enter puts it there, Esc puts nothing.')}`
        : `${gettext('Choose what to put on the plan, then tap its place. Drag moves it, so do the arrow keys.')} ${hint}`,
    );
  }

  // A tool is taken up, or laid down if it was in hand.
  #take(tool) {
    this.#tool = this.#tool === tool ? null : tool;
    this.#aim = this.#tool && this.#middle();
    this.update();
    if (!this.#tool) return;
    this.#focus('aim');
    this.drawing.element.scrollIntoView({block: 'nearest'});
  }

  #middle() {
    const {outline, points} = this.ctx.survey.answer;
    const mean = ['x', 'y'].map((axis) => outline.reduce((sum, name) => sum + points[name][axis], 0) / outline.length);
    return isInside(this.lines, mean) ? mean : [0, 1].map((i) => this.lines[0].p[i] + this.lines[0].u[i] * (this.lines[0].long / 2) + this.lines[0].n[i] * 300);
  }

  #focus(key) {
    this.drawing.element.querySelector(`[data-key="${CSS.escape(key)}"]`)?.focus({preventScroll: true});
  }

  // A place on the screen in plan mm.
  #placeOf(event) {
    const {x, y} = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.drawing.element.getScreenCTM().inverse());
    return unflip([x, y]);
  }

  #tapped(event) {
    if (this.#tool) this.#put(this.#placeOf(event));
  }

  #put(place) {
    const [kind] = this.#tool;
    if (kind !== 'door' && !isInside(this.lines, place)) {
      say(gettext('That is outside the floor: tap inside the walls.'));
      return;
    }
    const {store} = this.ctx;
    const made = put(kind, store.job, this.lines, place);
    if (!made) {
      say(kind === 'door' ? gettext('No wall is long enough for a door of 800 mm.') : gettext('No two walls there tell a place; tap nearer to a wall.'));
      return;
    }
    this.#tool = this.#aim = null;
    store.change(gettext('put {what} on the plan', {what: made.what}), made.edit);
    this.#focus(`${kind === 'door' ? 'door-grip' : 'grip'}-${made.names[0]}`);
    const what = raised(made.what);
    if (kind === 'door') say(gettext('{what}: put there. Type where it begins, as the tape says.', {what}));
    else say(gettext('{what}: put there. Type its distances off the walls, as the tape says.', {what}));
  }

  // Drawing ------------------------------------------------------------------------

  #draw(answer, job) {
    const at = new Map(Object.entries(answer.points).map(([name, p]) => [name, flip([p.x, p.y])]));
    const ring = answer.outline.map((name) => at.get(name));
    this.drawing.frame(ring, 46);
    const away = freeSides(answer.outline, ring);
    refill(
      this.drawing.element,
      svg('polygon.ground', {points: list(ring)}),
      ...((job.floor ? answer.islands : job.islands) ?? []).flatMap((island) => this.#bare(island, at)),
      ...answer.outline.map((name) => pointNode(this.drawing, name, at.get(name), {corner: true, away: away.get(name)})),
      ...(job.doors ?? []).flatMap((door) => this.#door(this.#held?.name === door.name ? {...door, ...this.#held} : door, at)),
      ...(job.pipes ?? []).flatMap((pipe) => this.#pipe(pipe, at.get(pipe.name))),
      ...this.#measures(this.#held?.place ?? (this.#tool?.[0] === 'door' ? null : this.#aim)),
      this.#tool ? this.#cross() : '',
    );
  }

  // While something is moved: how far it is off its two walls.
  #measures(place) {
    const pair = place && isInside(this.lines, place) && twoWalls(this.lines, place);
    if (!pair) return [];
    return offEach(pair, place).flatMap((mm, i) => {
      const [from, to] = [flip(place), flip([0, 1].map((k) => place[k] - pair[i].n[k] * mm))];
      const middle = [0, 1].map((k) => (from[k] + to[k]) / 2);
      return [svg('line.next', {x1: from[0], y1: from[1], x2: to[0], y2: to[1]}), this.drawing.text(middle, roughly(mm, this.ctx.store.job.show), {dy: 4, size: 12, name: 'measure'})];
    });
  }

  #cross() {
    const [, name] = this.#tool;
    const pair = twoWalls(this.lines, this.#aim);
    const {show} = this.ctx.store.job;
    const away = pair ? offEach(pair, this.#aim).map((mm, i) => gettext('{length} off {wall}', {length: roughly(mm, show), wall: wallName(pair[i].wall)})).join(', ') : '';
    const node = svg(
      'g.handle.cross',
      {
        tabindex: 0,
        role: 'button',
        'data-key': 'aim',
        'aria-label': gettext('Cross for the {thing}: {away}. Arrow keys move it, Enter puts it there, Escape puts nothing.', {thing: lowered(name), away}),
        onkeydown: (event) => this.#aimKey(event),
      },
      svg('circle.reach', {r: 22}),
      svg('path', {d: 'M-13 0H-4M4 0H13M0 -13V-4M0 4V13'}),
    );
    return this.drawing.at(flip(this.#aim), node);
  }

  #aimKey(event) {
    if (event.key === 'Escape') {
      const key = `tool-${this.#tool[0]}`;
      this.#tool = this.#aim = null;
      this.update();
      this.tools.querySelector(`[data-key=${key}]`)?.focus();
    } else if (event.key === 'Enter' || event.key === ' ') {
      event.preventDefault();
      this.#put(this.#aim);
    } else {
      const to = stepped(event, this.#aim);
      if (!to || !isInside(this.lines, to)) return;
      this.#aim = to;
      this.update();
    }
  }

  #pipe(pipe, surveyed) {
    const told = pipeOff(this.ctx.store.job, this.lines, pipe);
    const isHeld = this.#held?.name === pipe.name;
    const place = isHeld ? flip(this.#held.place) : told?.isByHand ? flip(told.place) : (surveyed ?? (told && flip(told.place)));
    if (!place) return [];
    const circle = svg('circle', {cx: place[0], cy: place[1], r: Math.max(pipe.diameter / 2, 4 * this.drawing.k)});
    const shape = svg('g.pipe', {}, circle, this.drawing.text(place, pipe.name, {dy: -12, size: 11, name: 'letter'}));
    return told?.isByHand ? [shape, this.#grip('pipe', pipe.name, gettext('Pipe {name}', {name: pipe.name}), told, told.place, place)] : [shape];
  }

  #bare(island, at) {
    const told = bareOff(this.ctx.store.job, this.lines, island);
    const isHeld = this.#held?.name === island.name;
    const shift = isHeld ? [0, 1].map((i) => this.#held.place[i] - told.middle[i]) : [0, 0];
    const places = told ? told.places.map(([x, y]) => flip([x + shift[0], y + shift[1]])) : island.corners.map((name) => at.get(name));
    if (!places.every(Boolean)) return [];
    const middle = [0, 1].map((i) => places.reduce((sum, p) => sum + p[i], 0) / places.length);
    const shapes = [svg('polygon.hole', {points: list(places)}), this.drawing.text(middle, island.name, {dy: 4, size: 11, name: 'letter'})];
    return told?.isByHand ? [...shapes, this.#grip('bare', island.name, island.name, told, told.middle, middle)] : shapes;
  }

  // A part of the drawing that can be dragged, or moved by the arrow keys.
  #grip(kind, name, spoken, {pair}, place, drawn) {
    const {show} = this.ctx.store.job;
    const away = offEach(pair, place).map((mm, i) => gettext('{length} off {wall}', {length: roughly(mm, show), wall: wallName(pair[i].wall)}));
    const grip = svg(
      'g.handle.thing-grip',
      {
        tabindex: 0,
        role: 'button',
        'data-key': `grip-${name}`,
        'aria-label': gettext('{thing}, {away}, put by hand. Arrow keys move it.', {thing: spoken, away: away.join(', ')}),
        onpointerdown: (event) => this.#down(event, {kind, name, place}),
        onkeydown: (event) => {
          const to = stepped(event, place);
          if (to && isInside(this.lines, to)) this.#move({kind, name, place: to}, true);
        },
      },
      svg('circle.reach', {r: 22}),
    );
    return this.drawing.at(drawn, grip);
  }

  #door(door, at) {
    const [p, q] = door.wall.map((name) => at.get(name));
    if (!p || !q) return [];
    const long = Math.hypot(q[0] - p[0], q[1] - p[1]);
    const spot = (mm) => [0, 1].map((i) => p[i] + ((q[i] - p[i]) * mm) / long);
    const [a, b, middle] = [spot(door.from), spot(door.from + door.width), spot(door.from + door.width / 2)];
    const most = Math.max(0, Math.floor(long - door.width));
    const grip = svg(
      'g.handle.door',
      {
        tabindex: 0,
        role: 'slider',
        'data-key': `door-grip-${door.name}`,
        'aria-label': gettext('Door {name} along the wall from {wall}', {name: door.name, wall: wallName(door.wall)}),
        'aria-valuemin': 0,
        'aria-valuemax': most,
        'aria-valuenow': Math.round(door.from),
        'aria-valuetext': gettext('begins {length} from {name}', {length: roughly(door.from, this.ctx.store.job.show), name: door.wall[0]}),
        onpointerdown: (event) => this.#down(event, {kind: 'door', ...door}),
        onkeydown: (event) => this.#doorKey(event, door, most),
      },
      svg('circle.reach', {r: 22}),
      svg('rect.grip', {x: -15, y: -10, width: 30, height: 20, rx: 10}),
      svg('text', {y: 4, 'font-size': 11}, door.name),
    );
    return [svg('line.opening', {x1: a[0], y1: a[1], x2: b[0], y2: b[1]}), this.drawing.at(middle, grip)];
  }

  // Moving -------------------------------------------------------------------------

  #down(event, thing) {
    if (this.#tool) return;
    event.preventDefault();
    event.currentTarget.focus({preventScroll: true});
    let held = null; // nothing is held before the pointer moves: a tap moves nothing
    follow(this.drawing.element, event.pointerId, {
      onMove: (moved) => {
        const to = this.#placeOf(moved);
        const where = thing.kind === 'door' ? openingAt(this.lines, to, thing) : isInside(this.lines, to) ? {place: to} : null;
        if (!where) return;
        this.#held = held = {...thing, ...where};
        this.update();
      },
      onUp: () => {
        this.#held = null;
        if (held) this.#move(held, false);
      },
    });
  }

  #doorKey(event, door, most) {
    const step = {ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -10, PageUp: 10}[event.key];
    if (!step) return;
    event.preventDefault();
    this.#move({...door, kind: 'door', from: Math.min(Math.max(0, door.from + step * KEY * (event.shiftKey ? 10 : 1)), most)}, true);
  }

  #move({kind, name, wall, from, place}, isFine) {
    this.ctx.store.change(gettext('moved {name}', {name}), (job) => {
      if (kind === 'door') Object.assign(job.doors.find((door) => door.name === name), {wall, from});
      else moveTo(job, this.lines, kind, name, place, isFine);
    });
  }
}

// The place an arrow key moves to, or null for another key.
function stepped(event, place) {
  if (!ARROWS[event.key]) return null;
  const step = unflip(ARROWS[event.key]);
  event.preventDefault();
  return [0, 1].map((i) => place[i] + step[i] * KEY * (event.shiftKey ? 10 : 1));
}
