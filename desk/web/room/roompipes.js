// The card of the pipes: what each is, and where it stands as distances off two walls, typed as the tape says them.

import {el, refill, say, iconButton, glyph} from '../common/dom.js';
import {lengthField} from '../fields/lengthfield.js';
import {nextNumbered, pointNames} from '../common/names.js';
import {ROUGH_PM, roughly} from '../fields/offwalls.js';
import {pipeOff, typePipe} from './putting.js';

export class Pipes {
  constructor(ctx, plan) {
    this.ctx = ctx;
    this.plan = plan;
    this.element = el('section.card', {'aria-label': 'Pipes'});
  }

  // A radiator is two pipes to the floor: one change, so one undo takes it out again.
  #add(count, what) {
    const {store} = this.ctx;
    const names = [];
    const taken = new Set(pointNames(store.job));
    while (names.length < count) {
      names.push(nextNumbered('P', taken));
      taken.add(names.at(-1));
    }
    store.change(`added ${what} ${names.join(' and ')}`, (job) => {
      job.pipes = [...(job.pipes ?? []), ...names.map((name) => ({name, diameter: 15}))];
    });
    say(count === 1 ? `Pipe ${names[0]} added, 15 mm across. Now say where it is.` : `Pipes ${names.join(' and ')} added, 15 mm across. Now say where they are.`);
  }

  // Where a pipe is known from, in words.
  #where(pipe, told) {
    const {job} = this.ctx.store;
    if (told?.isRough) return `put by hand, ±${roughly(ROUGH_PM, job.show)}: type what the tape says`;
    const placed = (job.photos ?? []).some((photo) => (photo.marks ?? []).some((mark) => mark.point === pipe.name));
    const offsets = (job.tape ?? []).filter((entry) => entry.point === pipe.name || entry.between?.includes(pipe.name)).length;
    const known = [placed && 'marked in a photo', offsets && `${offsets} tape length${offsets > 1 ? 's' : ''}`, pipe.at && 'placed by coordinates'];
    return known.filter(Boolean).join(', ') || 'not placed yet';
  }

  #item(pipe, i) {
    const {store, survey} = this.ctx;
    const show = store.job.show ?? 'metric';
    const told = survey.answer ? pipeOff(store.job, this.plan.lines, pipe) : null;
    const offWall = (line, side) =>
      lengthField({
        label: `Off wall ${line.wall.join(' to ')}`,
        value: told.mm[side],
        typed: told.typed[side],
        show,
        key: `pipe-${i}-off-${side}`,
        onLength: (mm, typed) => store.change(`typed where ${pipe.name} is`, (job) => typePipe(job, pipe.name, this.plan.lines, side, mm, typed)),
      }).element;
    return el(
      'li.thing',
      {},
      el(
        'div.thing-head',
        {},
        el('span', {}, el('b', {}, `Pipe ${pipe.name}`), ' ', el('span.why', {}, this.#where(pipe, told))),
        iconButton('bin', `Remove pipe ${pipe.name}`, () => this.#remove(pipe), {'data-key': `pipe-${i}-bin`}),
      ),
      el(
        'div.fields',
        {},
        lengthField({
          label: 'Outside diameter',
          value: pipe.diameter,
          show,
          key: `pipe-${i}-d`,
          isSmall: true,
          onLength: (mm) =>
            store.change(`changed ${pipe.name}`, (job) => {
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
      el('button', {type: 'button', 'data-key': `pipe-${i}-photo`, onclick: () => ctx.go('corners', {point: pipe.name})}, 'Mark its centre in a photo'),
      el('button', {type: 'button', 'data-key': `pipe-${i}-tape`, onclick: () => ctx.go('tape', {off: pipe.name})}, 'Tape it off two walls'),
    );
  }

  // What tells where the pipe is goes with it.
  #remove({name}) {
    this.ctx.store.change(`removed pipe ${name}`, (job) => {
      job.pipes = job.pipes.filter((pipe) => pipe.name !== name);
      job.tape = (job.tape ?? []).filter((entry) => entry.point !== name && !entry.between?.includes(name));
      for (const photo of job.photos ?? []) photo.marks = (photo.marks ?? []).filter((mark) => mark.point !== name);
    });
  }

  update() {
    refill(
      this.element,
      el('h2', {}, 'Pipes'),
      el(
        'p',
        {},
        'Radiator pipes and the like. The hole is drilled larger than the pipe, by the gap all round. A radiator that stands on feet is a part that stays bare.',
      ),
      el('ul', {}, (this.ctx.store.job.pipes ?? []).map((pipe, i) => this.#item(pipe, i))),
      el(
        'div.row',
        {},
        el('button', {type: 'button', 'data-key': 'add-pipe', onclick: () => this.#add(1, 'pipe')}, glyph('plus'), 'Add a pipe'),
        el('button', {type: 'button', 'data-key': 'add-radiator', onclick: () => this.#add(2, "a radiator's pipes")}, glyph('plus'), "Add a radiator's two pipes"),
      ),
    );
  }
}
