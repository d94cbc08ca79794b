// One tap mends a doubted reading: the change that the survey offers for it, undone like any other.

import {el} from './dom.js';

// The entry of the job that a place such as "photos[1].marks[2]" names, with the list it stands in.
function entryAt(job, where) {
  const keys = where.match(/[a-z_]+|\d+/g).map((key) => (/^\d/.test(key) ? Number(key) : key));
  const last = keys.pop();
  const list = keys.reduce((node, key) => node?.[key], job);
  return {list, last, entry: list?.[last]};
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
        onclick: () => store.change(mend.says.toLowerCase(), (job) => CHANGES[mend.do](job, mend)),
      },
      mend.says,
    ),
  );
}
