// The card of the parts that stay bare: each as its edges' distances off two walls, or as corners that are marked and taped like the floor's.

import {el, refill, say, iconButton} from '../common/dom.js';
import {lengthField} from '../fields/lengthfield.js';
import {nextNumbered} from '../common/names.js';
import {ROUGH_PM, roughly, typeEdge} from '../fields/offwalls.js';
import {bareOff} from './putting.js';

export class BareParts {
  constructor(ctx, plan) {
    this.ctx = ctx;
    this.plan = plan;
    this.element = el('section.card', {'aria-label': 'Parts not covered'});
  }

  #add(event) {
    const box = event.currentTarget.parentNode.querySelector('input');
    const corners = box.value
      .toUpperCase()
      .split(/[\s,]+/)
      .filter(Boolean);
    if (corners.length < 3 || new Set(corners).size < corners.length) {
      say('Name three or more different points, in order round the part.');
      return;
    }
    box.value = '';
    const {store} = this.ctx;
    const name = nextNumbered('bare part ', new Set((store.job.islands ?? []).map((island) => island.name)));
    store.change(`added ${name}`, (job) => {
      job.islands = [...(job.islands ?? []), {name, corners}];
    });
    say(`Added. Mark ${corners.join(', ')} in the photos, or tape them.`);
  }

  #item(island, i) {
    const {store, survey} = this.ctx;
    const told = survey.answer && !store.job.floor ? bareOff(store.job, this.plan.lines, island) : null;
    const isRough = told?.box.some((side) => side.isRough.some(Boolean));
    const note = isRough ? `put by hand, ±${roughly(ROUGH_PM, store.job.show)}: type what the tape says` : island.corners.join(', ');
    return el(
      'li.thing',
      {},
      el(
        'div.thing-head',
        {},
        el('span', {}, el('b', {}, `${island.name[0].toUpperCase()}${island.name.slice(1)}`), ' ', el('span.why', {}, note)),
        iconButton('bin', `Remove ${island.name}`, () => this.#remove(island), {'data-key': `bare-${i}`}),
      ),
      told ? el('div.fields', {}, told.box.flatMap((side, k) => ['Near', 'Far'].map((edge, e) => this.#edge(island, i, side, k, edge, e)))) : null,
    );
  }

  #edge(island, i, side, k, edge, e) {
    const {store} = this.ctx;
    return lengthField({
      label: `${edge} edge off ${side.wall.join(' to ')}`,
      value: side.mm[e],
      typed: side.typed[e],
      show: store.job.show ?? 'metric',
      key: `bare-${i}-${k}-${e}`,
      onLength: (mm, typed) => {
        if (e ? mm <= side.mm[0] : mm >= side.mm[1]) say('The far edge must be farther off that wall than the near one; nothing was changed.');
        else store.change(`typed where ${island.name} is`, (job) => typeEdge(job, island, k, e, mm, typed));
      },
    }).element;
  }

  // Its corners are nobody else's, so what tells where they are goes too.
  #remove({name, corners}) {
    this.ctx.store.change(`removed ${name}`, (job) => {
      job.islands = job.islands.filter((island) => island.name !== name);
      job.tape = (job.tape ?? []).filter((entry) => ![entry.point, ...(entry.between ?? [])].some((end) => corners.includes(end)));
      for (const photo of job.photos ?? []) photo.marks = (photo.marks ?? []).filter((mark) => !corners.includes(mark.point));
    });
  }

  update() {
    const input = el('input', {type: 'text', id: 'bare-corners', autocomplete: 'off', placeholder: 'H1 H2 H3 H4', 'data-key': 'bare-corners'});
    refill(
      this.element,
      el('h2', {}, 'Parts that stay bare'),
      el('p', {}, 'A hearth or a column inside the room: put it on the plan and type its edges. If it is not square to the walls, name its corners here, then mark them in the photos or tape them.'),
      el('ul', {}, (this.ctx.store.job.islands ?? []).map((island, i) => this.#item(island, i))),
      el(
        'div.field',
        {},
        el('label', {for: 'bare-corners'}, 'Its corners in order'),
        el('div.row', {}, input, el('button', {type: 'button', 'data-key': 'add-bare', onclick: (event) => this.#add(event)}, 'Add')),
      ),
    );
  }
}
