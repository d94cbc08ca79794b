// What all rooms take together: one list to buy by.

import {work} from '../common/api.js';
import {choice, el, refill, say, sentence, working} from '../common/dom.js';
import {inPageWords} from '../common/names.js';
import {titleOf} from './rooms.js';
import * as words from './words.js';

export class Purchase {
  #each = ''; // a booklet a room, or '' for one
  #refusal = ''; // why the plans were not kept, or nothing was printed
  packed = null; // the booklet that was made, of the flat as it is
  doing = ''; // what is being done for the person who waits

  constructor(ctx) {
    this.ctx = ctx;
    this.body = el('div', {'aria-live': 'polite'});
    this.element = el('section.card.purchase', {id: 'buy', 'aria-label': words.buyHead()}, el('h2', {}, words.buyHead()), this.body);
  }

  update() {
    const {bought, isLooking} = this.ctx;
    this.element.hidden = !this.ctx.store.job.rooms.length;
    this.element.classList.toggle('stale', Boolean(isLooking && bought?.together));
    if (!bought) refill(this.body, el('p.why', {}, isLooking ? words.lookingAt() : words.buyWaits()));
    else if (bought.together) refill(this.body, this.#told(bought));
    else refill(this.body, bought.working ? working(words.counting()) : null, bought.says ? sentence('look', bought.says) : null, this.#problems(bought));
  }

  // Keep what is counted here. The desk plans it longer first, where it has not.
  keep() {
    return this.#wait(words.keeping(), async () => {
      await work('keep');
      this.ctx.refresh();
    });
  }

  pack() {
    return this.#wait(words.making(), async () => {
      this.packed = await work('pack', {each: Boolean(this.#each)});
      say(words.madePack());
    });
  }

  async #wait(doing, act) {
    this.doing = doing;
    this.#refusal = '';
    this.ctx.changed();
    try {
      await act();
    } catch (error) {
      this.#refusal = [error.says ?? error.message, ...(error.more ?? [])].join(' ');
    }
    this.doing = '';
    this.ctx.changed();
  }

  // Whether a kept plan counts on an offcut that another one no longer leaves.
  get isBroken() {
    return (this.ctx.bought?.problems ?? []).some(({slug}) => slug === 'offcut-gone');
  }

  // Once a room is being laid, the others may be planned anew with what it really left.
  #again() {
    const states = new Set(Object.values(this.ctx.seen?.rooms ?? {}).map(({state}) => state));
    const isHalf = states.has('begun') && ['floor', 'kept', 'out-of-date'].some((state) => states.has(state));
    if (!isHalf) return null;
    return el('p.choices', {}, el('button', {type: 'button', 'data-key': 'keep-again', disabled: Boolean(this.doing), onclick: () => this.keep()}, words.keepAgain()), el('small', {}, words.keepAgainNote()));
  }

  // Something else is to be printed now.
  forget() {
    this.packed = null;
    this.#refusal = '';
  }

  #paper() {
    const put = (event) => {
      this.#each = event.target.value;
      this.forget();
      this.ctx.changed();
    };
    return el('div.field.booklet', {}, el('label', {for: 'flat-booklet'}, words.packOf()), choice(words.PACKS(), this.#each, {id: 'flat-booklet', 'data-key': 'flat-booklet', onchange: put}));
  }

  #told({together, floors, problems, kept, working: isWorking}) {
    const {boards, shopping, offcuts} = together;
    return [
      this.doing ? working(this.doing) : isWorking ? working(words.countingOn()) : null,
      this.#refusal ? sentence('look', this.#refusal) : null,
      kept && !this.isBroken ? sentence('good', words.keptWords()) : null,
      this.#again(),
      kept ? this.#paper() : null,
      boards.map((kind) => this.#kind(kind)),
      this.#problems({problems}),
      el('h3', {}, words.shoppingHead()),
      el('ul.plainlist', {}, shopping.map(({what, amount, why}) => el('li', {}, el('b', {}, inPageWords({}, amount)), ` ${what}`, why ? el('small', {}, why) : null))),
      floors.length > 1
        ? fold('floors', words.oneByOne(), floors.filter(({boards: count}) => count !== undefined).map((floor) => words.floorBoards(this.#rooms(floor.rooms), floor.boards)))
        : null,
      offcuts.length ? fold('offcuts', words.travelHead(offcuts.length), offcuts.map(({says}) => says)) : null,
      el('p.caution', {}, words.leaflet()),
    ];
  }

  #rooms(names) {
    return words.listed(names.map((name) => titleOf(this.ctx, name)));
  }

  // The figures of one kind of boards, and what is said of them.
  #kind({packs, boards, packs_alone: alone, board, spare, bound, says}) {
    const figure = (name, value, note) => el('div', {}, el('dt', {}, name), el('dd', {}, el('b', {}, value), el('small', {}, note)));
    return [
      el(
        'dl.figures',
        {},
        figure(words.packsName(), packs, words.packsNote(board.pack, spare)),
        figure(words.boardsName(), boards, words.boardsNote(bound)),
        alone > packs ? figure(words.aloneName(), alone, words.aloneNote()) : null,
      ),
      el('p', {}, says),
    ];
  }

  // What is told of a room or a doorway stands there already.
  #problems({problems}) {
    const told = new Set(Object.values(this.ctx.seen?.rooms ?? {}).flatMap(({says}) => says));
    for (const {says} of this.ctx.seen?.doorways ?? []) says.forEach((one) => told.add(one));
    const boardless = new Set(this.ctx.seen?.boardless ?? []);
    return (problems ?? [])
      .filter(({slug, where, says}) => !told.has(says) && slug !== 'room-alone' && slug !== 'no-thickness' && !(slug === 'no-board' && where.split('+').some((name) => boardless.has(name))))
      .map(({says}) => sentence('look', says));
  }
}

const fold = (key, head, lines) => el('details', {'data-key': `fold-${key}`}, el('summary', {}, head), el('ul.plainlist', {}, lines.map((line) => el('li', {}, line))));
