// The ways the rows could run, side by side: a sketch and the figures of each, to choose from.

import {el, refill, sentence} from '../common/dom.js';
import {work} from '../common/api.js';
import {waySketch} from './waysketch.js';
import {gettext, ngettext} from '../common/words.js';

export class Ways {
  #known = null; // {revision, ways}
  #asking = '';
  #refusal = '';

  constructor(ctx) {
    this.ctx = ctx;
    this.element = el('section.card', {'aria-label': gettext('Ways to lay the rows'), hidden: true});
  }

  async #ask() {
    const {store} = this.ctx;
    const {revision} = store;
    if (this.#known?.revision === revision || this.#asking === revision) return;
    this.#asking = revision;
    try {
      const {ways} = await work('ways');
      this.#known = {revision, ways};
      this.#refusal = '';
    } catch (error) {
      if (error.slug !== 'replaced') this.#refusal = error.says ?? error.message;
    }
    this.#asking = '';
    this.update();
  }

  #choose(way) {
    this.ctx.store.change(way ? gettext('turned the rows') : gettext('left the rows to the tool'), (job) => {
      job.flooring = {...job.flooring, direction: way?.wishes.direction ?? 'auto', start: way?.wishes.start ?? 'auto', first_row: 'auto'};
    });
  }

  update() {
    const {plan, store} = this.ctx;
    if (plan.state === 'ok' && plan.stage !== 'preview' && plan.revision === store.revision) this.#ask();
    const ways = this.#known?.ways ?? [];
    // What is known stays while another plan is searched: a choice neither jumps away under the hand nor loses the keyboard.
    this.element.hidden = ways.length < 2 || plan.state !== 'ok';
    if (this.element.hidden) return;
    const asked = store.job.flooring?.direction ?? 'auto';
    const isFree = asked === 'auto' && (store.job.flooring?.start ?? 'auto') === 'auto';
    refill(
      this.element,
      el('h2', {}, gettext('Other ways to lay them')),
      el('p', {}, gettext('The first is what the tool would take. Thick line: the start wall. The one you take is searched longer.')),
      this.#refusal ? sentence('look', this.#refusal) : null,
      el('ul.ways', {}, ways.map((way, i) => this.#card(way, i, isFree ? i === 0 : isSame(way.wishes, store.job.flooring)))),
      isFree ? null : el('button', {type: 'button', 'data-key': 'way-free', onclick: () => this.#choose(null)}, gettext('Leave it to the tool')),
    );
  }

  #card(way, i, isChosen) {
    return el(
      'li',
      {},
      el(
        `button.way${isChosen ? '.chosen' : ''}`,
        {type: 'button', 'data-key': `take-way-${i}`, 'aria-pressed': String(isChosen), onclick: () => this.#choose(way)},
        waySketch(this.ctx.plan.answer.floor.outline, way),
        el('b', {}, `${ngettext('{count} board', '{count} boards', way.boards)}, ${ngettext('{count} pack', '{count} packs', way.packs)}`),
        el('span', {}, ngettext('{count} cut, narrowest {narrowest}', '{count} cuts, narrowest {narrowest}', way.cuts, {narrowest: way.narrowest})),
        el('span', {}, gettext('First row {first}, last {last}', {first: way.first, last: way.last})),
        el('span', {}, way.says),
        isChosen ? el('span.taken', {}, gettext('This one is drawn above')) : null,
      ),
    );
  }
}

const isSame = (wishes, flooring) => ['direction', 'start'].every((key) => JSON.stringify(wishes[key]) === JSON.stringify(flooring?.[key] ?? 'auto'));
