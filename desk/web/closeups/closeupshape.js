// What was traced in a close-up, drawn to scale in mm with a bar to read it by; the thing of known size is dashed.

import {svg} from '../common/dom.js';
import {gettext, localised} from '../common/words.js';

const BESIDE = 14; // mm shown round what was traced
const BAR = 20; // mm

const path = (points, close = '') => `M${points.map(([x, y]) => `${x} ${-y}`).join('L')}${close}`;

export function shapeDrawing({lines, pm, reference}) {
  const all = lines.flat();
  const [xs, ys] = [0, 1].map((axis) => all.map((place) => (axis ? -place[1] : place[0])));
  const [left, top] = [Math.min(...xs) - BESIDE, Math.min(...ys) - BESIDE];
  const [wide, high] = [Math.max(BAR + 2 * BESIDE, Math.max(...xs) + BESIDE - left), Math.max(...ys) + BESIDE + 8 - top];
  const foot = top + high - 4;
  return svg(
    'svg.traced-shape',
    {
      viewBox: `${left} ${top} ${wide} ${high}`,
      width: `${wide}mm`,
      role: 'img',
      'aria-label': gettext('What was traced, drawn to scale; sure to plus or minus {pm} mm at worst', {pm: localised(pm)}),
    },
    svg('path.known', {d: path(reference, 'z')}),
    ...lines.map((line) => svg('path.doubt', {d: path(line), 'stroke-width': 2 * pm})),
    ...lines.map((line) => svg('path.line', {d: path(line)})),
    svg('path.bar', {d: `M${left + 4} ${foot}v-2.500h${BAR}v2.500`}),
    svg('text', {x: left + 4 + BAR / 2, y: foot - 4}, `${BAR} mm`),
  );
}
