// Plans as drawings. Plan mm become screen places by `flip` and nowhere else, so that a plan lies the same way in every step.

import {doorNodes, doorSpots} from './doors.js';
import {refill, svg} from './dom.js';
import {flip, turnedBy} from './turning.js';
import {gettext} from './words.js';

const ASIDE = 17; // CSS px from a corner to its letter
const HANDLE = 17; // CSS px from the floor to the grip of its first row
const LOOSE = 20; // mm: a wall known no better is drawn loose; boards are bought from what is surer
const OVAL = 26; // CSS px: half the length of the largest oval, at most

// A drawing that knows how many mm a CSS pixel is, so that letters and lines keep their size on the screen.
export class Drawing {
  constructor(label, className) {
    this.element = svg(`svg.plan.${className}`, {role: 'group', 'aria-label': label, preserveAspectRatio: 'xMidYMid meet'});
    this.redraw = () => {};
    let width = 0;
    new ResizeObserver(([entry]) => {
      if (Math.abs(entry.contentRect.width - width) < 1) return;
      width = entry.contentRect.width;
      this.redraw();
    }).observe(this.element);
  }

  // points: screen-plan places that must be seen; pad: CSS px round them. Returns mm per CSS px.
  frame(points, pad) {
    const xs = points.map((p) => p[0]);
    const ys = points.map((p) => p[1]);
    const [left, top] = [Math.min(...xs), Math.min(...ys)];
    const [wide, high] = [Math.max(Math.max(...xs) - left, 1), Math.max(Math.max(...ys) - top, 1)];
    const box = this.element.getBoundingClientRect();
    const room = [Math.max((box.width || 600) - 2 * pad, 80), Math.max((box.height || 420) - 2 * pad, 80)];
    const k = Math.max(wide / room[0], high / room[1]);
    this.element.setAttribute('viewBox', `${left - pad * k} ${top - pad * k} ${wide + 2 * pad * k} ${high + 2 * pad * k}`);
    this.k = k;
    return k;
  }

  // Text at a place, `size` CSS px high, turned by `turn` degrees and moved by (dx, dy) CSS px after turning.
  text(place, content, {size = 13, turn = 0, dx = 0, dy = 0, name = 'word'} = {}) {
    return svg(
      `text.${name}`,
      {transform: `translate(${place[0]} ${place[1]}) scale(${this.k}) rotate(${turn}) translate(${dx} ${dy})`, 'font-size': size},
      content,
    );
  }

  at(place, ...nodes) {
    return svg('g', {transform: `translate(${place[0]} ${place[1]}) scale(${this.k})`}, ...nodes);
  }
}

export const list = (points) => points.map((p) => p.join(',')).join(' ');

// The surveyed floor. marks: {suspects: [[a, b]], next: [[a, b]], chosen: [names]}; onPoint(name) for taps on a point; job: for its doors.
export function drawFloor(drawing, {answer, shown}, {suspects = [], next = [], chosen = [], onPoint = null, job = {}} = {}) {
  const at = new Map(Object.entries(answer.points).map(([name, p]) => [name, flip([p.x, p.y])]));
  drawing.frame([...at.values()], 42);
  const ring = answer.outline.map((name) => at.get(name));
  const walls = answer.walls.map((wall, i) => ({...wall, ...shown.walls[i], p: at.get(wall.from), q: at.get(wall.to)}));
  const away = freeSides(answer.outline, ring);
  const others = [...at].filter(([name]) => !answer.outline.includes(name)).map(([, place]) => place);
  const taken = [...at].map(([name, place]) => aside(drawing, place, away.get(name)));
  const size = ({p, q}) => Math.hypot(q[0] - p[0], q[1] - p[1]);
  const words = new Map([...walls].sort((a, b) => size(b) - size(a)).map((wall) => [wall, wallWords(drawing, wall, others, taken)]));
  const lines = (pairs, kind) =>
    pairs
      .filter(([a, b]) => at.has(a) && at.has(b))
      .map(([a, b]) => {
        const [p, q] = [at.get(a), at.get(b)];
        return svg(`line.${kind}`, {x1: p[0], y1: p[1], x2: q[0], y2: q[1]});
      });
  drawing.larger = enlargement(Object.values(shown.ovals ?? {}), drawing.k);
  refill(
    drawing.element,
    svg('polygon.ground', {points: list(ring)}),
    ...Object.entries(drawing.larger ? shown.ovals : {}).map(([name, oval]) => ovalNode(at.get(name), oval, drawing.larger)),
    ...walls.filter(({pm95}) => pm95 > LOOSE).map(({p, q, pm95}) => svg('line.loose', {x1: p[0], y1: p[1], x2: q[0], y2: q[1], 'stroke-width': hazeOf(pm95, drawing.k)})),
    ...lines((answer.unseen ?? []).map(({wall}) => wall), 'unseen'),
    ...lines(next, 'next'),
    ...lines(suspects, 'suspect'),
    ...doorNodes(drawing, job, at),
    ...walls.map((wall) => words.get(wall)),
    ...[...at].map(([name, place]) =>
      pointNode(drawing, name, place, {corner: answer.outline.includes(name), chosen: chosen.includes(name), onPoint, away: away.get(name), pm: shown.ovals?.[name]?.pm}),
    ),
  );
}

// What a wall may be off is drawn as a haze along it: as wide as it is, within what can be seen.
const hazeOf = (pm, k) => Math.min(Math.max((2 * pm) / k, 9), 30);

// How many times too large the ovals are drawn, so that the largest can be seen: a round number, 0 where there is nothing to see.
function enlargement(ovals, k) {
  const largest = Math.max(0, ...ovals.map((oval) => oval.long));
  const wanted = (OVAL * k) / largest;
  return largest > 0 && wanted >= 2 ? [2, 5, 10, 20, 50, 100, 200, 500].findLast((times) => times <= wanted) : 0;
}

function ovalNode([cx, cy], {long, short, turn}, larger) {
  return svg('ellipse.oval', {rx: long * larger, ry: short * larger, transform: `translate(${cx} ${cy}) rotate(${turnedBy() - turn})`});
}

// The length along the outside of its wall, with what it may be off where there is room; else with its unit, else bare, outside or inside, wherever no
// letter or other length stands in its way; else nothing: every wall stands in the list. The outline runs anticlockwise, so outside is to the
// right of its direction. Other points that lie near the wall (pipes, jambs) push the words further out. taken: places of letters, to which
// those of the words are added.
function wallWords(drawing, {p, q, length, pm}, others, taken) {
  const middle = [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2];
  const long = Math.hypot(q[0] - p[0], q[1] - p[1]);
  const along = [(q[0] - p[0]) / long, (q[1] - p[1]) / long];
  const turn = (Math.atan2(along[1], along[0]) * 180) / Math.PI;
  const upsideDown = turn > 91 || turn <= -89;
  const away = others.some((place) => beside(place, middle, p, q) < 24 * drawing.k) ? 8 : 0;
  const whole = `${length} ${pm}`.trim();
  const named = /\smm$/.test(pm) ? `${length} mm` : length; // feet and inches carry their marks
  const bare = [named, length].flatMap((words) => [[words, 1, away, 0], [words, -1, 4, 0]]);
  for (const [words, side, off, margin] of [[whole, 1, away, 24], ...bare]) {
    const half = (words.length * 7.6) / 2;
    if (2 * half >= long / drawing.k - margin) continue;
    const out = side * (16 + off);
    if (taken.some((place) => isUnder(place, middle, along, drawing.k, half, out))) continue;
    for (let step = -half + 6; step < half; step += 12) {
      taken.push([0, 1].map((i) => middle[i] + (along[i] * step + [-along[1], along[0]][i] * out) * drawing.k));
    }
    const isBelow = upsideDown === (side < 0);
    return drawing.text(middle, words, {turn: upsideDown ? turn + 180 : turn, dy: isBelow ? 21 + off : -10 - off, size: 12.5, name: 'measure'});
  }
  return '';
}

// Whether a letter, or a part of other words, stands where words would: `half` their length to either side of the middle, their own middle `out` off the wall, CSS px.
function isUnder([x, y], middle, [ux, uy], k, half, out) {
  const [dx, dy] = [(x - middle[0]) / k, (y - middle[1]) / k];
  return Math.abs(dx * ux + dy * uy) < half + 12 && Math.abs(dx * uy - dy * ux + out) < 8 + 12;
}

// How far a place is from the line through p and q, if it lies along the middle half of it; else very far.
function beside([x, y], [mx, my], p, q) {
  const long = Math.hypot(q[0] - p[0], q[1] - p[1]);
  const [ux, uy] = [(q[0] - p[0]) / long, (q[1] - p[1]) / long];
  return Math.abs((x - mx) * ux + (y - my) * uy) < long / 4 ? Math.abs((x - mx) * uy - (y - my) * ux) : Infinity;
}

// Where the letter of each corner goes, as steps of one.
export function freeSides(names, ring) {
  return new Map(names.map((name, i) => [name, freeSide(ring.at(i - 1), ring[i], ring[(i + 1) % ring.length])]));
}

// Where there is room for a letter at a corner between two others: out of the floor, or into it where it is the walls that jut out. The ring
// of an anticlockwise floor runs anticlockwise on the screen as well.
function freeSide(before, corner, after) {
  const sides = [
    [before, corner],
    [corner, after],
  ].map(([p, q]) => {
    const long = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1;
    return [(p[1] - q[1]) / long, (q[0] - p[0]) / long];
  });
  const sum = [sides[0][0] + sides[1][0], sides[0][1] + sides[1][1]];
  const turn = (corner[0] - before[0]) * (after[1] - corner[1]) - (corner[1] - before[1]) * (after[0] - corner[0]);
  const long = (Math.hypot(...sum) || 1) * (turn > 0 ? -1 : 1);
  return [sum[0] / long, sum[1] / long];
}

export function pointNode(drawing, name, place, {corner, chosen = false, onPoint = null, away = [0, 0], pm = ''}) {
  const wide = 13 + 8 * name.length;
  const act = onPoint
    ? {
        tabindex: 0,
        role: 'button',
        'aria-label': pm ? gettext('Point {name}, known to {pm}', {name, pm}) : gettext('Point {name}', {name}),
        'aria-pressed': String(chosen),
        'data-key': `point-${name}`,
        onclick: () => onPoint(name),
        onkeydown: (event) => {
          if (event.key === 'Enter' || event.key === ' ') {
            event.preventDefault();
            onPoint(name);
          }
        },
      }
    : {};
  const group = svg(
    `g.spot${corner ? '' : '.extra'}${chosen ? '.chosen' : ''}`,
    act,
    onPoint ? svg('circle.reach', {r: 22}) : '',
    svg('rect', {x: -wide / 2, y: -11, width: wide, height: 22, rx: corner ? 6 : 11}),
    svg('text', {y: 4.5, 'font-size': 13}, name),
  );
  // A corner's letter stands beside it, so that the corner itself and its oval can be seen.
  return drawing.at(aside(drawing, place, away), group);
}

function aside(drawing, place, away = [0, 0]) {
  return [0, 1].map((i) => place[i] + away[i] * ASIDE * drawing.k);
}

// Rows as they lie, in the plan as every step draws it. corners: the survey's points by name, for the letters; job: for its doors.
export function drawRows(drawing, {answer, shown}, {chosen = '', onPiece, corners = {}, handle = null, job = {}}) {
  const place = flip;
  const isTall = Math.abs(flip(answer.u)[1]) > Math.abs(flip(answer.u)[0]);
  const floor = answer.floor.outline.map(place);
  const k = drawing.frame(floor, 40);
  const pieces = answer.rows.flatMap((row) => row.runs.flatMap((run) => run.pieces));
  const at = new Map(Object.entries(corners).map(([name, p]) => [name, place([p.x, p.y])]));
  const named = letterSpots(drawing, [...at]);
  const pipes = (answer.cutouts ?? []).map(({pipe, centre}) => [pipe, place(centre)]).map(([pipe, [x, y]]) => [pipe, [x, y - 13 * k]]);
  const letters = [...pipes, ...named, ...doorSpots(job, at)];
  const shapes = pieces.map((piece) => pieceNode(drawing, piece, place, {chosen: piece.id === chosen, onPiece, k, letters, isTall}));
  refill(
    drawing.element,
    svg('defs', {}, hatch(k)),
    svg('polygon.ground', {points: list(floor)}),
    ...(answer.floor.holes ?? []).map((hole) => svg('polygon.hole', {points: list(hole.map(place))})),
    ...shapes.map((s) => s.shape),
    ...doorNodes(drawing, job, at),
    ...shapes.map((s) => s.words),
    ...(answer.cutouts ?? []).map((cutout) => pipeNode(drawing, place(cutout.centre), cutout)),
    ...named.map(([name, spot]) => drawing.text(spot, name, {dy: 5, size: 13, name: 'letter'})),
    ...(handle && shown.wall ? [grip(answer, handle, drawing, shown.first)] : []),
    startWords(drawing, answer, shown.wall),
  );
}

// The grip at the far edge of the row that lies along the start wall, left of the floor as one faces that wall.
function grip({u, v, start, floor, board}, handle, drawing, {far, width}) {
  const along = ([x, y]) => x * u[0] + y * u[1];
  const across = ([x, y]) => x * v[0] + y * v[1];
  const [s, t] = [Math.min(...floor.outline.map(along)) - HANDLE * drawing.k, across(start) + far];
  return handle.node(drawing, flip([0, 1].map((i) => s * u[i] + t * v[i])), {width, most: board.width, way: flip(v)});
}

// Each letter stands where there is room beside its corner.
function letterSpots(drawing, corners) {
  const away = freeSides(corners.map(([name]) => name), corners.map(([, place]) => place));
  return corners.map(([name, place]) => [name, aside(drawing, place, away.get(name))]);
}

// Said beside the middle of the start wall, outside the floor; further out where its corners' letters leave no room between them.
function startWords(drawing, {u, v, floor}, wall) {
  const across = ([x, y]) => x * v[0] + y * v[1];
  const nearest = Math.min(...floor.outline.map(across));
  const [p, q] = (wall ?? floor.outline.filter((spot) => across(spot) - nearest < 1)).concat([floor.outline[0]]).slice(0, 2).map(flip);
  const isShort = Math.hypot(q[0] - p[0], q[1] - p[1]) / drawing.k < 110;
  const out = flip(v).map((part) => -part * (isShort ? 30 : 14) * drawing.k);
  const turn = upright((Math.atan2(flip(u)[1], flip(u)[0]) * 180) / Math.PI);
  return drawing.text([0, 1].map((i) => (p[i] + q[i]) / 2 + out[i]), gettext('start wall'), {turn, dy: 4, size: 12, name: 'measure'});
}

// A direction for text, so that nobody reads it upside down.
const upright = (degrees) => (degrees > 91 || degrees <= -89 ? upright(degrees + (degrees > 0 ? -180 : 180)) : degrees);

function pipeNode(drawing, [cx, cy], {pipe, diameter}) {
  return svg('g.pipe', {}, svg('circle', {cx, cy, r: diameter / 2}), drawing.text([cx, cy], pipe, {dy: -9, size: 11, name: 'letter'}));
}

function pieceNode(drawing, piece, place, {chosen, onPiece, k, letters, isTall}) {
  const ring = piece.outline.map(place);
  const d = [ring, ...(piece.holes ?? []).map((hole) => hole.map(place))].map((points) => `M${points.map((p) => p.join(' ')).join('L')}Z`).join('');
  const [along, across] = (isTall ? [1, 0] : [0, 1]).map((i) => ring.map((p) => p[i]));
  const [long, wide] = [along, across].map((spots) => (Math.max(...spots) - Math.min(...spots)) / k);
  const shape = svg(`path.piece${piece.takes ? '.offcut' : ''}${chosen ? '.chosen' : ''}`, {
    d,
    'fill-rule': 'evenodd',
    'data-piece': piece.id,
    onclick: () => onPiece(piece.id),
  });
  if (long <= 8 + 7 * piece.id.length || wide <= 12) return {shape, words: ''};
  const level = (Math.max(...across) + Math.min(...across)) / 2;
  const others = letters.map(([other, spot]) => [other, isTall ? [spot[1], spot[0]] : spot]);
  const at = freePlace(along, level, piece.id, others, k);
  const words = drawing.text(isTall ? [level, at] : [at, level], piece.id, {turn: isTall ? -90 : 0, dy: 4, size: Math.min(12, wide - 2), name: 'piece-id'});
  return {shape, words};
}

// Where along a piece its name stands: in its middle, or where the letter of a pipe or a corner is in the way a quarter of it to one side, or
// at one of its ends. along: its corners' places along it; y: its middle across; letters: [name, [along, across]].
function freePlace(along, y, name, letters, k) {
  const [left, right] = [Math.min(...along), Math.max(...along)];
  const half = 4 * name.length * k;
  const places = [...[1 / 2, 1 / 4, 3 / 4].map((part) => left + part * (right - left)), left + half, right - half];
  const free = (x) => letters.every(([other, [at, level]]) => Math.abs(at - x) > half + (5 * other.length + 1) * k || Math.abs(level - y) > 15 * k);
  return places.find(free) ?? places[0];
}

function hatch(k) {
  return svg(
    'pattern',
    {id: 'hatch', width: 7 * k, height: 7 * k, patternUnits: 'userSpaceOnUse', patternTransform: 'rotate(45)'},
    svg('rect.hatch-ground', {width: 7 * k, height: 7 * k}),
    svg('line.hatch-line', {x1: 0, y1: 0, x2: 0, y2: 7 * k, 'stroke-width': 2 * k}),
  );
}
