// The marks of one close-up of the job: what a tap can mean, the marks as things to draw, and as edits. `entry` is the close-up's entry.

import {wallName} from '../common/names.js';
import {putAlong} from '../corners/marks.js';
import {gettext} from '../common/words.js';

const round = (value) => Math.round(value * 10) / 10;

// What a tap means: [kind, words on the button, what to do].
const reference = () => ['corners', gettext('Corner of the sheet or card'), gettext('Tap its four corners one after the other, where its straight edges would meet.')];
const floorLine = () => ['wall', gettext('Floor line of the wall'), gettext('Tap two places far apart where the skirting or wall meets the floor.')];
const casing = () => [
  ['outline', gettext('Corner of the casing'), gettext('Tap its corners in order, along the floor from the wall round to the opening.')],
  ['arc', gettext('On a round part'), gettext('Between two corners tap one or two places on the round part.')],
];
const pipe = () => [
  ['ring', gettext('Foot of the pipe'), gettext('Tap five or more places where the pipe meets the floor.')],
  ['side', gettext('Side of the pipe'), gettext('Tap two places on one straight outline of the pipe, then two on the other.')],
];

export function meanings(isPipe) {
  return [...(isPipe ? pipe() : casing()), floorLine(), reference()];
}

// Taps that belong together and are not all there yet: held back, since half of them would mean nothing.
const NEEDED = {corners: 4, side: 2};

// Puts a tap into the job; returns the taps still held back.
export function putTap(change, kind, wall, held, at) {
  const place = [round(at.x), round(at.y)];
  const needed = NEEDED[kind] ?? 1;
  if (held.length + 1 < needed) return [...held, place];
  change((entry) => {
    if (kind === 'corners') entry.corners = [...held, place];
    else if (kind === 'side') entry.sides = [...(entry.sides ?? []), [...held, place]];
    else if (kind === 'ring') entry.ring = [...(entry.ring ?? []), place];
    else if (kind === 'wall') putAlong(entry, wall, at.x, at.y);
    else entry.outline = [...(entry.outline ?? []), {x: place[0], y: place[1], ...(kind === 'arc' ? {arc: true} : {})}];
  });
  return [];
}

// Every tap of a close-up: {key, part, x, y, label, name}; `held` are those not in the job yet.
export function closeupMarks(entry, held) {
  if (!entry) return [];
  const mark = (part, where, [x, y], label, name) => ({key: [part, ...where].join(':'), kind: 'edge', part, where, x, y, label, name});
  return [
    ...(entry.outline ?? []).map((click, i) => mark('outline', [i], [click.x, click.y], click.arc ? '' : `${i + 1}`, gettext('tap {number} of the outline', {number: i + 1}))),
    ...(entry.ring ?? []).map((place, i) => mark('ring', [i], place, '', gettext('tap {number} at the foot of the pipe', {number: i + 1}))),
    ...(entry.sides ?? []).flatMap((side, k) => side.map((place, i) => mark('sides', [k, i], place, i ? '' : `S${k + 1}`, gettext('tap {number} on side {side}', {number: i + 1, side: k + 1})))),
    ...(entry.edges ?? []).flatMap(({wall, points}, k) =>
      points.map((place, i) => mark('edges', [k, i], place, i ? '' : wall.join('–'), gettext('tap {number} on the floor line of wall {wall}', {number: i + 1, wall: wallName(wall)}))),
    ),
    ...(entry.corners ?? []).map((place, i) => mark('corners', [i], place, `${'abcd'[i]}`, gettext('corner {letter} of the sheet or card', {letter: 'abcd'[i]}))),
    ...held.map((place, i) => mark('held', [i], place, '…', gettext('tap {number}, more to come', {number: i + 1}))),
  ];
}

export function moveTap(entry, {part, where: [i, j]}, x, y) {
  const place = [round(x), round(y)];
  if (part === 'outline') Object.assign(entry.outline[i], {x: place[0], y: place[1]});
  else if (part === 'sides') entry.sides[i][j] = place;
  else if (part === 'edges') entry.edges[i].points[j] = place;
  else entry[part][i] = place;
}

// A side or the reference's corners mean nothing without one of their taps, so they go together.
export function removeTap(entry, {part, where: [i, j]}) {
  if (part === 'corners') delete entry.corners;
  else if (part === 'edges') {
    entry.edges[i].points.splice(j, 1);
    entry.edges = entry.edges.filter((edge) => edge.points.length);
  } else entry[part].splice(i, 1);
}
