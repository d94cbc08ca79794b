// Sheets of paper on the floor: each is a measure of known size in the photos. Their four corners are marked like any point.

import {el, refill, say, glyph, iconButton} from '../common/dom.js';
import {nextNumbered, pointNames, removePoint} from '../common/names.js';

const SIZES = [
  ['a4', 'A4'],
  ['letter', 'Letter'],
  ['a3', 'A3'],
];

export class Papers {
  constructor(ctx) {
    this.ctx = ctx;
    this.element = el('section.card.papers', {'aria-label': 'Sheets of paper on the floor'});
  }

  #add(size, text) {
    const {store} = this.ctx;
    const taken = new Set(pointNames(store.job));
    const corners = [1, 2, 3, 4].map(() => {
      const name = nextNumbered('S', taken);
      taken.add(name);
      return name;
    });
    store.change(`said that a sheet of ${text} lies on the floor`, (job) => {
      job.papers = [...(job.papers ?? []), {corners, size}];
    });
    say(`Sheet of ${text} added. Mark its corners ${corners.join(', ')} in the photos.`);
  }

  #remove(i) {
    const {store} = this.ctx;
    store.change('took a sheet of paper out', (job) => {
      const [sheet] = job.papers.splice(i, 1);
      for (const name of sheet.corners) removePoint(job, name);
    });
  }

  #sheet({corners, size}, i) {
    const {store, go} = this.ctx;
    const marks = (store.job.photos ?? []).filter((photo) => (photo.marks ?? []).some((mark) => corners.includes(mark.point))).length;
    const name = SIZES.find(([key]) => key === size)?.[1] ?? (Array.isArray(size) ? `${size.join(' x ')} mm` : size);
    return el(
      'li.thing',
      {'data-key': `sheet-${corners[0]}`},
      el(
        'div.thing-head',
        {},
        el('span', {}, el('b', {}, `Sheet of ${name}`), ' ', el('span.why', {}, `${corners.join(', ')}; ${marks ? `in ${marks} photo${marks > 1 ? 's' : ''}` : 'not marked yet'}`)),
        iconButton('bin', `Remove this sheet of ${name}`, () => this.#remove(i), {'data-key': `sheet-bin-${i}`}),
      ),
      el('button', {type: 'button', 'data-key': `sheet-mark-${i}`, onclick: () => go('corners', {point: corners[0]})}, 'Mark its corners in a photo'),
    );
  }

  update() {
    const {job} = this.ctx.store;
    refill(
      this.element,
      el('h2', {}, 'A sheet of paper on the floor'),
      el('p', {}, 'Any whole sheet that lies flat in the photos gives them their size, even before you tape. A weak help beside a tape length, but a quick one.'),
      el('ul', {}, (job.papers ?? []).map((sheet, i) => this.#sheet(sheet, i))),
      el(
        'div.row',
        {},
        SIZES.map(([key, text]) =>
          el('button', {type: 'button', 'data-key': `sheet-${key}`, 'aria-label': `Add a sheet of ${text}`, onclick: () => this.#add(key, text)}, glyph('plus'), text),
        ),
      ),
    );
  }
}
