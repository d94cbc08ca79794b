// The card of the pipes: what each is, and where it stands as distances off two walls, typed as the tape says them.

import {el, refill, say, iconButton, glyph} from '../common/dom.js';
import {lengthField} from '../fields/lengthfield.js';
import {nextNumbered, pointNames, wallName} from '../common/names.js';
import {ROUGH_PM, roughly} from '../fields/offwalls.js';
import {pipeOff, typePipe} from './putting.js';
import {gettext, ngettext, listed} from '../common/words.js';

export class Pipes {
  constructor(ctx, plan) {
    this.ctx = ctx;
    this.plan = plan;
    this.element = el('section.card', {'aria-label': gettext('Pipes')});
  }

  // A radiator is two pipes to the floor: one change, so one undo takes it out again.
  #add(count) {
    const {store} = this.ctx;
    const names = [];
    const taken = new Set(pointNames(store.job));
    while (names.length < count) {
      names.push(nextNumbered('P', taken));
      taken.add(names.at(-1));
    }
    const all = listed(names);
    store.change(count === 1 ? gettext('added pipe {names}', {names: all}) : gettext("added a radiator's pipes {names}", {names: all}), (job) => {
      job.pipes = [...(job.pipes ?? []), ...names.map((name) => ({name, diameter: 15}))];
    });
    say(count === 1 ? gettext('Pipe {name} added, 15 mm across. Now say where it is.', {name: all}) : gettext('Pipes {names} added, 15 mm across. Now say where they are.', {names: all}));
  }

  // Where a pipe is known from, in words.
  #where(pipe, told) {
    const {job} = this.ctx.store;
    if (told?.isRough) return gettext('put by hand, ±{length}: type what the tape says', {length: roughly(ROUGH_PM, job.show)});
    const placed = (job.photos ?? []).some((photo) => (photo.marks ?? []).some((mark) => mark.point === pipe.name));
    const offsets = (job.tape ?? []).filter((entry) => entry.point === pipe.name || entry.between?.includes(pipe.name)).length;
    const known = [placed && gettext('marked in a photo'), offsets && ngettext('{count} tape length', '{count} tape lengths', offsets), pipe.at && gettext('placed by coordinates')];
    return known.filter(Boolean).join(', ') || gettext('not placed yet');
  }

  #item(pipe, i) {
    const {store, survey} = this.ctx;
    const show = store.job.show ?? 'metric';
    const told = survey.answer ? pipeOff(store.job, this.plan.lines, pipe) : null;
    const offWall = (line, side) =>
      lengthField({
        label: gettext('Off wall {wall}', {wall: wallName(line.wall)}),
        value: told.mm[side],
        typed: told.typed[side],
        show,
        key: `pipe-${i}-off-${side}`,
        onLength: (mm, typed) => store.change(gettext('typed where {name} is', {name: pipe.name}), (job) => typePipe(job, pipe.name, this.plan.lines, side, mm, typed)),
      }).element;
    return el(
      'li.thing',
      {},
      el(
        'div.thing-head',
        {},
        el('span', {}, el('b', {}, gettext('Pipe {name}', {name: pipe.name})), ' ', el('span.why', {}, this.#where(pipe, told))),
        iconButton('bin', gettext('Remove pipe {name}', {name: pipe.name}), () => this.#remove(pipe), {'data-key': `pipe-${i}-bin`}),
      ),
      el(
        'div.fields',
        {},
        lengthField({
          label: gettext('Outside diameter'),
          value: pipe.diameter,
          show,
          key: `pipe-${i}-d`,
          isSmall: true,
          onLength: (mm) =>
            store.change(gettext('changed {name}', {name: pipe.name}), (job) => {
              job.pipes[i].diameter = mm;
            }),
        }).element,
        told ? told.pair.map(offWall) : null,
      ),
      told ? null : this.#ways(pipe, i),
    );
  }

  #ways(pipe, i) {
    const {ctx} = this;
    return el(
      'div.row',
      {},
      el('button', {type: 'button', 'data-key': `pipe-${i}-photo`, onclick: () => ctx.go('corners', {point: pipe.name})}, gettext('Mark its centre in a photo')),
      el('button', {type: 'button', 'data-key': `pipe-${i}-tape`, onclick: () => ctx.go('tape', {off: pipe.name})}, gettext('Tape it off two walls')),
    );
  }

  // What tells where the pipe is goes with it.
  #remove({name}) {
    this.ctx.store.change(gettext('removed pipe {name}', {name}), (job) => {
      job.pipes = job.pipes.filter((pipe) => pipe.name !== name);
      job.tape = (job.tape ?? []).filter((entry) => entry.point !== name && !entry.between?.includes(name));
      for (const photo of job.photos ?? []) photo.marks = (photo.marks ?? []).filter((mark) => mark.point !== name);
    });
  }

  update() {
    refill(
      this.element,
      el('h2', {}, gettext('Pipes')),
      el(
        'p',
        {},
        gettext('Radiator pipes and the like. The hole is drilled larger than the pipe, by the gap all round. A radiator that stands on feet is a part that stays bare.'),
      ),
      el('ul', {}, (this.ctx.store.job.pipes ?? []).map((pipe, i) => this.#item(pipe, i))),
      el(
        'div.row',
        {},
        el('button', {type: 'button', 'data-key': 'add-pipe', onclick: () => this.#add(1)}, glyph('plus'), gettext('Add a pipe')),
        el('button', {type: 'button', 'data-key': 'add-radiator', onclick: () => this.#add(2)}, glyph('plus'), gettext("Add a radiator's two pipes")),
      ),
    );
  }
}
