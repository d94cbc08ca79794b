// Boards of several lengths in one pack: each length with how many of it, as the label says or as one pack was counted.

import {el} from '../common/dom.js';
import {lengthField} from './lengthfield.js';
import {countField} from './countfield.js';
import {gettext} from '../common/words.js';

// rows() tells [{length, count}], either may still be missing, as they are by now: a length is read by the desk, and a
// count may be typed meanwhile. onRows gets them changed. Shown folded until somebody needs it.
export function packLengths({rows, show, onRows}) {
  const set = (k, change) => {
    const next = [...rows()];
    next[k] = {...next[k], ...change};
    onRows(next.filter(({length, count}) => length || count));
  };
  const line = (row, k) =>
    el(
      'div.fields',
      {},
      lengthField({
        label: gettext('Length {number}', {number: k + 1}),
        value: row.length ?? null,
        show,
        key: `mix-length-${k}`,
        clearable: true,
        onLength: (mm) => set(k, {length: mm}),
      }).element,
      countField({label: gettext('Boards of it in a pack'), key: `mix-count-${k}`, value: row.count ?? null, onCount: (count) => set(k, {count})}),
    );
  return el(
    'details',
    {open: rows().length ? '' : null},
    el('summary', {}, gettext('A pack holds boards of several lengths')),
    el(
      'p.why',
      {},
      gettext('List every length with how many of it one pack holds; a single length is then not asked for. If the label does not say, open one pack and count. Empty a length’s two boxes to take it out.'),
    ),
    ...[...rows(), {}].map(line),
  );
}

// The lengths that are told in full.
export const wholeRows = (rows) => rows.filter(({length, count}) => length && count);
