// A way of laying, small: the floor as the plan draws it, its start wall at the top, lines between rows, a strip that would be left.

import {svg} from '../common/dom.js';

let drawn = 0;

// outline: the floor, mm; way: {u, v, rows: ends of the lines between rows, mm, strip: [from, to] along v, 0 0 for none}
export function waySketch(outline, {u, v, rows, strip = [0, 0]}) {
  const at = ([x, y]) => [x * u[0] + y * u[1], x * v[0] + y * v[1]];
  const floor = outline.map(at);
  const [xs, ys] = [0, 1].map((i) => floor.map((p) => p[i]));
  const [left, top, wide, high] = [Math.min(...xs), Math.min(...ys), Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys)];
  const pad = Math.max(wide, high) * 0.03;
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
      strip[1] > strip[0] ? svg('rect.strip', {x: left, y: strip[0], width: wide, height: strip[1] - strip[0]}) : null,
      rows.map(([p, q]) => [at(p), at(q)]).map(([p, q]) => svg('line', {x1: p[0], y1: p[1], x2: q[0], y2: q[1]})),
      svg('line.start', {x1: left, y1: top + pad / 3, x2: left + wide, y2: top + pad / 3}),
    ),
    svg('polygon.edge', {points}),
  );
}
