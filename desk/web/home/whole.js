// What holds for the whole flat: where the rows run, by which room one leaves, the boards.

import {choice, el, refill, sentence} from '../common/dom.js';
import {wallName} from '../common/names.js';
import {setKey} from './edits.js';
import {titleOf} from './rooms.js';
import * as words from './words.js';

export class Whole {
  constructor(ctx) {
    this.ctx = ctx;
    this.body = el('div', {});
    this.element = el('section.card.whole', {'aria-label': words.wholeHead()}, el('h2', {}, words.wholeHead()), this.body);
  }

  update() {
    const floors = Object.keys(this.ctx.seen?.rooms ?? {}).filter((name) => this.ctx.seen.rooms[name].part !== null);
    this.element.hidden = floors.length < 2;
    if (this.element.hidden) return;
    refill(
      this.body,
      this.#boardless(),
      el('div.fields.broad', {}, this.#direction(floors), this.#entrance(floors), this.#boards()),
      this.#order(),
    );
  }

  #put(label, key, value) {
    this.ctx.store.change(label, (house) => setKey(house, key, value));
  }

  #field(key, label, options, value, onchange) {
    return el('div.field', {}, el('label', {for: `flat-${key}`}, label), choice(options, value, {id: `flat-${key}`, 'data-key': `flat-${key}`, onchange}));
  }

  #direction(floors) {
    const {direction} = this.ctx.store.job;
    const walls = floors.flatMap((room) => {
      const names = Object.keys(this.ctx.seen.rooms[room].corners);
      return names.map((name, i) => ({room, wall: [name, names[(i + 1) % names.length]]}));
    });
    const isAlong = direction && typeof direction === 'object';
    const value = isAlong ? JSON.stringify({room: direction.room, wall: direction.wall}) : '';
    const options = walls.map((one) => [JSON.stringify(one), words.wallIn(wallName(one.wall), titleOf(this.ctx, one.room))]);
    if (isAlong && !options.some(([key]) => key === value)) options.push([value, words.wallIn(wallName(direction.wall), titleOf(this.ctx, direction.room))]);
    return this.#field('direction', words.rowsAlong(), [['', words.longestWall()], ...options], value, (event) =>
      this.#put(words.didDirection(), 'direction', event.target.value ? JSON.parse(event.target.value) : undefined));
  }

  #entrance(floors) {
    const {entrance = '', order} = this.ctx.store.job;
    if (order?.length) return null; // the last of the order is left by
    return this.#field('entrance', words.leaveBy(), [['', words.leaveAuto()], ...floors.map((name) => [name, titleOf(this.ctx, name)])], entrance, (event) =>
      this.#put(words.didEntrance(), 'entrance', event.target.value || undefined));
  }

  // One flooring for all rooms, where they differ or one has none.
  #boards() {
    const {boards, boardless} = this.ctx.seen;
    const {flooring} = this.ctx.store.job;
    if (!flooring && boards.length < 2 && !boardless.length) return null;
    const kinds = boards.map((kind) => [JSON.stringify(kind.flooring), words.boardsOf(kind.says, words.listed(kind.rooms.map((name) => titleOf(this.ctx, name))))]);
    const value = flooring ? JSON.stringify(flooring) : '';
    const own = flooring && !kinds.some(([key]) => key === value) ? [[value, words.flatBoards()]] : [];
    return this.#field('boards', words.boardsFor(), [['', words.ownBoards()], ...own, ...kinds], value, (event) =>
      this.#put(words.didBoards(), 'flooring', event.target.value ? JSON.parse(event.target.value) : undefined));
  }

  #boardless() {
    const names = this.ctx.seen.boardless.map((name) => titleOf(this.ctx, name));
    return names.length ? sentence('look', words.boardless(words.listed(names))) : null;
  }

  #order() {
    const {order} = this.ctx.store.job;
    if (order?.length) {
      const free = el(
        'button.quiet.inline',
        {type: 'button', 'data-key': 'order-anew', onclick: () => this.#put(words.didFreeOrder(), 'order', undefined)},
        words.orderAnew(),
      );
      return el('p.order-words', {}, `${words.ownOrder()} `, free);
    }
    const told = this.ctx.seen.order;
    return told.rule && told.rule !== 'asked' ? el('p.order-words.why', {}, words.orderWords({...told, entrance: titleOf(this.ctx, told.entrance)})) : null;
  }
}
