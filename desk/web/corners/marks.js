// The marks of one photo of the job: as things to draw, and as edits. `entry` is the photo's entry in the job.

import {samePair, wallName, walls} from '../common/names.js';
import {gettext} from '../common/words.js';

const round = (value) => Math.round(value * 10) / 10; // a tenth of a pixel is finer than any hand

export function markedPoints(entry) {
  return new Set((entry?.marks ?? []).map((mark) => mark.point));
}

// Everything that can be selected: {key, kind: "point" | "edge", x, y, label, name} and where it is in the entry.
export function marksOf(entry) {
  const points = (entry?.marks ?? []).map(({point, x, y}) => ({key: `p:${point}`, kind: 'point', point, x, y, label: point, name: gettext('point {point}', {point})}));
  const edges = (entry?.edges ?? []).flatMap(({wall, points: along}, edge) =>
    along.map(([x, y], at) => {
      const name = gettext('point {number} along wall {wall}', {number: at + 1, wall: wallName(wall)});
      return {key: `e:${edge}:${at}`, kind: 'edge', edge, at, x, y, label: '', name};
    }),
  );
  return [...points, ...edges];
}

// Thin lines that help the eye: walls between two marked corners, and the points along a wall.
export function linesOf(job, entry) {
  const at = new Map((entry?.marks ?? []).map((mark) => [mark.point, [mark.x, mark.y]]));
  const between = walls(job)
    .filter(([a, b]) => at.has(a) && at.has(b))
    .map(([a, b]) => ({kind: 'wall', points: [at.get(a), at.get(b)]}));
  return [...between, ...(entry?.edges ?? []).map((edge) => ({kind: 'along', points: edge.points}))];
}

// A point has one mark in a photo; putting it again moves it and keeps what else its mark says, but for its spread: how sure a place
// is belongs to the hand, or the edges, that chose it.
export function putPoint(entry, point, x, y) {
  entry.marks ??= [];
  const old = entry.marks.find((mark) => mark.point === point);
  if (old) {
    Object.assign(old, {x: round(x), y: round(y)});
    delete old.sd;
  } else entry.marks.push({point, x: round(x), y: round(y)});
}

export function snapMark(entry, mark, {x, y, sd}) {
  putPoint(entry, mark.point, x, y);
  entry.marks.find((other) => other.point === mark.point).sd = sd;
}

export function putAlong(entry, wall, x, y) {
  entry.edges ??= [];
  let line = entry.edges.find((edge) => samePair(edge.wall, wall));
  if (!line) {
    line = {wall, points: []};
    entry.edges.push(line);
  }
  line.points.push([round(x), round(y)]);
}

export function moveMark(entry, mark, x, y) {
  if (mark.kind === 'edge') entry.edges[mark.edge].points[mark.at] = [round(x), round(y)];
  else putPoint(entry, mark.point, x, y);
}

export function removeMark(entry, mark) {
  if (mark.kind === 'point') {
    entry.marks = entry.marks.filter((other) => other.point !== mark.point);
    return;
  }
  entry.edges[mark.edge].points.splice(mark.at, 1);
  entry.edges = entry.edges.filter((edge) => edge.points.length);
}
