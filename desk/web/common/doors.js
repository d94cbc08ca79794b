// Doors as every plan shows them: the opening in its wall, and the door's name beside it.

import {svg} from './dom.js';

// Where the doors are on the screen; at: place by point's name.
function places(job, at) {
  return (job.doors ?? []).flatMap((door) => {
    const [p, q] = door.wall.map((name) => at.get(name));
    if (!p || !q) return [];
    const long = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1;
    const spot = (mm) => [0, 1].map((i) => p[i] + ((q[i] - p[i]) * Math.min(mm, long)) / long);
    return [{name: door.name, a: spot(door.from), b: spot(door.from + door.width), middle: spot(door.from + door.width / 2)}];
  });
}

// [name, the place of its middle] of each.
export const doorSpots = (job, at) => places(job, at).map(({name, middle}) => [name, middle]);

export function doorNodes(drawing, job, at) {
  return places(job, at).flatMap(({name, a, b, middle}) => [
    svg('line.opening', {x1: a[0], y1: a[1], x2: b[0], y2: b[1]}),
    drawing.at(middle, svg('g.door-name', {}, svg('rect', {x: -13, y: -9, width: 26, height: 18, rx: 9}), svg('text', {y: 4, 'font-size': 11}, name))),
  ]);
}
