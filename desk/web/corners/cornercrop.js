// A corner as it was marked in another photo, cut out small: shows which corner the letter asked for is.

import {el, svg} from '../common/dom.js';
import {picture} from '../common/pictures.js';
import {gettext} from '../common/words.js';

const SHARE = 8; // the picture's long side in widths of what is cut out

let last = {key: '', node: null}; // what is asked for again and again while a letter is chosen

// null where no other photo shows the point. file: the photo on the stage.
export function cornerCrop(job, name, file) {
  const photos = job.photos ?? [];
  const [number, mark] = photos
    .map((entry, i) => [i + 1, entry.file === file ? undefined : entry.marks?.find(({point}) => point === name)])
    .findLast(([, found]) => found) ?? [];
  if (!mark) return null;
  const shown = photos[number - 1].file;
  const key = `crop ${name} ${number} ${shown} ${mark.x} ${mark.y}`;
  if (last.key !== key) last = {key, node: cut(key, {name, number, mark, file: shown})};
  return last.node;
}

function cut(key, {name, number, mark, file}) {
  const view = svg('svg', {role: 'img', 'aria-label': gettext('{name} as you marked it in photo {number}', {name, number})});
  picture(file).then(
    ({href, size: [width, height]}) => draw(view, {href, width, height, mark}),
    () => view.parentNode.remove(), // the strip tells of a photo that cannot be shown
  );
  return el('figure.crop', {'data-key': key}, view, el('figcaption', {}, gettext('{name} in photo {number}', {name, number})));
}

function draw(view, {href, width, height, mark}) {
  const span = Math.max(width, height) / SHARE;
  const inside = (at, long) => Math.min(Math.max(at - span / 2, 0), long - span);
  view.setAttribute('viewBox', `${inside(mark.x, width)} ${inside(mark.y, height)} ${span} ${span}`);
  const ring = {cx: mark.x, cy: mark.y, r: span / 9};
  view.replaceChildren(svg('image', {href, width, height}), svg('circle.under', ring), svg('circle', ring));
}
