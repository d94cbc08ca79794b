// Things put on the plan by hand: where a place of the drawing puts a door, pipes, a bare part, and how they are moved.

import {boxOf, boxPlaces, isByHand, isRough, offEach, offsetsOf, pairOf, placeOff, putBox, putPoint, twoWalls, typeOff, along, STEP} from '../fields/offwalls.js';
import {nextNumbered, pointNames, samePair} from '../common/names.js';
import {gettext, listed} from '../common/words.js';

// Sizes things are put with, mm, until they are typed: common ones, no source.
const DOOR = 800;
const PIPE = 15;
const APART = 500; // a radiator's two pipes
const BARE = [400, 600]; // off the nearer wall, and along it

const fresh = (job, prefix, count) => {
  const taken = new Set([...pointNames(job), ...[...(job.doors ?? []), ...(job.islands ?? [])].map(({name}) => name)]);
  return Array.from({length: count}, () => {
    const name = nextNumbered(prefix, taken);
    taken.add(name);
    return name;
  });
};

// The wall nearest to a place and where on it an opening would begin whose middle is put there. own: the wall it is in now.
export function openingAt(lines, place, {wall: own = [], width = DOOR} = {}) {
  const found = lines.map((line) => {
    const middle = Math.min(Math.max(along(line, place), width / 2), line.long - width / 2);
    const far = Math.hypot(line.p[0] + middle * line.u[0] - place[0], line.p[1] + middle * line.u[1] - place[1]);
    const isTurned = samePair(line.wall, own) && line.wall[0] !== own[0];
    const from = isTurned ? line.long - middle - width / 2 : middle - width / 2;
    return {wall: isTurned ? own : line.wall, from: Math.max(0, Math.round(from / STEP) * STEP), far, fits: line.long >= width};
  });
  const best = found.filter(({fits}) => fits).sort((a, b) => a.far - b.far)[0];
  return best ? {wall: best.wall, from: best.from} : null;
}

// Each returns {names, what, edit(job)}, or null where nothing can stand.
const PUT = {
  door(job, lines, place) {
    const [name] = fresh(job, 'D', 1);
    const where = openingAt(lines, place);
    const edit = (draft) => {
      draft.doors = [...(draft.doors ?? []), {name, ...where, width: DOOR}];
    };
    return where && {names: [name], what: gettext('door {name}', {name}), edit};
  },
  pipe: (job, lines, place) => pipesAt(job, lines, [place], (names) => gettext('pipe {names}', {names})),
  radiator(job, lines, place) {
    const [{u} = {}] = twoWalls(lines, place) ?? [];
    const ends = u && [-1, 1].map((side) => [0, 1].map((i) => place[i] + (side * u[i] * APART) / 2)).sort((a, b) => a[0] - b[0]);
    return ends && pipesAt(job, lines, ends, (names) => gettext("a radiator's pipes {names}", {names}));
  },
  bare(job, lines, place) {
    const pair = twoWalls(lines, place);
    const [name] = fresh(job, `${gettext('bare part')} `, 1);
    const corners = fresh(job, 'H', 4);
    const middles = pair && offEach(pair, place);
    const edit = (draft) => {
      draft.islands = [...(draft.islands ?? []), {name, corners}];
      putBox(draft, corners, pair, middles.map((mm, side) => [mm - BARE[side] / 2, mm + BARE[side] / 2]).map(shoved));
    };
    return pair && {names: [name], what: name, edit};
  },
};

// A part that would reach into the wall stands beside it.
const shoved = ([near, far]) => (near < STEP ? [STEP, far - near + STEP] : [near, far]);

// what(names): the pipes in words.
function pipesAt(job, lines, places, what) {
  const names = fresh(job, 'P', places.length);
  const pairs = places.map((place) => twoWalls(lines, place));
  if (!pairs.every(Boolean)) return null;
  const edit = (draft) => {
    draft.pipes = [...(draft.pipes ?? []), ...names.map((name) => ({name, diameter: PIPE}))];
    names.forEach((name, i) => movePipe(draft, name, pairs[i], places[i]));
  };
  return {names, what: what(listed(names)), edit};
}

export const put = (kind, job, lines, place) => PUT[kind](job, lines, place);

// A floor given as coordinates takes no tape: its pipes have coordinates as well.
function movePipe(job, name, pair, place, step = STEP) {
  if (job.floor) job.pipes.find((pipe) => pipe.name === name).at = place.map((mm) => Math.round(mm));
  else putPoint(job, name, pair, place, step);
}

// Where a pipe stands as far as distances off two walls tell it: {pair, mm, typed, isByHand: nothing else tells it, isRough: nobody taped it
// in full yet, place}, or null.
export function pipeOff(job, lines, pipe) {
  if (pipe.at) {
    const pair = twoWalls(lines, pipe.at);
    return pair && {pair, mm: offEach(pair, pipe.at).map((mm) => Math.round(mm * 10) / 10), typed: ['', ''], isByHand: Boolean(job.floor), isRough: false, place: pipe.at};
  }
  const entries = offsetsOf(job, pipe.name);
  const pair = entries.length === 2 && pairOf(lines, entries.map(({wall}) => wall));
  if (!pair) return null;
  const mm = entries.map((entry) => entry.mm);
  const typed = entries.map((entry) => entry.typed ?? '');
  return {pair, mm, typed, isByHand: isByHand(job, pipe.name), isRough: entries.some(isRough), place: placeOff(pair, mm)};
}

export function typePipe(job, name, lines, side, mm, typed) {
  const pipe = job.pipes.find((other) => other.name === name);
  if (!pipe.at) {
    typeOff(offsetsOf(job, name)[side], mm, typed);
    return;
  }
  const {pair, mm: now} = pipeOff(job, lines, pipe);
  pipe.at = placeOff(pair, now.with(side, mm)).map((value) => Math.round(value * 10) / 10);
}

// Where a bare part stands, likewise: {pair, box, isByHand, places: its corners, middle}, or null.
export function bareOff(job, lines, island) {
  const box = boxOf(job, island);
  const pair = box && pairOf(lines, box.map(({wall}) => wall));
  if (!pair) return null;
  const places = boxPlaces(pair, box.map(({mm}) => mm));
  const middle = [0, 1].map((i) => (places[0][i] + places[2][i]) / 2);
  return {pair, box, places, middle, isByHand: island.corners.every((name) => isByHand(job, name))};
}

// Move a pipe or a bare part to a place. isFine: by a key, along its own two walls; else the two walls are chosen anew.
export function moveTo(job, lines, kind, name, place, isFine) {
  const step = isFine ? 1 : STEP;
  if (kind === 'pipe') {
    const pipe = job.pipes.find((other) => other.name === name);
    const pair = (isFine && pipeOff(job, lines, pipe)?.pair) || twoWalls(lines, place);
    if (pair) movePipe(job, name, pair, place, step);
    return;
  }
  const island = job.islands.find((other) => other.name === name);
  const {pair, box} = bareOff(job, lines, island);
  const middles = offEach(pair, place);
  const moved = box.map(({mm: [near, far]}, side) => shoved([middles[side] - (far - near) / 2, middles[side] + (far - near) / 2]));
  putBox(job, island.corners, pair, moved, step);
}
