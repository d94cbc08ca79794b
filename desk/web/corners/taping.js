// A length where one stands: tap two corners, in the photo or on the plan, and type it; or take what is best measured next, "3 of 7".

import {el, refill, say} from '../common/dom.js';
import {samePair, wallName} from '../common/names.js';
import {fieldIn, lengthField} from '../fields/lengthfield.js';
import {gettext, gettextNodes} from '../common/words.js';

const OFFERED = 4; // further lengths to choose from

export class Taping {
  chosen = []; // corners tapped: none, the first, or both
  #isAdding = false;

  constructor(ctx) {
    this.ctx = ctx;
    this.element = el('section.taping-here', {'aria-label': gettext('Measure'), 'data-key': 'taping'});
  }

  // Lengths still to be measured, the most useful first.
  get #next() {
    const {sketch, store} = this.ctx;
    const taped = (store.job.tape ?? []).filter(({between}) => between);
    const corners = store.job.outline ?? [];
    const isOpen = (pair) => pair.every((name) => corners.includes(name)) && !taped.some(({between}) => samePair(between, pair));
    return (sketch.told?.measure.next ?? []).filter(isOpen);
  }

  // The length the box is for, or null.
  get pair() {
    return this.chosen.length === 2 ? this.chosen : this.chosen.length ? null : (this.#next[0] ?? null);
  }

  pick(name) {
    if (this.chosen.includes(name)) this.chosen = this.chosen.length === 2 ? [] : this.chosen.filter((other) => other !== name);
    else this.chosen = this.chosen.length === 1 ? [...this.chosen, name] : [name];
    this.ctx.changed();
    if (this.chosen.length === 2) this.#field?.input.focus();
    else if (this.chosen.length) say(gettext('From {name}: tap the other corner, in the photo or on the plan.', {name}));
  }

  #choose(pair) {
    this.chosen = [...pair];
    this.ctx.changed();
    this.#field?.input.focus();
  }

  get #field() {
    return fieldIn(this.element, 'quick-length');
  }

  async #add() {
    const {store} = this.ctx;
    const {pair} = this;
    if (this.#isAdding || !pair) return;
    this.#isAdding = true;
    const reading = await this.#field.read();
    this.#isAdding = false;
    if (!reading) {
      this.#field.input.focus();
      return;
    }
    this.#field.clear();
    this.chosen = [];
    store.change(gettext('measured {wall}', {wall: wallName(pair)}), (job) => put(job, pair, reading));
    say(gettext('{what}: {length} added.', {what: wallName(pair), length: reading.typed}));
    this.#field?.input.focus({preventScroll: true});
  }

  update() {
    const {store, sketch} = this.ctx;
    const corners = store.job.outline ?? [];
    this.chosen = this.chosen.filter((name) => corners.includes(name));
    this.element.hidden = corners.length < 2 || !sketch.told;
    if (this.element.hidden) return;
    refill(this.element, this.pair ? this.#box() : this.#words(), this.chosen.length ? null : this.#others());
  }

  #box() {
    const {store, sketch} = this.ctx;
    const {pair} = this;
    const known = (store.job.tape ?? []).find(({between}) => between && samePair(between, pair));
    const {done} = sketch.told.measure;
    const count = this.chosen.length ? null : el('span.count', {}, gettext('{number} of {total}', {number: done + 1, total: done + this.#next.length}));
    const field = lengthField({
      label: gettext('From {from} to {to}', {from: pair[0], to: pair[1]}),
      show: store.job.show ?? 'metric',
      key: 'quick-length',
      value: known?.mm ?? null,
      typed: known?.typed ?? '',
      onEnter: () => this.#add(),
      placeholder: store.job.show === 'imperial' ? `11' 2 3/8"` : gettext('4.312 m'),
    });
    return [
      el('h3', {}, this.chosen.length ? gettext('Measure these two') : [gettext('Measure next'), ' '], count),
      el('div.row', {}, field.element, el('button', {type: 'button', 'data-key': 'quick-add', onclick: () => this.#add()}, gettext('Add'))),
    ];
  }

  #words() {
    if (this.chosen.length) return el('p.next', {}, gettextNodes('From {name}: tap the other corner, in the photo or on the plan.', {name: el('b', {}, this.chosen[0])}));
    return this.isEnough ? el('p.enough', {}, gettext('Measured enough: the floor is sure, and every length is checked by others.')) : null;
  }

  // Nothing is left to be measured: the floor is sure of what was.
  get isEnough() {
    const {survey, sketch} = this.ctx;
    return survey.state === 'ok' && !survey.working && Boolean(sketch.told?.measure.done) && !this.#next.length;
  }

  #others() {
    const others = this.#next.slice(1, 1 + OFFERED);
    if (!others.length) return null;
    return el(
      'div.chips',
      {role: 'group', 'aria-label': gettext('Or measure')},
      el('span.why', {}, gettext('or')),
      others.map((pair) => el('button.chip', {type: 'button', 'data-key': `measure-${pair.join('-')}`, onclick: () => this.#choose(pair)}, pair.join('–'))),
    );
  }
}

// A pair has one length from here; measured again, the new one takes its place.
function put(job, pair, reading) {
  const old = (job.tape ?? []).find(({between}) => between && samePair(between, pair));
  if (old) Object.assign(old, reading);
  else job.tape = [...(job.tape ?? []), {between: [...pair], ...reading}];
}
