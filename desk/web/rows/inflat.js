// What the flat that this room belongs to makes of its rows, and the way to all rooms.

import {ask} from '../common/api.js';
import {el, glyph, refill, sentence} from '../common/dom.js';
import {gettext} from '../common/words.js';

export class InFlat {
  constructor({store}) {
    this.store = store;
    this.element = el('section.card.in-flat', {'aria-label': gettext('In the flat'), hidden: true});
  }

  // Whether this is one room of a flat, which is laid by the plans of all rooms and not by one kept here.
  get isRoom() {
    return Boolean(this.store.inFlat && !this.store.inFlat.is_floor);
  }

  update() {
    const told = this.store.inFlat;
    this.element.hidden = !told?.says.length && !told?.broken.length;
    if (this.element.hidden) return;
    const toFloor = this.isRoom && told.floor;
    refill(
      this.element,
      el('h2', {}, gettext('In the flat')),
      told.broken.map((says) => sentence('look', says)),
      told.says.map((says) => el('p', {}, says)),
      el(
        'p.choices',
        {},
        el('a.button.quiet.inline', {href: '/#buy', 'data-key': 'to-flat'}, glyph('left'), gettext('To the plans of all rooms')),
        toFloor ? el('a.button.quiet.inline', {href: `/?room=${encodeURIComponent(told.floor)}#rows`, 'data-key': 'to-floor'}, gettext('Its rows as they are laid')) : null,
      ),
    );
  }

  // Ask anew, once something was kept here.
  async refresh() {
    if (!this.store.inFlat) return;
    try {
      this.store.inFlat = (await ask('GET', '/api/job')).in_flat;
    } catch {
      return; // what was told before stands; the page says by itself when the desk is gone
    }
    this.update();
  }
}
