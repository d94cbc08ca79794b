// The row to lay now: what can happen to it, as buttons as large as a thumb in a glove; what one of them needs is asked below them.
// That it is done is said by the page's main button (`onward` of day.js).

import {choice, el, refill} from '../common/dom.js';
import {gettext} from '../common/words.js';

// What may be asked for after a button: [key, words on the button].
const ASKS = [
  ['wall', gettext('Measured to the wall')],
  ['piece', gettext('A piece came out otherwise')],
  ['lost', gettext('An offcut is lost')],
  ['short', gettext('An offcut is too short')],
];

export class DayNow {
  #asked = '';
  #piece = ''; // whose length is told; the first of the row where none was chosen

  // tell(words) says it to the desk; typed(key) is what stands in a box; box(key, label, like) makes one.
  constructor({tell, typed, box}) {
    Object.assign(this, {tell, typed, box});
    this.element = el('section.card.day-now', {'aria-label': gettext('What happened')});
  }

  #say(words) {
    this.#asked = '';
    this.tell(words);
  }

  fill(told, busy) {
    this.element.hidden = !told?.next;
    if (this.element.hidden) return;
    const big = (key, text, onclick, more = {}) => el('button.big', {type: 'button', 'data-key': key, disabled: busy, onclick, ...more}, text);
    refill(
      this.element,
      el('h2', {}, told.row ? gettext('Row {row} of {rows} is down', {row: told.row, rows: told.rows}) : gettext('Nothing is down yet')),
      el(
        'div.bigs',
        {},
        big('spoiled', gettext('A board is spoiled'), () => this.#say('board spoiled')),
        ASKS.map(([key, text]) =>
          big(`ask-${key}`, text, () => this.#ask(key, told, busy), {'aria-expanded': String(this.#asked === key)}),
        ),
        big('row-begun', gettext('Row {row} is begun', {row: told.next}), () => this.#say(`row ${told.next} begun`)),
      ),
      this.#asked ? el('div.asked', {'data-key': `asked-${this.#asked}`}, this.#question(told, busy)) : null,
    );
  }

  #ask(key, told, busy) {
    this.#asked = this.#asked === key ? '' : key;
    this.fill(told, busy);
    this.element.querySelector('.asked input, .asked button')?.focus();
  }

  #question(told, busy) {
    const send = (key, text, onclick) => el('div.foot', {}, el('button', {type: 'button', 'data-key': key, disabled: busy, onclick}, text));
    if (this.#asked === 'wall')
      return [
        el('p', {}, told.row ? gettext("From row {row}'s far edge to the far wall, at the middle of its first and last piece:", {row: told.row}) : gettext('From the start wall to the far wall:')),
        el('div.fields', {}, this.box('wall-left', gettext('At the left'), '1803 mm'), this.box('wall-right', gettext('At the right'), '1799 mm')),
        send('wall', gettext('Say the distances'), () => this.#tellWall(told)),
      ];
    if (this.#asked === 'piece')
      return [
        el('p', {}, gettext('Which piece, and how long is it now?')),
        el(
          'div.fields',
          {},
          el('label.field', {}, el('span', {}, gettext('Piece')), this.#pieces(told)),
          this.box('piece-length', gettext('Its length'), '412 mm'),
        ),
        send('piece-said', gettext('Say it'), () => this.#tellPiece()),
      ];
    const words = this.#asked === 'lost' ? 'lost' : 'too short';
    return [
      el('p', {}, told.hand.length ? gettext('Which one? Its label is pencilled on it.') : gettext('No offcut is on hand now.')),
      el(
        'div.bigs',
        {},
        told.hand.map(({label, says}) =>
          el('button.big', {type: 'button', 'data-key': `${this.#asked}-${label}`, disabled: busy, onclick: () => this.#say(`offcut ${label} ${words}`)}, says),
        ),
      ),
    ];
  }

  #pieces({pieces}) {
    const piece = pieces.find(({id}) => id === this.#piece) ?? pieces[0];
    const onchange = (event) => {
      this.#piece = event.target.value;
    };
    return choice(pieces.map(({id, says}) => [id, says]), piece?.id, {'data-key': 'piece-now', onchange});
  }

  #tellWall({row}) {
    const ends = ['left', 'right'].filter((side) => this.typed(`wall-${side}`)).map((side) => `${side} ${this.typed(`wall-${side}`)}`);
    if (ends.length) this.tell(`${row ? `row ${row}` : 'start wall'} to wall ${ends.join(' ')}`);
  }

  #tellPiece() {
    const length = this.typed('piece-length');
    if (length) this.tell(`piece ${this.element.querySelector('[data-key=piece-now]').value} came out ${length}`);
  }
}
