// Places told as distances off two walls: of what was put on the plan by hand, and rough until somebody types what the tape says.

import {samePair} from '../common/names.js';

// How well a hand puts something on a plan, mm at 95 %: what the desk takes for an entry with `by_hand`.
export const ROUGH_PM = 200;
// Jobs from before that key said it by this spread.
const OLD_ROUGH_SD = 100;
export const STEP = 10; // mm: a tap or a drag is no finer

const rounded = (mm, step) => Math.max(0, Math.round(mm / step) * step);

// A length put by hand, as people say it.
export function roughly(mm, show) {
  if (show !== 'imperial') return `${Math.round(mm)} mm`;
  const inches = Math.round(mm / 25.4);
  return inches < 12 ? `${inches}"` : `${Math.floor(inches / 12)}' ${inches % 12}"`;
}

export const isRough = (entry) => entry.by_hand ?? (entry.sd === OLD_ROUGH_SD && !entry.typed);

// The walls of a surveyed floor: their ends' names, the first end, how they run (u), which way the room lies (n), how long, mm.
export function wallLines({outline, points}) {
  return outline.map((name, i) => {
    const wall = [name, outline[(i + 1) % outline.length]];
    const [p, q] = wall.map((end) => [points[end].x, points[end].y]);
    const long = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1;
    const u = [(q[0] - p[0]) / long, (q[1] - p[1]) / long];
    return {wall, p, u, n: [-u[1], u[0]], long};
  });
}

// How far a place lies off a wall, into the room, and how far along it, mm.
export const off = ({p, n}, [x, y]) => (x - p[0]) * n[0] + (y - p[1]) * n[1];
export const along = ({p, u}, [x, y]) => (x - p[0]) * u[0] + (y - p[1]) * u[1];

export const offEach = (pair, place) => pair.map((line) => off(line, place));

function reach(line, place) {
  const s = along(line, place);
  return Math.hypot(off(line, place), s - Math.min(Math.max(s, 0), line.long));
}

// The two walls a place is told from: the nearest, and the nearest of those that run more than 30 degrees otherwise. Walls one can hold the
// tape square against come first.
export function twoWalls(lines, place) {
  const seen = lines.filter((line) => off(line, place) >= 0);
  const squarely = (line) => along(line, place) >= 0 && along(line, place) <= line.long;
  const sorted = seen.sort((a, b) => squarely(b) - squarely(a) || reach(a, place) - reach(b, place));
  const [first] = sorted;
  const second = sorted.find(({u}) => Math.abs(first.u[0] * u[1] - first.u[1] * u[0]) > 0.5);
  return second ? [first, second] : null;
}

// Where a place is inside the floor: even-odd rule over its walls.
export function isInside(lines, [x, y]) {
  return lines.reduce((inside, {p, u, long}) => {
    const q = [p[0] + u[0] * long, p[1] + u[1] * long];
    const crosses = p[1] > y !== q[1] > y && x < p[0] + ((q[0] - p[0]) * (y - p[1])) / (q[1] - p[1]);
    return crosses ? !inside : inside;
  }, false);
}

// The place that lies so far off each of two walls.
export function placeOff([a, b], [da, db]) {
  const [ca, cb] = [a.p[0] * a.n[0] + a.p[1] * a.n[1] + da, b.p[0] * b.n[0] + b.p[1] * b.n[1] + db];
  const det = a.n[0] * b.n[1] - a.n[1] * b.n[0];
  return [(ca * b.n[1] - cb * a.n[1]) / det, (a.n[0] * cb - b.n[0] * ca) / det];
}

// The lines of the walls two entries are off, whichever way round they name them; null if one is gone.
export function pairOf(lines, walls) {
  const pair = walls.map((wall) => lines.find((line) => samePair(line.wall, wall)));
  return pair.every(Boolean) ? pair : null;
}

// The tape entries that tell a point's distance off a wall.
export const offsetsOf = (job, name) => (job.tape ?? []).filter((entry) => entry.point === name);

// Whether nothing but a hand on the plan tells where a point is, so that a hand may move it.
export function isByHand(job, name) {
  const offsets = offsetsOf(job, name);
  const isSeen = (job.photos ?? []).some((photo) => (photo.marks ?? []).some((mark) => mark.point === name));
  const isTaped = (job.tape ?? []).some((entry) => entry.between?.includes(name));
  return offsets.length === 2 && offsets.every(isRough) && !isSeen && !isTaped;
}

// Put a point so far off two walls, in the place of what a hand had put before.
function putOff(job, name, pair, distances, step) {
  const entries = pair.map(({wall}, i) => ({point: name, wall, mm: rounded(distances[i], step), by_hand: true}));
  job.tape = [...(job.tape ?? []).filter((entry) => entry.point !== name || !isRough(entry)), ...entries];
}

export const putPoint = (job, name, pair, place, step = STEP) => putOff(job, name, pair, offEach(pair, place), step);

// Which edge each corner of a four-cornered part lies on, 0 near or 1 far, off the first wall and off the second.
const EDGES = [[0, 0], [1, 0], [1, 1], [0, 1]];

// Put such a part: its edges' distances off each of two walls, [[near, far], [near, far]].
export function putBox(job, corners, pair, distances, step = STEP) {
  EDGES.forEach((edges, k) => putOff(job, corners[k], pair, edges.map((edge, side) => distances[side][edge]), step));
}

// Its corners' places in order.
export const boxPlaces = (pair, distances) => EDGES.map((edges) => placeOff(pair, edges.map((edge, side) => distances[side][edge])));

// A part as its edges off two walls, for each of them {wall, mm: [near, far], typed: [near, far], isRough: [near, far]}; null if not put so.
export function boxOf(job, {corners}) {
  const told = corners.map((name) => offsetsOf(job, name));
  if (corners.length !== 4 || told.some((entries) => entries.length !== 2)) return null;
  const sides = [0, 1].map((side) => [0, 1].map((edge) => told[EDGES.findIndex((edges) => edges[side] === edge)][side]));
  const isBox = told.every((entries, k) =>
    entries.every(({wall, mm}, side) => String(wall) === String(sides[side][0].wall) && mm === sides[side][EDGES[k][side]].mm),
  );
  if (!isBox) return null;
  return sides.map((pair) => ({wall: pair[0].wall, mm: pair.map(({mm}) => mm), typed: pair.map(({typed = ''}) => typed), isRough: pair.map(isRough)}));
}

// The tape now says it: the entry is a length like any other.
export function typeOff(entry, mm, typed) {
  if (isRough(entry)) delete entry.sd;
  delete entry.by_hand;
  Object.assign(entry, {mm, typed});
}

// Type where an edge of a part lies: at both its corners. side: off which of the two walls; edge: 0 near, 1 far.
export function typeEdge(job, {corners}, side, edge, mm, typed) {
  corners.forEach((name, k) => {
    if (EDGES[k][side] === edge) typeOff(offsetsOf(job, name)[side], mm, typed);
  });
}
