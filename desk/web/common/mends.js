// One tap mends a doubted reading: the change that the survey offers for it, undone like any other.

import {el, sentence} from './dom.js';
import {asSketch} from './sketchview.js';
import {gettext, lowered} from './words.js';

// The entry of the job that a place such as "photos[1].marks[2]" names, with the list it stands in.
function entryAt(job, where) {
  const keys = where.match(/[a-z_]+|\d+/g).map((key) => (/^\d/.test(key) ? Number(key) : key));
  const last = keys.pop();
  const list = keys.reduce((node, key) => node?.[key], job);
  return {list, last, entry: list?.[last]};
}

// Keys whose texts are letters of corners, alone or in a list.
const LETTERS = ['point', 'wall', 'between', 'corners', 'square', 'straight', 'light', 'direction', 'start'];

// The entry with one letter in another's place, wherever letters stand.
function renamed(entry, kept, dropped, isLetter = false) {
  if (Array.isArray(entry)) return entry.map((member) => renamed(member, kept, dropped, isLetter || typeof member === 'string'));
  if (entry && typeof entry === 'object') {
    return Object.fromEntries(Object.entries(entry).map(([key, value]) => [key, renamed(value, kept, dropped, LETTERS.includes(key))]));
  }
  return isLetter && entry === dropped ? kept : entry;
}

const CHANGES = {
  'use-length': (job, {where, mm}) => {
    const {entry} = entryAt(job, where);
    entry.mm = mm;
    delete entry.typed;
  },
  'other-pair': (job, {where, between}) => {
    entryAt(job, where).entry.between = between;
  },
  'other-point': (job, {where, point}) => {
    entryAt(job, where).entry.point = point;
  },
  'swap-points': (job, {where, other}) => {
    const [one, two] = [where, other].map((place) => entryAt(job, place).entry);
    [one.point, two.point] = [two.point, one.point];
  },
  letters: (job, {letters}) => {
    for (const [where, letter] of letters) entryAt(job, where).entry.point = letter;
  },
  outline: (job, {outline}) => {
    job.outline = outline;
  },
  flip: (job, {outline}) => {
    job.outline = outline;
  },
  'keep-one': (job, {kept, dropped}) => {
    job.outline = job.outline.filter((name) => name !== dropped);
    for (const key of ['photos', 'tape', 'on_wall', 'doors', 'islands', 'square', 'straight', 'flooring']) {
      if (job[key]) job[key] = renamed(job[key], kept, dropped);
    }
    // What lay between the two is between nothing now.
    const isWall = ([a, b]) => a !== b;
    if (job.straight) job.straight = job.straight.filter(isWall);
    for (const photo of job.photos ?? []) if (photo.edges) photo.edges = photo.edges.filter(({wall}) => isWall(wall));
  },
  'leave-out-photo': (job, {where}) => {
    job.photos = job.photos.filter(({file}) => file !== where);
  },
  'leave-out': (job, {where}) => {
    const {list, last} = entryAt(job, where);
    list.splice(last, 1);
  },
};

// Buttons for what a suspect of the survey offers. place: tells the same offer in two places of a page apart.
export function mendButtons(mends, store, place = '') {
  return (mends ?? []).map((mend) =>
    el(
      'button.quiet.inline',
      {
        type: 'button',
        'data-key': `mend-${mend.do}-${mend.where}${place && `-${place}`}`,
        onclick: () => store.change(lowered(mend.says), (job) => CHANGES[mend.do](job, mend)),
      },
      mend.says,
    ),
  );
}

// The sentences of a list, each once, with what would put it right.
const once = (doubts) => doubts.filter(({says}, i) => says && doubts.findIndex((other) => other.says === says) === i);

export const suspectsOf = ({suspects}) => once(suspects);

export function warningsOf({warnings = [], mendable = []}) {
  return warnings.map((says) => ({says, mends: mendable.find((one) => one.says === says)?.mends ?? []}));
}

// What the survey leaves in doubt, suspects first. It goes into the booklet, and is better mended before a plan is kept or printed.
export function doubtsOf({answer}) {
  return answer ? once([...answer.suspects, ...warningsOf(answer)]) : [];
}

// Whether something is to be settled before a plan is anybody's: a reading that looks wrong, left and right of a floor that nothing tells.
export const isDoubted = ({answer}) => Boolean(answer?.suspects.length || answer?.mendable?.length);

// The floor is no mirror image: it is as it is drawn.
function asDrawn({answer}, store) {
  const sketch = asSketch(answer.outline, (name) => [answer.points[name].x, answer.points[name].y]);
  const take = () =>
    store.change(gettext('said that the floor is as drawn'), (job) => {
      job.sketch = sketch;
    });
  return el('button.quiet.inline', {type: 'button', 'data-key': 'as-drawn', onclick: take}, gettext('It is as drawn'));
}

// A doubt in its box, with its buttons while the survey is of the job as it is. ctx: {survey, store}; place: as for `mendButtons`.
export function doubtWords({says, mends}, {survey, store}, place = '') {
  const buttons = survey.revision === store.revision ? mendButtons(mends, store, place) : [];
  if (buttons.length && mends[0].do === 'flip') buttons.unshift(asDrawn(survey, store));
  return sentence('look', says, ' ', buttons.length ? el('span.choices', {}, buttons) : null);
}
