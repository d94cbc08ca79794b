// A way of laying, small: the floor as every step draws it, the start wall as a thick line on its side, lines between rows, a strip that would be left.

import {svg} from '../common/dom.js';
import {flip} from '../common/turning.js';

let drawn = 0;

// outline: the floor, mm; way: {u, v, rows: ends of the lines between rows, mm, strip: [from, to] along v, 0 0 for none}
export function waySketch(outline, {u, v, rows, strip = [0, 0]}) {
  const floor = outline.map(flip);
  const [xs, ys] = [0, 1].map((i) => floor.map((p) => p[i]));
  const [left, top, wide, high] = [Math.min(...xs), Math.min(...ys), Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys)];
  const pad = Math.max(wide, high) * 0.03;
  const along = outline.map(([x, y]) => x * u[0] + y * u[1]);
  const ends = [Math.min(...along), Math.max(...along)];
  const at = (s, t) => flip([0, 1].map((i) => s * u[i] + t * v[i]));
  const across = (t) => ends.map((s) => at(s, t));
  const [p, q] = across(Math.min(...outline.map(([x, y]) => x * v[0] + y * v[1])) + pad / 3);
  const id = `floor-${(drawn += 1)}`;
  const points = floor.map((p) => p.join(',')).join(' ');
  return svg(
    'svg.sketch-rows',
    {viewBox: `${left - pad} ${top - pad} ${wide + 2 * pad} ${high + 2 * pad}`, 'aria-hidden': 'true'},
    svg('clipPath', {id}, svg('polygon', {points})),
    svg('polygon.ground', {points}),
    svg(
      'g',
      {'clip-path': `url(#${id})`},
      strip[1] > strip[0] ? svg('polygon.strip', {points: [...across(strip[0]), ...across(strip[1]).reverse()].map((p) => p.join(',')).join(' ')}) : null,
      rows.map((line) => line.map(flip)).map(([a, b]) => svg('line', {x1: a[0], y1: a[1], x2: b[0], y2: b[1]})),
      svg('line.start', {x1: p[0], y1: p[1], x2: q[0], y2: q[1]}),
    ),
    svg('polygon.edge', {points}),
  );
}
