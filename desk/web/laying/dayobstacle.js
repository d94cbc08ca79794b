// The day's form for what nobody knew was there: a pipe or a box in rows still to come, put into the words the desk reads.

import {el} from '../common/dom.js';
import {gettext} from '../common/words.js';

// typed(key): what stands in a box; tell(words); told: where the day stands.
export function obstacleForm({busy, box, typed, tell, told}) {
  const send = (event) => {
    event.preventDefault();
    const [across, along, left, ahead] = ['across', 'along', 'left', 'ahead'].map((key) => typed(`new-${key}`));
    const what = along ? `box ${along} by ${across}` : `pipe ${across}`;
    if (across && left && ahead) tell(`${what} at left ${left} ${told.row ? `row ${told.row}` : 'start wall'} ahead ${ahead}`);
  };
  return el(
    'details',
    {'data-key': 'obstacle'},
    el('summary', {}, gettext('Something stands in the way')),
    el('p.why', {}, gettext('A pipe nobody had marked: its diameter, and the distances to its middle. A box: both its sides, and the distances to its left side and to the one that faces the laid rows.')),
    el(
      'form',
      {onsubmit: send, 'data-key': 'obstacle-form'},
      el(
        'div.fields',
        {},
        box('new-across', gettext('Across: a pipe, or how deep a box is'), '22 mm'),
        box('new-along', gettext('Along the rows: a box only'), '300 mm'),
        box('new-left', gettext('From the left end of row {row}', {row: told.row || 1}), '1204 mm'),
        box('new-ahead', told.row ? gettext("Ahead of row {row}'s far edge", {row: told.row}) : gettext('From the start wall'), '356 mm'),
      ),
      el('div.foot', {}, el('button', {'data-key': 'say-obstacle', disabled: busy}, gettext('It stands there'))),
    ),
  );
}
