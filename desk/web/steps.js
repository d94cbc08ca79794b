// The steps in order: what each is called, what makes its view, and when it counts as done.

import {el, refill} from './common/dom.js';
import {ring} from './common/names.js';
import * as photos from './photos/photos.js';
import * as corners from './corners/corners.js';
import * as tape from './room/tape.js';
import * as room from './room/room.js';
import * as closeups from './closeups/closeups.js';
import * as boards from './rows/boards.js';
import * as rows from './rows/rows.js';
import * as pack from './laying/pack.js';
import * as day from './laying/day.js';
import {gettext} from './common/words.js';

export const STEPS = [
  {key: 'photos', name: gettext('Photos'), make: photos, done: ({job}) => job.photos?.length > 0},
  {key: 'corners', name: gettext('Corners'), make: corners, done: ({job}) => ring(job).length > 2},
  {key: 'tape', name: gettext('Tape'), make: tape, done: ({survey}) => survey.state === 'ok'},
  {key: 'room', name: gettext('Room'), make: room, done: ({job}) => Boolean(job.doors?.length || job.pipes?.length)},
  {key: 'closeups', name: gettext('Close-ups'), make: closeups, within: 'room', done: () => false},
  {key: 'boards', name: gettext('Boards'), make: boards, done: ({job}) => Boolean(job.flooring?.board)},
  {key: 'rows', name: gettext('Rows'), make: rows, done: ({plan, revision}) => plan.state === 'ok' && plan.revision === revision && plan.stage !== 'preview'},
  {key: 'pack', name: gettext('Pack'), make: pack, done: ({packed}) => Boolean(packed)},
  {key: 'day', name: gettext('Day'), make: day, done: () => false},
];

export const stepNamed = (key) => STEPS.find((step) => step.key === key) ?? STEPS[0];

// The step a person comes from: the one before, or the one a step belongs to.
export function stepBefore(step) {
  if (step.within) return stepNamed(step.within);
  const main = STEPS.filter(({within}) => !within);
  return main[main.indexOf(step) - 1] ?? null;
}

// The list of steps at the top, the current one marked, those that are done ticked. now: {job, revision, survey, plan, packed}.
export function drawSteps(current, now) {
  refill(
    document.getElementById('steps'),
    STEPS.filter(({within}) => !within).map((step, i) => stepLink(step, String(i + 1), step.done(now), step.key === (current.within ?? current.key))),
  );
}

// On a small window the list is longer than the screen: the current step is brought into it.
export function showStep() {
  document.querySelector('#steps [aria-current]')?.scrollIntoView({block: 'nearest', inline: 'center'});
}

function stepLink(step, number, done, isCurrent) {
  return el(
    'li',
    {},
    el(
      `a${done ? '.done' : ''}`,
      {href: `${location.search}#${step.key}`, 'aria-current': isCurrent ? 'step' : null, 'data-key': `step-${step.key}`},
      el('span.dot', {'aria-hidden': 'true'}, done ? '✓' : number),
      el('span', {}, step.name),
      done ? el('span.hidden', {}, `, ${gettext('done')}`) : null,
    ),
  );
}

// Where a job is taken up again: the first step of the main way that is not done.
export function firstOpen(now) {
  const open = STEPS.find((step) => ['photos', 'corners', 'tape'].includes(step.key) && !step.done(now));
  return open?.key ?? 'tape';
}
