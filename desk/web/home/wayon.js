// The parts of the page with what is done in each, and the way on: one button, beside them or under the thumb.

import {el, mainButton, refill} from '../common/dom.js';
import {toldOf} from './doorways.js';
import {hasFloor} from './fresh.js';
import {orderOf, roomHref, titleOf} from './rooms.js';
import * as words from './words.js';

const box = document.getElementById('onward');
const PLANNED = ['kept', 'begun'];

// What is still to be done, as the flat was seen last.
function stateOf(ctx) {
  const {store, seen} = ctx;
  const names = orderOf(ctx);
  const state = (name) => seen?.rooms?.[name]?.state;
  const doorways = store.job.doorways ?? [];
  const isOdd = (doorway) => toldOf(ctx, doorway)?.fits === false;
  return {
    names,
    bare: names.find((name) => seen && !hasFloor(seen.rooms?.[name])),
    odd: doorways.some(isOdd),
    apart: (seen?.parts ?? 0) > 1,
    boardless: seen?.boardless?.[0],
    laying: names.find((name) => state(name) === 'begun'),
    isDone: Boolean(seen) && names.length > 0 && names.every((name) => PLANNED.includes(state(name))),
  };
}

export function drawParts(ctx) {
  const {names, bare, odd, apart, isDone} = stateOf(ctx);
  const isSeen = Boolean(ctx.seen) && names.length > 0;
  const parts = [
    ['rooms', words.roomsHead(), isSeen && !bare],
    ['doors', words.doorwaysHead(), isSeen && !apart && !odd && !bare],
    ['buy', words.buyHead(), isDone],
  ];
  refill(
    document.getElementById('steps'),
    parts.map(([key, name, done], i) =>
      el('li', {}, el(`a${done ? '.done' : ''}`, {href: `#${key}`, 'data-key': `part-of-${key}`}, el('span.dot', {'aria-hidden': 'true'}, done ? '✓' : String(i + 1)), el('span', {}, name))),
    ),
  );
}

export function drawWayOn(ctx) {
  const next = nextOf(ctx);
  refill(box, el('div.doing', {}), next ? mainButton(next) : null);
}

// {text, href} of a room, or {text, act} of something on this page; null while nothing is known.
function nextOf(ctx) {
  const now = stateOf(ctx);
  const at = (...selectors) => () => goTo(selectors);
  const room = (say, name, step) => ({text: say(titleOf(ctx, name)), href: roomHref(name, step)});
  if (!now.names.length) return {text: words.firstRoom(), act: at('#new-room-name')};
  if (!ctx.seen) return null;
  if (now.bare) return room(words.goOn, now.bare);
  if (now.odd) return {text: words.mendDoorway(), act: at('#doors')};
  if (now.apart) return {text: words.joinRooms(), act: at('#doors button[data-key^=join-]', '#doors')};
  if (now.boardless) return ctx.seen.boards.length ? {text: words.chooseBoards(), act: at('#flat-boards')} : room(words.goOn, now.boardless, 'boards');
  if (now.laying) {
    const {floor} = ctx.seen.rooms[now.laying];
    return {text: words.toDay(titleOf(ctx, now.laying)), href: roomHref(`floors/${floor}`, 'day')};
  }
  return ctx.bought?.together ? plansNext(ctx) : null;
}

// What is counted is kept, then printed, then fetched.
function plansNext({bought, purchase, isLooking}) {
  const isBusy = Boolean(purchase.doing || isLooking);
  if (bought.kept && purchase.isBroken) return {text: words.keepAgain(), act: () => purchase.keep(), key: 'keep', isBusy};
  if (!bought.kept) return {text: words.keepPlans(), act: () => purchase.keep(), key: 'keep', isBusy};
  if (purchase.packed) return {text: words.fetchPack(), href: purchase.packed.zip, key: 'download', icon: 'load'};
  return {text: words.makePack(), act: () => purchase.pack(), key: 'make', isBusy};
}

// The first of these that is there.
function goTo(selectors) {
  const node = selectors.map((selector) => document.querySelector(selector)).find(Boolean);
  if (!node) return;
  node.scrollIntoView({block: 'center'});
  if (node.matches('section')) node.setAttribute('tabindex', '-1');
  node.focus({preventScroll: true});
}
