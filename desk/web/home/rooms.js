// The rooms as cards, in the order they are laid, and the way to a new one.

import {ask} from '../common/api.js';
import {el, glyph, iconButton, refill, say, sentence, working} from '../common/dom.js';
import {moveRoom, takeIn, takeOut} from './edits.js';
import {roomSketch} from './roomsketch.js';
import * as words from './words.js';

const SIGNS = {empty: 'tell', open: 'look', unread: 'look', floor: 'tell', kept: 'good', 'out-of-date': 'look', damaged: 'look', begun: 'good'};

// States in which a plan of the room's floor is kept.
const LAID = ['kept', 'begun', 'out-of-date'];

export const roomHref = (name, step = '') => `/?room=${encodeURIComponent(name)}${step && `#${step}`}`;

// What a room is called, as the flat was seen last.
export const titleOf = ({seen}, name) => seen?.rooms?.[name]?.title ?? name;

// The rooms as they are laid: as was chosen, else as the desk tells, those it does not know yet first.
export function orderOf({store, seen}) {
  const {rooms, order} = store.job;
  const told = order?.length ? order : (seen?.order?.rooms ?? []);
  return [...rooms.filter((name) => !told.includes(name)), ...told.filter((name) => rooms.includes(name))];
}

export class Rooms {
  #says = ''; // why no room was begun

  constructor(ctx) {
    this.ctx = ctx;
    this.name = el('input', {id: 'new-room-name', maxlength: 80, autocomplete: 'off', placeholder: words.roomExample(), 'data-key': 'new-room-name'});
    this.head = el('div', {});
    this.list = el('ol.rooms', {});
    this.beside = el('div', {});
    this.told = el('div', {'aria-live': 'polite'});
    this.button = el('button', {type: 'submit', 'data-key': 'new-room'}, glyph('plus'), words.newRoom());
    const form = el(
      'form.new-room',
      {onsubmit: (event) => this.#begin(event)},
      el('div.field', {}, el('label', {for: 'new-room-name'}, words.roomName()), this.name),
      this.button,
    );
    this.element = el('section', {id: 'rooms', 'aria-label': words.roomsHead()}, this.head, this.list, this.beside, form, this.told);
  }

  update() {
    const {store, seen} = this.ctx;
    const order = orderOf(this.ctx);
    refill(
      this.head,
      el('h1', {}, words.roomsHead()),
      el('p.lead', {}, order.length ? words.roomsLead() : words.noRoomsLead()),
      this.ctx.isLooking && !seen && order.length ? working(words.lookingAt()) : null,
    );
    refill(this.list, order.map((name, i) => this.#card(name, i, order)));
    const beside = this.ctx.beside.filter((name) => !store.job.rooms.includes(name));
    refill(this.beside, beside.map((name) => this.#offered(name)));
    refill(this.told, this.#says ? sentence('look', this.#says) : null, ...(seen?.problems ?? []).map(({says}) => sentence('look', says)));
  }

  #card(name, i, order) {
    const room = this.ctx.seen?.rooms?.[name];
    const title = room?.title ?? name;
    const alone = order.length < 2;
    const number = (this.ctx.isLooking ? null : room?.number) ?? i + 1; // as on paper, once the desk has looked
    return el(
      'li.card.room-card',
      {'data-key': `room-${name}`, 'data-state': room?.state},
      roomSketch(room, words.sketchOf(title)),
      el(
        'div.room-words',
        {},
        el('h2', {}, alone ? null : el('span.number', {title: words.laidAs(number)}, el('span.hidden', {}, `${words.laidAs(number)}. `), el('span', {'aria-hidden': 'true'}, String(number))),
          el('a', {href: roomHref(name), 'data-key': `open-${name}`}, title)),
        room ? el(`p.state.${SIGNS[room.state]}`, {}, glyph(SIGNS[room.state]), el('span', {}, words.stateOf(room))) : null,
        room?.floor && LAID.includes(room.state)
          ? el('p.choices.floor-link', {}, el('a.button.quiet.inline', {href: roomHref(`floors/${room.floor}`, 'rows'), 'data-key': `floor-of-${name}`}, words.rowsAndPack()))
          : null,
        ...(room && room.state !== 'empty' ? room.says : []).map((says) => sentence('look', says)),
      ),
      alone
        ? null
        : el(
            'div.room-moves',
            {},
            iconButton('up', words.earlier(title), () => this.#move(name, -1), {disabled: i === 0, 'data-key': `earlier-${name}`}),
            iconButton('down', words.later(title), () => this.#move(name, 1), {disabled: i === order.length - 1, 'data-key': `later-${name}`}),
            iconButton('bin', words.takeOut(title), () => this.#takeOut(name), {'data-key': `out-${name}`}),
          ),
    );
  }

  #move(name, steps) {
    const order = orderOf(this.ctx);
    const title = titleOf(this.ctx, name);
    this.ctx.store.change(words.didMove(title), (house) => moveRoom(house, order, name, steps));
    say(words.movedTo(title, order.indexOf(name) + steps + 1));
  }

  #takeOut(name) {
    const title = titleOf(this.ctx, name);
    this.ctx.beside = [...this.ctx.beside, name];
    this.ctx.store.change(words.didTakeOut(title), (house) => takeOut(house, name));
    say(words.takenOut(title));
  }

  #offered(name) {
    const take = () => this.ctx.store.change(words.didTakeIn(name), (house) => takeIn(house, name));
    return sentence('tell', words.besideIs(name), ' ', el('button.quiet.inline', {type: 'button', 'data-key': `in-${name}`, onclick: take}, words.takeIn()));
  }

  // A room is begun by the desk, with its folder, and opens at once.
  async #begin(event) {
    event.preventDefault();
    const {store} = this.ctx;
    const title = this.name.value.trim();
    this.#says = title ? '' : words.unnamed();
    this.update();
    if (!title) {
      this.name.focus();
      return;
    }
    this.button.disabled = true;
    try {
      await settled(store);
      const {room} = await ask('POST', '/api/flat/rooms', {json: {title}, headers: {'If-Match': `"${store.revision}"`}});
      location.assign(roomHref(room));
    } catch (error) {
      this.#says = error.says ?? error.message;
      this.button.disabled = false;
      this.update();
    }
  }
}

// Once everything is saved, or cannot be.
async function settled(store) {
  while (store.state === 'saving') await new Promise((resolve) => store.addEventListener('state', resolve, {once: true}));
}
