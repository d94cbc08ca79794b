// Doors as every plan shows them: the opening in its wall, and the door's name beside it.

import {svg} from './dom.js';

// at: place on the screen by point's name.
export function doorNodes(drawing, job, at) {
  return (job.doors ?? []).flatMap((door) => {
    const [p, q] = door.wall.map((name) => at.get(name));
    if (!p || !q) return [];
    const long = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1;
    const spot = (mm) => [0, 1].map((i) => p[i] + ((q[i] - p[i]) * Math.min(mm, long)) / long);
    const [a, b, middle] = [spot(door.from), spot(door.from + door.width), spot(door.from + door.width / 2)];
    return [
      svg('line.opening', {x1: a[0], y1: a[1], x2: b[0], y2: b[1]}),
      drawing.at(middle, svg('g.door-name', {}, svg('rect', {x: -13, y: -9, width: 26, height: 18, rx: 9}), svg('text', {y: 4, 'font-size': 11}, door.name))),
    ];
  });
}
