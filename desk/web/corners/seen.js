// What the desk sees in the photo on the stage: floor corners and floor lines, proposed. None of it is in the job until a person takes it.

import {ask} from '../common/api.js';
import {el, sentence, svg} from '../common/dom.js';
import {nextName, pointNames} from '../common/names.js';
import {pathOf} from '../common/pictures.js';
import {REACH} from './marknodes.js';
import {putPoint} from './marks.js';
import {gettext, ngettext, listed} from '../common/words.js';

const CLOSE = 12; // CSS px within which a tap means a corner that is not clear
const SAME = 8; // px of a picture 1600 px long within which a mark lies on a proposed corner

const NOTHING = {corners: [], lines: [], says: '', against: []};

export class Seen {
  #told = new Map(); // what the desk told of a photo, by file
  #asked = ''; // the photo and the revision last asked for

  // here(): {file, entry} of the photo on the stage; onChange() is called when the desk has told.
  constructor({store, here, onChange}) {
    Object.assign(this, {store, here, onChange});
  }

  get told() {
    return this.#told.get(this.here().file) ?? NOTHING;
  }

  get isLooking() {
    return !this.#told.has(this.here().file);
  }

  // In the background: a photo can be marked meanwhile. Letters hang on what is saved, so every save asks again.
  async look() {
    const {file} = this.here();
    const now = `${file} ${this.store.revision}`;
    if (!file || this.#asked === now) return;
    this.#asked = now;
    try {
      this.#told.set(file, await ask('GET', `${pathOf(file)}/seen`));
    } catch {
      this.#told.set(file, NOTHING); // marking by hand goes on; what is wrong with the picture is told elsewhere
    }
    this.onChange();
  }

  // Corners nobody has marked yet.
  corners(size) {
    const marks = this.here().entry?.marks ?? [];
    const reach = (SAME * Math.max(...size)) / 1600;
    return this.told.corners.filter((corner) => marks.every((mark) => Math.hypot(mark.x - corner.x, mark.y - corner.y) > reach && mark.point !== corner.point));
  }

  // The corner a tap means, or undefined. scale: photo px per CSS px.
  near(at, size, scale) {
    const far = (corner) => Math.hypot(corner.x - at.x, corner.y - at.y);
    return this.corners(size)
      .filter((corner) => far(corner) <= (corner.sure ? REACH : CLOSE) * scale)
      .sort((a, b) => far(a) - far(b))[0];
  }

  // Clear corners that have a letter or are surely new, or all where the room has none yet.
  takable(size) {
    return this.corners(size).filter((corner) => corner.sure && this.#isTold(corner));
  }

  // What the card tells. isUntold: clear corners here may be any; one letter more, and the desk knows which they are.
  state(size) {
    const corners = this.corners(size);
    const isUntold = corners.some((corner) => corner.sure && !this.#isTold(corner));
    return {isLooking: this.isLooking, told: this.told, corners, takable: this.takable(size), isUntold};
  }

  #isTold({point, fresh}) {
    return Boolean(point || fresh || !this.store.job.outline?.length);
  }
}

// Puts corners into the job, new ones in the order they are seen from left to right; `entry` is the photo's in `job`.
export function takeCorners(job, entry, corners) {
  for (const corner of corners) {
    const name = corner.point ?? nextName(new Set(pointNames(job)));
    if (!corner.point) job.outline = [...(job.outline ?? []), name];
    putSeen(entry, name, corner);
  }
}

export function putSeen(entry, name, {x, y, sd}) {
  putPoint(entry, name, x, y);
  entry.marks.find((mark) => mark.point === name).sd = sd;
}

// A clear corner is a full disc, another one a hollow diamond.
export function seenNode(corner, number) {
  const node = svg(
    `g.seen${corner.sure ? '.sure' : ''}`,
    {tabindex: 0, role: 'button', 'data-seen': number, 'aria-label': spokenCorner(corner)},
    svg('circle.reach', {r: REACH}),
    corner.sure ? svg('circle.spot', {r: 7}) : svg('path.spot', {d: 'M0-9 9 0 0 9-9 0z'}),
  );
  if (corner.point || corner.fresh) node.append(svg('text', {x: 13, y: 5}, corner.point ?? '+'));
  node.place = corner;
  return node;
}

function spokenCorner({sure, point, fresh}) {
  if (fresh && sure) return gettext('A new corner seen here. Enter takes it.');
  if (point && sure) return gettext('A corner seen here, probably {point}. Enter takes it.', {point});
  if (point) return gettext('Perhaps a corner seen here, probably {point}. Enter takes it.', {point});
  return sure ? gettext('A corner seen here. Enter takes it.') : gettext('Perhaps a corner seen here. Enter takes it.');
}

// What the card says of them, by the state that `Seen` tells; take(): all the clear ones.
export function seenPart({isLooking, told, corners, takable, isUntold}, take) {
  const clear = corners.filter(({sure}) => sure).length;
  return [
    told.against.map((says) => sentence('look', says)),
    isLooking ? el('p.why', {}, gettext('Looking for corners in this photo; go on meanwhile.')) : null,
    told.says ? el('p.why', {}, told.says) : null,
    corners.length ? el('p.why', {}, counted(clear, corners.length - clear)) : null,
    isUntold ? el('p.why', {}, gettext('Choose the letter of a corner that you know again, and tap it: then the others have theirs.')) : null,
    takable.length > 1
      ? el('button', {type: 'button', 'data-key': 'take-sure', onclick: take}, ngettext('Take the clear one', 'Take the {count} clear ones', takable.length))
      : null,
  ];
}

function counted(clear, other) {
  const discs = clear ? ngettext('{count} clear corner (full dots)', '{count} clear corners (full dots)', clear) : '';
  const diamonds = other ? ngettext('{count} less clear (hollow diamonds)', '{count} less clear (hollow diamonds)', other) : '';
  return gettext('Seen here: {corners}. Tap one to take it, if it is right.', {corners: listed([discs, diamonds].filter(Boolean))});
}
