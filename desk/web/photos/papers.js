// Sheets of paper on the floor: each is a measure of known size in the photos. Their four corners are marked like any point.

import {el, refill, say, glyph, iconButton} from '../common/dom.js';
import {nextNumbered, pointNames, removePoint} from '../common/names.js';
import {gettext, ngettext, localised} from '../common/words.js';

const SIZES = [
  ['a4', 'A4'],
  ['letter', gettext('Letter')],
  ['a3', 'A3'],
];

export class Papers {
  constructor(ctx) {
    this.ctx = ctx;
    this.element = el('section.card.papers', {'aria-label': gettext('Sheets of paper on the floor')});
  }

  #add(size, text) {
    const {store} = this.ctx;
    const taken = new Set(pointNames(store.job));
    const corners = [1, 2, 3, 4].map(() => {
      const name = nextNumbered('S', taken);
      taken.add(name);
      return name;
    });
    store.change(gettext('said that a sheet of {size} lies on the floor', {size: text}), (job) => {
      job.papers = [...(job.papers ?? []), {corners, size}];
    });
    say(gettext('Sheet of {size} added. Mark its corners {names} in the photos.', {size: text, names: corners.join(', ')}));
  }

  #remove(i) {
    const {store} = this.ctx;
    store.change(gettext('took a sheet of paper out'), (job) => {
      const [sheet] = job.papers.splice(i, 1);
      for (const name of sheet.corners) removePoint(job, name);
    });
  }

  #sheet({corners, size}, i) {
    const {store, go} = this.ctx;
    const marks = (store.job.photos ?? []).filter((photo) => (photo.marks ?? []).some((mark) => corners.includes(mark.point))).length;
    const name = SIZES.find(([key]) => key === size)?.[1] ?? (Array.isArray(size) ? `${size.map(localised).join(' x ')} mm` : size);
    return el(
      'li.thing',
      {'data-key': `sheet-${corners[0]}`},
      el(
        'div.thing-head',
        {},
        el('span', {}, el('b', {}, gettext('Sheet of {size}', {size: name})), ' ', el('span.why', {}, `${corners.join(', ')}; ${marks ? ngettext('in {count} photo', 'in {count} photos', marks) : gettext('not marked yet')}`)),
        iconButton('bin', gettext('Remove this sheet of {size}', {size: name}), () => this.#remove(i), {'data-key': `sheet-bin-${i}`}),
      ),
      el('button', {type: 'button', 'data-key': `sheet-mark-${i}`, onclick: () => go('corners', {point: corners[0]})}, gettext('Mark its corners in a photo')),
    );
  }

  update() {
    const {job} = this.ctx.store;
    refill(
      this.element,
      el('h2', {}, gettext('A sheet of paper on the floor')),
      el('p', {}, gettext('Any whole sheet that lies flat in the photos gives them their size, even before you tape. A weak help beside a tape length, but a quick one.')),
      el('ul', {}, (job.papers ?? []).map((sheet, i) => this.#sheet(sheet, i))),
      el(
        'div.row',
        {},
        SIZES.map(([key, text]) =>
          el('button', {type: 'button', 'data-key': `sheet-${key}`, 'aria-label': gettext('Add a sheet of {size}', {size: text}), onclick: () => this.#add(key, text)}, glyph('plus'), text),
        ),
      ),
    );
  }
}
