// The magnifier: the same picture several times larger, on the side away from the finger.

import {svg, el} from '../common/dom.js';

const SIZE = 132; // CSS px, as in the style sheet
const STRONGER = 4; // times the zoom of the stage

export class Loupe {
  constructor() {
    this.image = svg('image', {preserveAspectRatio: 'none'});
    this.glass = svg('svg', {'aria-hidden': 'true'}, this.image);
    this.element = el(
      'div.loupe',
      {hidden: true},
      this.glass,
      svg(
        'svg.hair',
        {viewBox: '-66 -66 132 132', 'aria-hidden': 'true'},
        svg('path', {d: 'M-60 0h52M8 0h52M0-60v52M0 8v52'}),
        svg('circle', {r: 1.5}),
      ),
    );
  }

  // at: photo px; scale: photo px per CSS px of the stage; side: where the glass goes.
  look(at, scale, side) {
    const span = (SIZE * scale) / STRONGER;
    this.glass.setAttribute('viewBox', `${at.x - span / 2} ${at.y - span / 2} ${span} ${span}`);
    this.element.classList.toggle('left', side === 'left');
    this.element.hidden = false;
  }

  hide() {
    this.element.hidden = true;
  }
}
