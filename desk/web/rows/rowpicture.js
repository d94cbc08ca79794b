// One row as the paper draws it: asked of the desk, shown in a card.

import {el, refill, sentence, whole, working} from '../common/dom.js';
import {work} from '../common/api.js';
import {gettext} from '../common/words.js';

// The desk's own drawing, as an element of this page.
function drawn(text) {
  const node = new DOMParser().parseFromString(text, 'text/html').querySelector('svg');
  return document.adoptNode(node);
}

export class RowPicture {
  // isLaid: of the plan the day follows, not of the one the job as it is would give.
  constructor(label, {isLaid = false} = {}) {
    this.isLaid = isLaid;
    this.element = el('section.card.row-picture', {'aria-label': label, hidden: true});
    this.wanted = null;
    this.tallest = 0; // rows differ in height: the card grows and does not shrink, so that the buttons beside it stay
  }

  // key: what the picture depends on; the same is not asked for again.
  async show(row, key) {
    const what = `${row} ${key}`;
    if (what === this.wanted) return;
    this.wanted = what;
    this.wait(gettext('Drawing row {row}', {row}));
    try {
      const told = await work('row', {row, narrow: window.innerWidth < 640, laid: this.isLaid});
      if (this.wanted === what) this.fill(told);
    } catch (error) {
      if (this.wanted === what) {
        this.wanted = null;
        this.element.hidden = true;
      }
      if (!error.slug) throw error;
    }
  }

  hide() {
    this.wanted = null;
    this.element.hidden = true;
  }

  // Its place is kept until it comes: what stands below does not move. A row drawn before stays so long.
  wait(text) {
    this.element.hidden = false;
    if (!this.element.childElementCount) refill(this.element, working(text));
  }

  fill({row, rows, svg, special, lines, checks}) {
    this.element.hidden = false;
    refill(
      this.element,
      el('h2', {}, gettext('Row {row} of {rows}', {row, rows})),
      special.map((text) => sentence('tell', text)),
      drawn(svg),
      el('div', {}, [...lines, ...checks].map((text) => el('p', {}, whole(text)))),
    );
    this.tallest = Math.max(this.tallest, this.element.offsetHeight);
    this.element.style.minHeight = `${this.tallest}px`;
  }
}
