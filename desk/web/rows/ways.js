// The ways the rows could run, side by side: a sketch and the figures of each, to choose from.

import {el, refill, svg, sentence} from '../common/dom.js';
import {work} from '../common/api.js';
import {flip} from '../common/turning.js';

export class Ways {
  #known = null; // {revision, ways}
  #asking = '';
  #refusal = '';

  constructor(ctx) {
    this.ctx = ctx;
    this.element = el('section.card', {'aria-label': 'Ways to lay the rows', hidden: true});
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
    this.ctx.store.change(way ? 'turned the rows' : 'left the rows to the tool', (job) => {
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
      el('h2', {}, 'Other ways to lay them'),
      el('p', {}, 'The first is what the tool would take. Thick line: the start wall. Figures of a quick search: the one you take is searched longer.'),
      this.#refusal ? sentence('look', this.#refusal) : null,
      el('ul.ways', {}, ways.map((way, i) => this.#card(way, i, isFree ? i === 0 : isSame(way.wishes, store.job.flooring)))),
      isFree ? null : el('button', {type: 'button', 'data-key': 'way-free', onclick: () => this.#choose(null)}, 'Leave it to the tool'),
    );
  }

  #card(way, i, isChosen) {
    return el(
      'li',
      {},
      el(
        `button.way${isChosen ? '.chosen' : ''}`,
        {type: 'button', 'data-key': `take-way-${i}`, 'aria-pressed': String(isChosen), onclick: () => this.#choose(way)},
        this.#sketch(way),
        el('b', {}, `${way.boards} boards, ${way.packs} packs`),
        el('span', {}, `${way.cuts} cuts, narrowest ${way.narrowest}`),
        el('span', {}, `First row ${way.first}, last ${way.last}`),
        el('span', {}, way.says),
        isChosen ? el('span.taken', {}, 'This one is drawn above') : null,
      ),
    );
  }

  // The floor as every step draws it, the start wall of each way as a thick line on its side.
  #sketch({u, v, rows}) {
    const outline = this.ctx.plan.answer.floor.outline;
    const floor = outline.map(flip);
    const [xs, ys] = [0, 1].map((i) => floor.map((p) => p[i]));
    const [left, top, wide, high] = [Math.min(...xs), Math.min(...ys), Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys)];
    const pad = Math.max(wide, high) * 0.03;
    const id = `floor-${Math.round(u[0] * 1e4)}-${Math.round(u[1] * 1e4)}`;
    const points = floor.map((p) => p.join(',')).join(' ');
    const along = outline.map(([x, y]) => x * u[0] + y * u[1]);
    const t = Math.min(...outline.map(([x, y]) => x * v[0] + y * v[1])) + pad / 3;
    const [p, q] = [Math.min(...along), Math.max(...along)].map((s) => flip([0, 1].map((i) => s * u[i] + t * v[i])));
    return svg(
      'svg.sketch-rows',
      {viewBox: `${left - pad} ${top - pad} ${wide + 2 * pad} ${high + 2 * pad}`, 'aria-hidden': 'true'},
      svg('clipPath', {id}, svg('polygon', {points})),
      svg('polygon.ground', {points}),
      svg(
        'g',
        {'clip-path': `url(#${id})`},
        rows.map((ends) => ends.map(flip)).map(([a, b]) => svg('line', {x1: a[0], y1: a[1], x2: b[0], y2: b[1]})),
        svg('line.start', {x1: p[0], y1: p[1], x2: q[0], y2: q[1]}),
      ),
      svg('polygon.edge', {points}),
    );
  }
}

const isSame = (wishes, flooring) => ['direction', 'start'].every((key) => JSON.stringify(wishes[key]) === JSON.stringify(flooring?.[key] ?? 'auto'));
