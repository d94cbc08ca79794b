// A drawing for each step: an invented room, and what is done with it there.

import {svg} from '../common/dom.js';
import {gettext} from '../common/words.js';

const ROOM = '22,86 22,26 60,26 60,14 122,14 122,86';
const CORNERS = [[22, 86], [22, 26], [60, 26], [60, 14], [122, 14], [122, 86]];

const sketch = (...parts) => svg('svg.sketch', {viewBox: '0 0 144 100', 'aria-hidden': 'true'}, ...parts);
const room = () => svg('polygon.ground', {points: ROOM});
const rings = (among = CORNERS) => among.map(([cx, cy]) => svg('circle.ringed', {cx, cy, r: 5}));
const path = (d, kind = 'line') => svg(`path.${kind}`, {d});
const word = (x, y, text) => svg('text', {x, y}, text);

// Rows of boards in the room, all of them or the first few.
function rows(count) {
  const lines = [];
  for (let k = 0; k < count; k += 1) {
    const y = 14 + 9 * k;
    const left = y < 26 ? 60 : 22;
    lines.push(path(`M${left} ${y + 9}H122`, 'seam'), path(`M${left + 18 + ((k * 23) % 38)} ${y}v9`, 'seam'));
  }
  return lines;
}

export const DRAWINGS = {
  photos: () => sketch(room(), path('M30 80 22 26M30 80 122 14M30 80 122 86', 'sight'), svg('rect.phone', {x: 23, y: 76, width: 14, height: 8, rx: 2, transform: 'rotate(-35 30 80)'})),
  corners: () => sketch(room(), rings(), CORNERS.map(([x, y], i) => word(x + (x > 70 ? 12 : -12), y + 4, 'ABCDEF'[i]))),
  tape: () => sketch(room(), path('M22 86 122 14', 'measure'), path('M22 94H122M22 90v8M122 90v8', 'measure'), word(72, 92, gettext('4.31 m'))),
  room: () => sketch(room(), path('M70 86h28', 'opening'), path('M70 86a28 28 0 0 1 28-28V86'), svg('circle.ringed', {cx: 112, cy: 24, r: 4})),
  closeups: () => sketch(svg('rect.photo', {x: 2, y: 2, width: 140, height: 96, rx: 5}), path('M2 34H142'), svg('polygon.paper', {points: '40,48 96,42 104,82 46,88'}), svg('circle.ringed', {cx: 116, cy: 40, r: 8})),
  boards: () => sketch(svg('rect.ground', {x: 8, y: 34, width: 128, height: 22}), path('M8 66H136M8 62v8M136 62v8', 'measure'), word(72, 84, '1285 x 192 x 8 mm'), path('M14 34v22', 'seam')),
  rows: () => sketch(room(), rows(8), path('M60 14H122', 'start')),
  pack: () => sketch(svg('rect.paper', {x: 30, y: 8, width: 56, height: 80}), svg('rect.paper', {x: 62, y: 16, width: 56, height: 80}), path('M70 34h40M70 44h40M70 54h26'), path('M70 72h40M70 68v8M110 68v8', 'measure')),
  day: () => sketch(room(), rows(3), path('M122 41V86M118 41h8M118 86h8', 'measure'), path('m66 60 8 8 16-18', 'tick')),
};
