// What makes a good photo, drawn: where to stand, and pictures of an invented room as they should and should not be.

import {el, glyph, svg} from '../common/dom.js';
import {gettext} from '../common/words.js';

const POINTS = [
  gettext('Stand with your back in a corner or in the doorway; hold the phone at eye height, turned a little down.'),
  gettext('See as many floor corners as you can, four or more. Two or three of them should be in another photo too.'),
  gettext('The normal lens: no zoom, no wide angle, no crop, no filter. Send the photos as files, not through a chat.'),
];

export function advice() {
  return [
    el(
      'div.shots-drawn',
      {},
      drawn('good', gettext('Two places to stand'), stand()),
      drawn('good', gettext('The floor, with its corners'), picture('M14 84V0M40 50V0M100 46V0M130 72V0', 'M14 84 40 50 100 46 130 72', [[14, 84], [40, 50], [100, 46], [130, 72]])),
      drawn('look', gettext('Held level: no floor'), picture('M22 108V0M122 108V0', '', [], 'M44 30H96V66H44z')),
      drawn('look', gettext('Too near: one corner'), picture('M82 58V0', 'M0 88 82 58 144 76', [[82, 58]])),
    ),
    el('ol.tips', {}, POINTS.map((text) => el('li', {}, text))),
  ];
}

function drawn(kind, words, drawing) {
  return el(`figure.${kind}`, {}, drawing, el('figcaption', {}, glyph(kind), words));
}

const sketch = (...parts) => svg('svg.sketch', {viewBox: '0 0 144 108', 'aria-hidden': 'true'}, ...parts);

// The room from above, a phone in each of two opposite corners, and what each of them sees.
function stand() {
  const phone = (x, y, turn) => svg('rect.phone', {x: -7, y: -4, width: 14, height: 8, rx: 2, transform: `translate(${x} ${y}) rotate(${turn})`});
  return sketch(
    svg('rect.ground', {x: 18, y: 12, width: 108, height: 84}),
    svg('path.sight', {d: 'M26 88 18 12M26 88 126 96M118 20 126 96M118 20 18 12'}),
    [[18, 12], [126, 12], [126, 96], [18, 96]].map(([cx, cy]) => svg('circle.ringed', {cx, cy, r: 6})),
    phone(27, 87, 45),
    phone(117, 21, 45),
  );
}

// One photo: walls' edges, the foot of the walls, the floor corners it shows, what else there is.
function picture(walls, foot, corners, other = '') {
  return sketch(
    svg('rect.photo', {x: 1, y: 1, width: 142, height: 106, rx: 4}),
    foot ? svg('path.ground', {d: `${foot} 143 86 143 107 1 107 1 100z`}) : '',
    svg('path.wall', {d: `${walls}${other}`}),
    corners.map(([cx, cy]) => svg('circle.ringed', {cx, cy, r: 7})),
  );
}
