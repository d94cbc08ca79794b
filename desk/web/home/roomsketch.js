// A room as a small drawing on its card; one without a floor yet as an empty frame.

import {svg} from '../common/dom.js';
import {list} from '../common/planview.js';
import {flip} from '../common/turning.js';

const [WIDE, HIGH, PAD] = [120, 90, 6];

// room: as the desk saw it, or undefined.
export function roomSketch(room, label) {
  const corners = Object.entries(room?.corners ?? {}).map(([name, place]) => [name, flip(place)]);
  const frame = {viewBox: `0 0 ${WIDE} ${HIGH}`, role: 'img', 'aria-label': label};
  if (!corners.length) return svg('svg.room-sketch.bare', frame, svg('rect.frame', {x: 22, y: 15, width: 76, height: 60, rx: 3}));
  const [xs, ys] = [0, 1].map((i) => corners.map(([, place]) => place[i]));
  const [left, top] = [Math.min(...xs), Math.min(...ys)];
  const [wide, high] = [Math.max(...xs) - left, Math.max(...ys) - top];
  const k = Math.min((WIDE - 2 * PAD) / wide, (HIGH - 2 * PAD) / high);
  const put = ([x, y]) => [(WIDE - wide * k) / 2 + (x - left) * k, (HIGH - high * k) / 2 + (y - top) * k];
  const at = new Map(corners.map(([name, place]) => [name, put(place)]));
  return svg('svg.room-sketch', frame, svg('polygon.ground', {points: list([...at.values()])}), ...room.doors.map((door) => opening(door, at, k)));
}

function opening({wall, from, width}, at, k) {
  const [p, q] = wall.map((name) => at.get(name));
  if (!p || !q) return '';
  const long = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1;
  const [a, b] = [from, from + width].map((mm) => [0, 1].map((i) => p[i] + ((q[i] - p[i]) * Math.min(mm * k, long)) / long));
  return svg('line.opening', {x1: a[0], y1: a[1], x2: b[0], y2: b[1]});
}
