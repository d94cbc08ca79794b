// A mark snapped to the skirting: the desk looks in the full-size picture for the place where the skirting's edges meet at the floor.

import {ask} from '../common/api.js';
import {el, glyph, say, whole} from '../common/dom.js';
import {ring} from '../common/names.js';
import {snapMark} from './marks.js';
import {pathOf} from '../common/pictures.js';
import {gettext, ngettext} from '../common/words.js';

// Only where skirtings meet: the foot of a pipe or of a door's frame is no such place.
export function isSnappable(job, mark) {
  const corners = [...ring(job), ...(job.islands ?? []).flatMap((island) => island.corners)];
  return mark.kind === 'point' && corners.includes(mark.point);
}

export class Snapper {
  // here(): {file, entry(job)} of the photo on the stage; onChange() is called when what is known has changed.
  constructor({store, stage, here, onChange}) {
    Object.assign(this, {store, stage, here, onChange});
    this.looking = null; // the mark a snap is being looked for
    this.refused = null; // {mark, says} of the last one that was refused
  }

  // The button for a mark, or null where there is nothing to snap to.
  button(mark, current) {
    if (!mark || !isSnappable(this.store.job, mark)) return null;
    const isLooking = same(this.looking, mark);
    return el(
      'button.snapper',
      {type: 'button', 'data-key': 'snap', 'aria-disabled': String(isLooking), onclick: () => this.snap(current())},
      glyph('snap'),
      el('span', {}, isLooking ? gettext('Looking for the edges') : gettext('Snap {point} to the skirting', {point: mark.point})),
    );
  }

  // What the desk said against snapping this mark where it is now.
  refusal(mark) {
    return same(this.refused?.mark, mark) ? this.refused.says : '';
  }

  async snap(mark) {
    if (!isSnappable(this.store.job, mark)) {
      say(gettext('Only corners of the floor can be snapped to the skirting.'));
      return;
    }
    if (this.looking) return;
    const {file} = this.here();
    this.#tell(mark, null);
    say(gettext('Looking for the skirting at {point}.', {point: mark.point}));
    let found;
    try {
      found = await ask('POST', `${pathOf(file)}/snap`, {json: {x: mark.x, y: mark.y}});
    } catch (error) {
      this.#tell(null, {mark, says: error.says ?? error.message});
      say(whole(this.refused.says));
      return;
    }
    // Whoever moved on or moved the mark meanwhile has decided otherwise.
    const now = this.stage.marks.find((other) => other.key === mark.key);
    this.looking = null;
    if (this.here().file !== file || !same(now, mark)) {
      this.onChange();
      return;
    }
    this.store.change(gettext('snapped {point} to the skirting', {point: mark.point}), (job) => snapMark(this.here().entry(job), mark, found));
    this.onChange();
    this.stage.trace(found, found.lines);
    say(found.moved < 0.5 ? gettext('{point} was there already.', {point: mark.point}) : movedWords(mark.point, Math.round(found.moved)));
  }

  #tell(looking, refused) {
    this.looking = looking;
    this.refused = refused;
    this.onChange();
  }
}

const movedWords = (point, pixels) =>
  ngettext('{point} moved {count} pixel, to where the skirting’s edges meet.', '{point} moved {count} pixels, to where the skirting’s edges meet.', pixels, {point});

const same = (one, other) => Boolean(one && other) && one.key === other.key && one.x === other.x && one.y === other.y;
