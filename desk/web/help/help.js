// Help in place: for the step on the screen a drawing and a few sentences, and a tour of half a minute through all steps that can be left at any
// moment. Neither covers the work.

import {el, glyph, refill} from '../common/dom.js';
import {keep} from '../common/kept.js';
import {STEPS, stepNamed} from '../steps.js';
import {DRAWINGS} from './drawings.js';
import {gettext} from '../common/words.js';

// What a step is for, said on the tour and in its help; and what helps there.
const told = () => ({
  photos: [gettext('Take three or four photos of the empty room.'), gettext('Stand in a corner or doorway and see as many floor corners as you can. They stay on this machine.')],
  corners: [gettext('Tap the floor corners in each photo.'), gettext('A corner is where two walls meet at the floor, at the foot of the skirting. The same corner has the same letter in every photo.')],
  tape: [gettext('Measure a few lengths with the tape.'), gettext('One gives the size. A long one from corner to corner finds slips. Type it as you read it: 4.31 m, 431 cm or 4310.')],
  room: [gettext('Say where doors and pipes are.'), gettext('Choose what it is, then tap its place on the plan. Roughly is enough to begin with; then type what the tape says.')],
  closeups: [gettext('Measure a casing or a pipe in a photo.'), gettext('Lay an A4 sheet flat beside it and photograph both from above. Answer one question at a time, then tap.')],
  boards: [gettext('Paste the label of your boards.'), gettext('Length, width, thickness and how many a pack holds. Everything else has a usual value.')],
  rows: [gettext('Look at the rows, and keep them.'), gettext('Tap a piece to see its row as it will be printed. Other ways to lay it stand below.')],
  pack: [gettext('Print the booklet and the templates.'), gettext('Print at 100 % and measure the check line before you saw.')],
  day: [gettext('Tell what happens while you lay.'), gettext('A row is done, a board broke, the wall is closer: the plan follows.')],
});
const TOUR = STEPS.filter(({within}) => !within).map(({key}) => key);

export class Help {
  #tour = -1; // where on the tour; -1: not on it
  #step = 'photos';

  constructor(store) {
    this.store = store;
    this.box = document.getElementById('help');
    this.button = document.getElementById('help-button');
    this.isOpen = false;
    this.button.addEventListener('click', () => this.#turn(!this.isOpen));
  }

  // The step shown is another one: help that is open goes along.
  at(step) {
    this.#step = step.key;
    if (this.#tour < 0) this.#fill();
  }

  #turn(isOpen) {
    this.isOpen = isOpen;
    this.#tour = -1;
    this.#fill();
    if (!isOpen) this.button.focus();
  }

  #go(number) {
    if (number < 0 || number >= TOUR.length) {
      keep(this.store, {toured: true});
      this.#turn(false);
      return;
    }
    this.isOpen = true;
    this.#tour = number;
    this.#fill();
  }

  #isNew() {
    const {job, settings} = this.store;
    return !settings.toured && this.#step === 'photos' && !job.photos?.length && !job.outline?.length;
  }

  #fill() {
    const isInvited = !this.isOpen && this.#isNew();
    this.button.setAttribute('aria-expanded', String(this.isOpen));
    this.box.hidden = !this.isOpen && !isInvited;
    if (this.box.hidden) return;
    refill(this.box, isInvited ? this.#invitation() : this.#tour < 0 ? this.#help() : this.#stop());
  }

  #button(key, text, onclick) {
    return el('button', {type: 'button', 'data-key': key, onclick}, text);
  }

  #invitation() {
    return el(
      'div.helped',
      {'data-key': 'invitation'},
      el('p', {}, el('b', {}, gettext('New here?')), ' ', gettext('Half a minute shows the way, from photos to the last row.')),
      el('div.row', {}, this.#button('tour', gettext('Show me'), () => this.#go(0)), this.#button('no-tour', gettext('No, thanks'), () => this.#go(-1))),
    );
  }

  #help() {
    const [first, more] = told()[this.#step];
    return el(
      'div.helped',
      {'data-key': 'helped'},
      DRAWINGS[this.#step](),
      el('div', {}, el('p', {}, el('b', {}, first)), el('p', {}, more)),
      el('div.row', {}, this.#button('tour', gettext('The tour'), () => this.#go(0)), this.#button('no-help', gettext('Close'), () => this.#turn(false))),
    );
  }

  #stop() {
    const key = TOUR[this.#tour];
    const isLast = this.#tour === TOUR.length - 1;
    return el(
      'div.helped',
      {'data-key': 'tour-stop'},
      DRAWINGS[key](),
      el('div', {'aria-live': 'polite'}, el('p.why', {}, gettext('{number} of {total}: {step}', {number: this.#tour + 1, total: TOUR.length, step: stepNamed(key).name})), el('p', {}, el('b', {}, told()[key][0]))),
      el(
        'div.row',
        {},
        this.#button('tour-next', isLast ? gettext('Begin') : [gettext('Next'), glyph('right')], () => this.#go(this.#tour + 1)),
        isLast ? null : this.#button('tour-leave', gettext('Leave the tour'), () => this.#go(-1)),
      ),
    );
  }
}
