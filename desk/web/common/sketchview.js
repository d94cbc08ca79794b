// The floor before it is solved: an outline from the order of the corners, with what is known. What is loose is drawn loose.

import {refill, svg} from './dom.js';
import {Drawing, freeSides, list, pointNode} from './planview.js';
import {doorNodes} from './doors.js';
import {samePair} from './names.js';
import {flip} from './turning.js';

// An outline drawn by hand lies on a sheet of this size, in a unit of its own.
export const SHEET = [6000, 4500];
const FILLED = 0.8; // of the sheet, by a floor that is put on it

// A floor as an outline drawn by hand: it says how the walls turn, and no length. at(name): [x, y], mm.
export function asSketch(outline, at) {
  const spots = outline.map(at);
  const [low, high] = [Math.min, Math.max].map((most) => [0, 1].map((i) => most(...spots.map((spot) => spot[i]))));
  const scale = FILLED * Math.min(...SHEET.map((size, i) => size / Math.max(high[i] - low[i], 1)));
  const onSheet = (value, i) => Math.round(SHEET[i] / 2 + scale * (value - (low[i] + high[i]) / 2));
  return Object.fromEntries(outline.map((name, k) => [name, spots[k].map(onSheet)]));
}

// Whether every photo has its marks, or there is none: until then more corners may come, and the last one named need not be the first one's
// neighbour.
export const isAllMarked = ({photos = []}) => photos.every((photo) => photo.marks?.length);

// Walls that cross, two or none.
export function crossingOf({outline, crossing}, job) {
  const closing = [outline.at(-1), outline[0]];
  return isAllMarked(job) || !crossing.some((wall) => samePair(wall, closing)) ? crossing : [];
}

// told: the desk's; options: {job, chosen: [names], next: [a, b] or null, onPoint}.
export function drawSketch(drawing, told, {job, chosen = [], next = null, onPoint = null}) {
  const at = new Map(told.outline.map((name) => [name, flip(told.points[name])]));
  const ring = told.outline.map((name) => at.get(name));
  drawing.frame(ring, 42);
  const away = ring.length > 2 ? outward(told.outline, ring) : new Map();
  const crossing = crossingOf(told, job);
  const known = (name) => told.placed.includes(name) || told.drawn.includes(name);
  const wall = ([a, b], kind) => {
    const [p, q] = [at.get(a), at.get(b)];
    return p && q ? svg(`line.${kind}`, {x1: p[0], y1: p[1], x2: q[0], y2: q[1]}) : '';
  };
  const walls = told.outline.map((name, i) => [name, told.outline[(i + 1) % told.outline.length]]).slice(0, ring.length > 2 ? undefined : -1);
  const kindOf = (pair) => {
    if (crossing.some((other) => samePair(other, pair))) return 'wall.crossing';
    if (!pair.every(known)) return 'wall.guessed';
    return told.unseen.some((one) => samePair(one.wall, pair)) ? 'wall.dashed' : 'wall';
  };
  refill(
    drawing.element,
    ring.length > 2 ? svg('polygon.sketched', {points: list(ring)}) : '',
    ...walls.map((pair) => wall(pair, kindOf(pair))),
    next ? wall(next, 'next') : '',
    ...doorNodes(drawing, job, at),
    ...[...at].map(([name, place]) => pointNode(drawing, name, place, {corner: known(name), chosen: chosen.includes(name), onPoint, away: away.get(name)})),
  );
}

// Letters stand outside, whichever way round the corners are listed.
export function outward(names, ring) {
  const area = ring.reduce((sum, [x, y], i) => sum + x * ring[(i + 1) % ring.length][1] - ring[(i + 1) % ring.length][0] * y, 0);
  return area < 0 ? freeSides(names, ring) : freeSides([...names].reverse(), [...ring].reverse());
}

// A second floor to look at beside the first, small and without a hand on it.
export function smallFloor(outline, points, label) {
  const drawing = new Drawing(label, 'small');
  drawing.redraw = () => {
    const ring = outline.map((name) => flip(points[name]));
    drawing.frame(ring, 26);
    const away = outward(outline, ring);
    refill(
      drawing.element,
      svg('polygon.ground', {points: list(ring)}),
      ...outline.map((name, i) => pointNode(drawing, name, ring[i], {corner: true, away: away.get(name)})),
    );
  };
  return drawing;
}
