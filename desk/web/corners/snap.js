// A mark snapped to the skirting: where its edges meet at the floor in the full-size picture; then, slower to come, the corner that the desk
// sees there.

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
    this.waiting = null; // the mark a better place may still come for
    this.refused = null; // {mark, says} of the last one that was refused
  }

  // The button for a mark, or null where there is nothing to snap to.
  button(mark, current) {
    if (!mark || !isSnappable(this.store.job, mark)) return null;
    const isLooking = same(this.looking, mark);
    return el(
      'button.snapper',
      {type: 'button', 'data-key': 'snap', 'aria-disabled': String(isLooking), 'aria-busy': String(isLooking || same(this.waiting, mark)), onclick: () => this.snap(current())},
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
    const at = {json: {x: mark.x, y: mark.y}};
    this.#tell(mark, null);
    say(gettext('Looking for the skirting at {point}.', {point: mark.point}));
    const better = ask('POST', `${pathOf(file)}/tapped`, at).catch(() => null); // slower to come; where nothing is sure, the edges hold
    const found = await ask('POST', `${pathOf(file)}/snap`, at).catch((error) => ({says: error.says ?? error.message}));
    const snapped = found.says ? this.#refuse(mark, found) : this.#put(mark, found, file);
    this.#wait(snapped);
    this.#settle(snapped, found, await better, file);
    if (this.waiting === snapped) this.#wait(null);
  }

  #refuse(mark, {says}) {
    this.#tell(null, {mark, says});
    say(whole(says));
    return mark;
  }

  // The mark where the edges meet, or undefined: whoever moved on or moved the mark meanwhile has decided otherwise.
  #put(mark, found, file) {
    this.looking = null;
    if (!this.#isThere(mark, file)) return undefined;
    this.store.change(snapLabel(mark), (job) => snapMark(this.here().entry(job), mark, found));
    this.onChange();
    this.stage.trace(found, found.lines);
    say(found.moved < 0.5 ? gettext('{point} was there already.', {point: mark.point}) : movedWords(mark.point, Math.round(found.moved)));
    return this.#now(mark);
  }

  // The better place, while nothing else was done and no finger holds the mark; it is undone together with the first.
  #settle(mark, found, better, file) {
    const isLast = found.says || this.store.undoable === snapLabel(mark);
    if (!better || !mark || !isLast || this.stage.pointers.size || !this.#isThere(mark, file)) return;
    const put = (job) => snapMark(this.here().entry(job), mark, better);
    if (found.says) this.store.change(snapLabel(mark), put);
    else this.store.amend(put);
    this.refused = null;
    this.onChange();
    say(better.moved < 0.5 ? gettext('{point} was there already.', {point: mark.point}) : seenWords(mark.point, Math.round(better.moved)));
  }

  #wait(mark) {
    this.waiting = mark;
    this.onChange();
  }

  #now(mark) {
    return this.stage.marks.find((other) => other.key === mark.key);
  }

  #isThere(mark, file) {
    return this.here().file === file && same(this.#now(mark), mark);
  }

  #tell(looking, refused) {
    this.looking = looking;
    this.refused = refused;
    this.onChange();
  }
}

const movedWords = (point, pixels) =>
  ngettext('{point} moved {count} pixel, to where the skirting’s edges meet.', '{point} moved {count} pixels, to where the skirting’s edges meet.', pixels, {point});

const seenWords = (point, pixels) => ngettext('{point} moved {count} pixel, to the corner seen there.', '{point} moved {count} pixels, to the corner seen there.', pixels, {point});

const snapLabel = ({point}) => gettext('snapped {point} to the skirting', {point});

const same = (one, other) => Boolean(one && other) && one.key === other.key && one.x === other.x && one.y === other.y;
