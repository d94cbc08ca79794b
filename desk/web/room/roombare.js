// The card of the parts that stay bare: each as its edges' distances off two walls, or as corners that are marked and taped like the floor's.

import {el, refill, say, iconButton} from '../common/dom.js';
import {lengthField} from '../fields/lengthfield.js';
import {nextNumbered, wallName} from '../common/names.js';
import {ROUGH_PM, roughly, typeEdge} from '../fields/offwalls.js';
import {bareOff} from './putting.js';
import {gettext, raised} from '../common/words.js';

export class BareParts {
  constructor(ctx, plan) {
    this.ctx = ctx;
    this.plan = plan;
    this.element = el('section.card', {'aria-label': gettext('Parts not covered')});
  }

  #add(event) {
    const box = event.currentTarget.parentNode.querySelector('input');
    const corners = box.value
      .toUpperCase()
      .split(/[\s,]+/)
      .filter(Boolean);
    if (corners.length < 3 || new Set(corners).size < corners.length) {
      say(gettext('Name three or more different points, in order round the part.'));
      return;
    }
    box.value = '';
    const {store} = this.ctx;
    const name = nextNumbered(`${gettext('bare part')} `, new Set((store.job.islands ?? []).map((island) => island.name)));
    store.change(gettext('added {name}', {name}), (job) => {
      job.islands = [...(job.islands ?? []), {name, corners}];
    });
    say(gettext('Added. Mark {names} in the photos, or tape them.', {names: corners.join(', ')}));
  }

  #item(island, i) {
    const {store, survey} = this.ctx;
    const told = survey.answer && !store.job.floor ? bareOff(store.job, this.plan.lines, island) : null;
    const isRough = told?.box.some((side) => side.isRough.some(Boolean));
    const note = isRough ? gettext('put by hand, ±{length}: type what the tape says', {length: roughly(ROUGH_PM, store.job.show)}) : island.corners.join(', ');
    return el(
      'li.thing',
      {},
      el(
        'div.thing-head',
        {},
        el('span', {}, el('b', {}, raised(island.name)), ' ', el('span.why', {}, note)),
        iconButton('bin', gettext('Remove {name}', {name: island.name}), () => this.#remove(island), {'data-key': `bare-${i}`}),
      ),
      told ? el('div.fields', {}, told.box.flatMap((side, k) => [0, 1].map((e) => this.#edge(island, i, side, k, e)))) : null,
    );
  }

  #edge(island, i, side, k, e) {
    const {store} = this.ctx;
    const wall = wallName(side.wall);
    return lengthField({
      label: e ? gettext('Far edge off {wall}', {wall}) : gettext('Near edge off {wall}', {wall}),
      value: side.mm[e],
      typed: side.typed[e],
      show: store.job.show ?? 'metric',
      key: `bare-${i}-${k}-${e}`,
      onLength: (mm, typed) => {
        if (e ? mm <= side.mm[0] : mm >= side.mm[1]) say(gettext('The far edge must be farther off that wall than the near one; nothing was changed.'));
        else store.change(gettext('typed where {name} is', {name: island.name}), (job) => typeEdge(job, island, k, e, mm, typed));
      },
    }).element;
  }

  // Its corners are nobody else's, so what tells where they are goes too.
  #remove({name, corners}) {
    this.ctx.store.change(gettext('removed {name}', {name}), (job) => {
      job.islands = job.islands.filter((island) => island.name !== name);
      job.tape = (job.tape ?? []).filter((entry) => ![entry.point, ...(entry.between ?? [])].some((end) => corners.includes(end)));
      for (const photo of job.photos ?? []) photo.marks = (photo.marks ?? []).filter((mark) => !corners.includes(mark.point));
    });
  }

  update() {
    const input = el('input', {type: 'text', id: 'bare-corners', autocomplete: 'off', placeholder: 'H1 H2 H3 H4', 'data-key': 'bare-corners'});
    refill(
      this.element,
      el('h2', {}, gettext('Parts that stay bare')),
      el('p', {}, gettext('A hearth or a column inside the room: put it on the plan and type its edges. If it is not square to the walls, name its corners here, then mark them in the photos or tape them.')),
      el('ul', {}, (this.ctx.store.job.islands ?? []).map((island, i) => this.#item(island, i))),
      el(
        'div.field',
        {},
        el('label', {for: 'bare-corners'}, gettext('Its corners in order')),
        el('div.row', {}, input, el('button', {type: 'button', 'data-key': 'add-bare', onclick: (event) => this.#add(event)}, gettext('Add'))),
      ),
    );
  }
}
