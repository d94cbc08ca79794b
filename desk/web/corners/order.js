// The corners in order round the room: seen, put right, taken out.

import {el, refill, say, iconButton} from '../common/dom.js';
import {removePoint} from '../common/names.js';

export function fillOrder(card, {store, sketch}) {
  const ring = store.job.outline ?? [];
  const swap = (i, j) => {
    sketch.keepOrder();
    store.change(`put ${ring[i]} ${j < i ? 'before' : 'after'} ${ring[j]}`, (job) => {
      [job.outline[i], job.outline[j]] = [job.outline[j], job.outline[i]];
    });
  };
  refill(
    card,
    el('h2', {}, 'Round the room'),
    el(
      'p',
      {},
      ring.length ? 'Walk along the walls: is this the order you meet the corners in? If not, move them.' : 'The corners appear here as you place them.',
    ),
    el(
      'ol.ring',
      {},
      ring.map((name, i) =>
        el(
          'li',
          {},
          el('b', {}, name),
          el('span', {}, seenIn(store.job, name)),
          iconButton('up', `Move ${name} earlier`, () => swap(i, i - 1), {disabled: i === 0, 'data-key': `up-${name}`}),
          iconButton('down', `Move ${name} later`, () => swap(i, i + 1), {disabled: i === ring.length - 1, 'data-key': `down-${name}`}),
          iconButton('bin', `Remove corner ${name} everywhere`, () => drop(store, name), {'data-key': `drop-${name}`}),
        ),
      ),
    ),
  );
}

function seenIn(job, name) {
  const count = (job.photos ?? []).filter((entry) => (entry.marks ?? []).some((mark) => mark.point === name)).length;
  return count === 0 ? 'in no photo' : count === 1 ? 'in 1 photo' : `in ${count} photos`;
}

function drop(store, name) {
  let gone = 0;
  store.change(`removed corner ${name}`, (job) => {
    gone = removePoint(job, name);
  });
  const also = gone ? ` and what used it: ${gone} ${gone === 1 ? 'entry' : 'entries'}` : '';
  say(`Corner ${name} removed${also}. Undo brings it back.`);
}
