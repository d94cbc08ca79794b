// What stands for a mark on the stage, drawn about (0, 0) in CSS px; the stage puts it in its place.

import {svg} from '../common/dom.js';
import {gettext} from '../common/words.js';

export const REACH = 22; // CSS px round a mark that count as touching it: a 44 px target

// Where the survey expects a point.
export function ghostNode(ghost, isNext) {
  const node = svg(
    `g.ghost${isNext ? '.next' : ''}`,
    {'aria-hidden': 'true', 'data-ghost': ghost.name},
    svg('circle', {r: 13}),
    svg('text', {x: 19, y: 5}, ghost.name),
  );
  node.place = ghost;
  return node;
}

export function markNode(mark, chosen) {
  const node = svg(
    `g.mark.${mark.kind}${chosen ? '.chosen' : ''}${mark.doubt ? '.doubt' : ''}`,
    {
      tabindex: 0,
      role: 'button',
      'data-mark': mark.key,
      'aria-label': chosen ? gettext('{mark}, selected', {mark: mark.name}) : mark.name,
      'aria-pressed': String(chosen),
      'aria-keyshortcuts': mark.kind === 'point' ? 'S' : null,
    },
    svg('circle.reach', {r: REACH}),
    mark.kind === 'edge' ? svg('path.shape', {d: 'M0-8 8 0 0 8-8 0z'}) : svg('circle.shape', {r: chosen ? 15 : 11}),
    svg('circle.pin', {r: 1.6}),
  );
  if (mark.label) {
    const wide = 12 + 9 * mark.label.length;
    node.append(svg('rect.tag', {x: 11, y: -29, width: wide, height: 20, rx: 6}), svg('text', {x: 11 + wide / 2, y: -14.5}, mark.label));
  }
  node.place = mark;
  return node;
}
