// The flat as its doorways put it together. A free door is dragged to its partner, or the two are pressed one after the other.

import {el, follow, refill, say, svg} from '../common/dom.js';
import {Drawing, list} from '../common/planview.js';
import {flip} from '../common/turning.js';
import {joinDoors, sameSide, sidesOf} from './edits.js';
import {titleOf} from './rooms.js';
import * as words from './words.js';

const NEAR_MM = 900; // no wall is thicker, so that two doors of one doorway lie so near
const REACH = 44; // CSS px round a door in which a dragged one joins it

// "D1 of Kitchen"
export const doorName = (ctx, [room, door]) => words.doorIn(door, titleOf(ctx, room));

// What a door leads to, as the flat is written: the other side of its doorway, or null.
export function partnerOf({store}, side) {
  const sides = (store.job.doorways ?? []).map(sidesOf).find((both) => both.some((own) => sameSide(own, side)));
  return sides?.find((own) => !sameSide(own, side)) ?? null;
}

// Both doors become one doorway.
export function join(ctx, one, other) {
  const names = [one, other].map((side) => doorName(ctx, side));
  ctx.store.change(words.didJoin(...names), (house) => joinDoors(house, one, other));
  say(words.joined(...names));
}

export class FlatPlan {
  #chosen = null; // [room, door]: pressed, and waiting for its partner
  #held = null; // {side, at, to}: dragged, where the finger is in the plan, and the door under it

  constructor(ctx) {
    this.ctx = ctx;
    this.drawing = new Drawing(words.planHead(), 'flat');
    this.hint = el('p.why', {'aria-live': 'polite'});
    this.element = el('section.card', {'aria-label': words.planHead()}, el('h2', {}, words.planHead()), this.hint, this.drawing.element);
    this.drawing.redraw = () => this.update();
    this.drawing.element.addEventListener('keydown', (event) => event.key === 'Escape' && this.#letGo());
  }

  update() {
    const rooms = Object.entries(this.ctx.seen?.rooms ?? {}).filter(([name, room]) => this.ctx.store.job.rooms.includes(name) && room.part !== null);
    this.drawing.element.toggleAttribute('hidden', !rooms.length);
    this.element.classList.toggle('stale', Boolean(this.ctx.isLooking && this.ctx.seen));
    const doors = rooms.flatMap(([name, room]) => room.doors.map((door) => spotOf(name, room, door))).filter(Boolean);
    refill(this.hint, !rooms.length ? words.planWaits() : this.#chosen ? words.nowPartner(doorName(this.ctx, this.#chosen)) : this.#isOpen(doors) ? words.planHint() : null);
    this.doors = doors;
    if (rooms.length) this.#draw(rooms, doors);
  }

  // Whether two rooms have a door each that leads nowhere yet.
  #isOpen(doors) {
    return new Set(doors.filter(({side}) => !partnerOf(this.ctx, side)).map(({side}) => side[0])).size > 1;
  }

  #draw(rooms, doors) {
    const rings = rooms.map(([, room]) => Object.values(room.corners).map(flip));
    this.drawing.frame(rings.flat(), 30);
    refill(
      this.drawing.element,
      ...rooms.map(([name, room], i) => svg('polygon.ground', {points: list(rings[i]), 'data-key': `floor-${name}`, 'data-state': room.state})),
      ...doors.map(({a, b}) => svg('line.opening', {x1: a[0], y1: a[1], x2: b[0], y2: b[1]})),
      ...rooms.map(([name, room], i) => this.drawing.text(middleOf(rings[i]), room.number ? `${room.number} ${room.title}` : room.title, {dy: 5, size: 14, name: 'letter'})),
      ...this.#links(doors),
      ...doors.map((door) => (this.#isThrough(door) ? '' : this.#handle(door))),
    );
  }

  // Whether a door lies right before its partner: the opening itself shows it then.
  #isThrough({side, middle}) {
    const partner = partnerOf(this.ctx, side);
    const other = partner && this.doors.find((door) => sameSide(door.side, partner));
    return Boolean(other) && Math.hypot(...[0, 1].map((i) => other.middle[i] - middle[i])) <= NEAR_MM;
  }

  // Doors that are one doorway and do not lie on one another, and the door that is being dragged.
  #links(doors) {
    const lines = [];
    for (const {side, middle} of doors) {
      const partner = partnerOf(this.ctx, side);
      const other = partner && doors.find((door) => sameSide(door.side, partner));
      if (!other || String(side) > String(partner)) continue;
      if (Math.hypot(...[0, 1].map((i) => other.middle[i] - middle[i])) > NEAR_MM) lines.push(['apart', middle, other.middle]);
    }
    if (this.#held) lines.push(['next', doors.find(({side}) => sameSide(side, this.#held.side))?.middle, this.#held.at]);
    return lines.filter(([, a, b]) => a && b).map(([kind, a, b]) => svg(`line.${kind}`, {x1: a[0], y1: a[1], x2: b[0], y2: b[1]}));
  }

  #handle({side, middle}) {
    const partner = partnerOf(this.ctx, side);
    const pill = [svg('circle.reach', {r: 22}), svg('rect.grip', {x: -15, y: -10, width: 30, height: 20, rx: 10}), svg('text', {y: 4, 'font-size': 11}, side[1])];
    if (partner) {
      const spoken = words.joinedDoor(doorName(this.ctx, side), doorName(this.ctx, partner));
      return this.drawing.at(middle, svg('g.flat-door.joined', {role: 'img', 'aria-label': spoken}, ...pill.slice(1)));
    }
    const isChosen = this.#chosen && sameSide(this.#chosen, side);
    const isAim = this.#held?.to && sameSide(this.#held.to, side);
    return this.drawing.at(
      middle,
      svg(
        `g.handle.door.flat-door${isChosen || isAim ? '.chosen' : ''}`,
        {
          tabindex: 0,
          role: 'button',
          'data-key': `door-${side.join('-')}`,
          'aria-pressed': String(Boolean(isChosen)),
          'aria-label': this.#spoken(side, isChosen),
          onpointerdown: (event) => this.#down(event, side),
          onclick: (event) => event.detail === 0 && this.#press(side), // of a program that reads the page out; a finger's is heard as it goes up
          onkeydown: (event) => {
            if (event.key !== 'Enter' && event.key !== ' ') return;
            event.preventDefault();
            this.#press(side);
          },
        },
        ...pill,
      ),
    );
  }

  #spoken(side, isChosen) {
    const name = doorName(this.ctx, side);
    if (isChosen) return words.chosenDoor(name);
    return this.#chosen && this.#chosen[0] !== side[0] ? words.partnerDoor(name, doorName(this.ctx, this.#chosen)) : words.freeDoor(name);
  }

  // The first press chooses a door, the second its partner in another room.
  #press(side) {
    const one = this.#chosen;
    if (one && one[0] !== side[0]) {
      this.#chosen = null;
      join(this.ctx, one, side);
      return;
    }
    this.#chosen = one && sameSide(one, side) ? null : side;
    this.update();
    say(this.#chosen ? words.nowPartner(doorName(this.ctx, side)) : words.letGo());
  }

  #letGo() {
    if (!this.#chosen) return;
    this.#chosen = null;
    this.update();
    say(words.letGo());
  }

  #down(event, side) {
    event.preventDefault();
    event.currentTarget.focus({preventScroll: true});
    follow(this.drawing.element, event.pointerId, {
      onMove: (moved) => {
        const at = this.#placeOf(moved);
        const start = this.doors.find((door) => sameSide(door.side, side)).middle;
        if (!this.#held && this.#far(at, start) < 8) return; // a finger that presses is never quite still
        this.#held = {side, at, to: this.#under(at, side)};
        this.update();
      },
      onUp: () => {
        const held = this.#held;
        this.#held = null;
        if (!held) this.#press(side);
        else if (held.to) {
          this.#chosen = null;
          join(this.ctx, side, held.to);
        } else this.update();
      },
    });
  }

  // A place on the screen in the drawing.
  #placeOf(event) {
    const {x, y} = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.drawing.element.getScreenCTM().inverse());
    return [x, y];
  }

  #far(a, b) {
    return Math.hypot(a[0] - b[0], a[1] - b[1]) / this.drawing.k;
  }

  // The free door of another room nearest to a place, if one is within reach.
  #under(at, side) {
    const free = this.doors.filter((door) => door.side[0] !== side[0] && !partnerOf(this.ctx, door.side));
    const [nearest] = free.sort((a, b) => this.#far(a.middle, at) - this.#far(b.middle, at));
    return nearest && this.#far(nearest.middle, at) <= REACH ? nearest.side : null;
  }
}

const middleOf = (ring) => [0, 1].map((i) => (Math.min(...ring.map((p) => p[i])) + Math.max(...ring.map((p) => p[i]))) / 2);

// Where a door lies in the drawing: its ends and its middle; null where its wall is not known.
function spotOf(room, {corners}, {name, wall, from, width}) {
  const [p, q] = wall.map((corner) => corners[corner] && flip(corners[corner]));
  if (!p || !q) return null;
  const long = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1;
  const spot = (mm) => [0, 1].map((i) => p[i] + ((q[i] - p[i]) * Math.min(mm, long)) / long);
  return {side: [room, name], a: spot(from), b: spot(from + width), middle: spot(from + width / 2)};
}
