// The doorways one by one: what lies in each and why, and a button that joins two doors as dragging does.

import {choice, el, iconButton, refill, say, sentence} from '../common/dom.js';
import {lengthField} from '../fields/lengthfield.js';
import {alterDoorway, keyOf, part, sameSide, sidesOf} from './edits.js';
import {doorName, join, partnerOf} from './flatplan.js';
import {titleOf} from './rooms.js';
import * as words from './words.js';

// What the desk told of a doorway of the flat as it is written now, or null while it has not.
export function toldOf({seen}, doorway) {
  const i = (seen?.house?.doorways ?? []).findIndex((other) => keyOf(other) === keyOf(doorway));
  return seen?.doorways?.[i] ?? null;
}

export class Doorways {
  #picked = new Map(); // the partner chosen in the list of a free door

  constructor(ctx) {
    this.ctx = ctx;
    this.list = el('ul.doorways', {});
    this.free = el('div', {});
    this.element = el('section.card', {id: 'doors', 'aria-label': words.doorwaysHead()}, el('h2', {}, words.doorwaysHead()), this.list, this.free);
  }

  update() {
    const doorways = this.ctx.store.job.doorways ?? [];
    const free = (this.ctx.seen?.free ?? []).filter(({room, door}) => this.ctx.store.job.rooms.includes(room) && !partnerOf(this.ctx, [room, door]));
    this.element.hidden = !doorways.length && !free.length;
    refill(this.list, doorways.length ? doorways.map((doorway) => this.#doorway(doorway)) : el('li.why', {}, words.noDoorways()));
    const open = this.#offered(free).map((one) => this.#freeDoor(one));
    refill(this.free, open.length ? [el('h3', {}, words.freeHead()), el('p.why', {}, words.freeHint()), el('ul.free-doors', {}, open)] : null);
  }

  #doorway(doorway) {
    const {store} = this.ctx;
    const [a, b] = doorway.rooms.map((room) => titleOf(this.ctx, room));
    const key = sidesOf(doorway).flat().join('-');
    const told = toldOf(this.ctx, doorway);
    const put = (label, change) => store.change(label, (house) => alterDoorway(house, doorway, change));
    return el(
      'li',
      {'data-key': `doorway-${key}`},
      el(
        'div.doorway-head',
        {},
        el('div', {}, el('b', {}, words.doorway(a, b)), el('small', {}, words.doorwayDoors(...sidesOf(doorway).map((side) => doorName(this.ctx, side))))),
        iconButton('bin', words.part(a, b), () => this.#part(doorway, a, b), {'data-key': `part-${key}`}),
      ),
      el(
        'div.field',
        {},
        el('label', {for: `laid-${key}`}, words.howLaid()),
        choice(words.LAID(), doorway.laid ?? 'auto', {
          id: `laid-${key}`,
          'data-key': `laid-${key}`,
          onchange: (event) => put(words.didChooseLaid(), {laid: event.target.value}),
        }),
      ),
      this.#thickness(doorway, told, key, put),
      this.#says(doorway, told, a, b),
    );
  }

  // Asked for where the doors do not tell it.
  #thickness(doorway, told, key, put) {
    if (doorway.thickness === undefined && !told?.asks.includes('no-thickness')) return null;
    return lengthField({
      label: words.wallThick(),
      value: doorway.thickness ?? null,
      typed: '',
      show: this.ctx.seen?.show ?? 'metric',
      key: `thickness-${key}`,
      onLength: (mm) => put(words.didThickness(), {thickness: mm}),
    }).element;
  }

  #says(doorway, told, a, b) {
    if (!told) return null;
    if (told.asks.includes('no-thickness')) return sentence('look', words.thickAsked(a, b));
    if (told.fits === null) return sentence('tell', words.waitsForFloors());
    const doubts = told.says.map((says) => sentence('look', says));
    if (!told.fits) return doubts.length ? doubts : sentence('look', words.doesNotFit());
    return [...doubts, el('p.why', {}, words.laidWords(told))];
  }

  #part(doorway, a, b) {
    this.ctx.store.change(words.didPart(a, b), (house) => part(house, sidesOf(doorway)[0]));
    say(words.parted(a, b));
  }

  // Free doors with the free doors of other rooms that each may lead to, {side, open}; two that are most likely one doorway stand there once.
  #offered(free) {
    const {rooms} = this.ctx.store.job;
    const all = free.map(({room, door, partners}) => ({
      side: [room, door],
      open: partners.filter((partner) => rooms.includes(partner[0]) && !partnerOf(this.ctx, partner)),
    }));
    const shown = [];
    for (const one of all) {
      const isThere = shown.some(({side, open}) => sameSide(open[0], one.side) && sameSide(one.open[0], side));
      if (one.open.length && !isThere) shown.push(one);
    }
    return shown;
  }

  // The likeliest partner is chosen already.
  #freeDoor({side, open}) {
    const key = side.join('-');
    const keys = open.map((partner) => JSON.stringify(partner));
    const picked = keys.includes(this.#picked.get(key)) ? this.#picked.get(key) : keys[0];
    return el(
      'li',
      {'data-key': `free-${key}`},
      el(
        'div.field',
        {},
        el('label', {for: `to-${key}`}, words.leadsTo(doorName(this.ctx, side))),
        choice(open.map((partner, i) => [keys[i], doorName(this.ctx, partner)]), picked, {
          id: `to-${key}`,
          'data-key': `to-${key}`,
          onchange: (event) => this.#picked.set(key, event.target.value),
        }),
      ),
      el(
        'button',
        {
          type: 'button',
          'data-key': `join-${key}`,
          'aria-label': words.joinTo(doorName(this.ctx, side)),
          onclick: () => join(this.ctx, side, JSON.parse(keys.includes(this.#picked.get(key)) ? this.#picked.get(key) : keys[0])),
        },
        words.join(),
      ),
    );
  }
}
