// The corners in order round the room: seen, put right, taken out.

import {el, refill, say, iconButton} from '../common/dom.js';
import {removePoint} from '../common/names.js';
import {gettext, ngettext} from '../common/words.js';

export function fillOrder(card, {store, sketch}) {
  const ring = store.job.outline ?? [];
  const swap = (i, j) => {
    sketch.keepOrder();
    store.change(j < i ? gettext('put {name} before {other}', {name: ring[i], other: ring[j]}) : gettext('put {name} after {other}', {name: ring[i], other: ring[j]}), (job) => {
      [job.outline[i], job.outline[j]] = [job.outline[j], job.outline[i]];
    });
  };
  refill(
    card,
    el('h2', {}, gettext('Round the room')),
    el(
      'p',
      {},
      ring.length ? gettext('Walk along the walls: is this the order you meet the corners in? If not, move them.') : gettext('The corners appear here as you place them.'),
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
          iconButton('up', gettext('Move {name} earlier', {name}), () => swap(i, i - 1), {disabled: i === 0, 'data-key': `up-${name}`}),
          iconButton('down', gettext('Move {name} later', {name}), () => swap(i, i + 1), {disabled: i === ring.length - 1, 'data-key': `down-${name}`}),
          iconButton('bin', gettext('Remove corner {name} everywhere', {name}), () => drop(store, name), {'data-key': `drop-${name}`}),
        ),
      ),
    ),
  );
}

function seenIn(job, name) {
  const count = (job.photos ?? []).filter((entry) => (entry.marks ?? []).some((mark) => mark.point === name)).length;
  return count ? ngettext('in {count} photo', 'in {count} photos', count) : gettext('in no photo');
}

function drop(store, name) {
  let gone = 0;
  store.change(gettext('removed corner {name}', {name}), (job) => {
    gone = removePoint(job, name);
  });
  if (!gone) {
    say(gettext('Corner {name} removed. Undo brings it back.', {name}));
    return;
  }
  say(
    ngettext(
      'Corner {name} removed and what used it: {count} entry. Undo brings it back.',
      'Corner {name} removed and what used it: {count} entries. Undo brings it back.',
      gone,
      {name},
    ),
  );
}
