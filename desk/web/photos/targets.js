// Printed targets on the floor: whether there are any, how large, and which of them each photo shows.

import {el, refill, say, sentence, glyph} from '../common/dom.js';
import {ask} from '../common/api.js';
import {lengthField} from '../fields/lengthfield.js';
import {pathOf} from '../common/pictures.js';
import {gettext, ngettext} from '../common/words.js';

const USUAL = 150; // mm, as the sheets are printed

export class Targets {
  #seen = new Map(); // file: names of the targets in it, null while the desk looks
  #size = USUAL; // kept while the switch is off
  #refusal = '';

  constructor(ctx, onSeen) {
    this.store = ctx.store;
    this.onSeen = onSeen;
    this.element = el('section.card.targets', {'aria-label': gettext('Printed floor targets')});
  }

  get isOn() {
    return Boolean(this.store.job.targets);
  }

  // A word on the targets in one photo, or "".
  words(file) {
    if (!this.isOn) return '';
    if (!this.#seen.has(file)) this.#look(file);
    const seen = this.#seen.get(file);
    if (!seen) return gettext('looking for targets');
    return seen.length ? ngettext('{count} target seen', '{count} targets seen', seen.length) : gettext('no target seen');
  }

  async #look(file) {
    this.#seen.set(file, null);
    try {
      this.#seen.set(file, (await ask('GET', `${pathOf(file)}/targets`)).seen);
    } catch {
      this.#seen.delete(file);
      return;
    }
    this.onSeen();
  }

  #turn(on) {
    if (this.isOn) this.#size = this.store.job.targets.size ?? USUAL;
    this.store.change(on ? gettext('said that targets lie on the floor') : gettext('said that no targets lie on the floor'), (job) => {
      if (on) job.targets = {size: this.#size};
      else delete job.targets;
    });
  }

  async #print() {
    this.#refusal = '';
    try {
      const {href} = await ask('POST', '/api/targets', {json: {}});
      el('a', {href, download: 'floor-targets.pdf'}).click();
      say(gettext('The target sheets are in your downloads. Print them at 100 %.'));
    } catch (error) {
      this.#refusal = error.says ?? error.message;
      this.update();
    }
  }

  update() {
    const size = this.isOn
      ? lengthField({
          label: gettext('Side of the black square'),
          show: this.store.job.show ?? 'metric',
          value: this.store.job.targets.size ?? USUAL,
          key: 'target-size',
          why: gettext('Measure one after printing. It is only a weak hint of size: your tape rules.'),
          onLength: (mm) =>
            this.store.change(gettext('changed the size of the targets'), (job) => {
              job.targets.size = mm;
            }),
        })
      : null;
    refill(
      this.element,
      el('h2', {}, gettext('Printed floor targets')),
      el('p', {}, gettext('Sheets laid flat on the floor tie the photos together by themselves, even where they share no corner. You can do without.')),
      el(
        'label.pick',
        {},
        el('input', {type: 'checkbox', checked: this.isOn, 'data-key': 'targets', onchange: (event) => this.#turn(event.target.checked)}),
        gettext('Targets lie on the floor in these photos'),
      ),
      size?.element ?? null,
      el('div.row', {}, el('button', {type: 'button', 'data-key': 'target-sheets', onclick: () => this.#print()}, glyph('load'), gettext('Get the sheets to print'))),
      this.#refusal ? sentence('look', this.#refusal) : null,
    );
  }
}
