// The card of the mark that is selected: what it is, and what can be done with it without a steady hand.

import {el, refill, iconButton, glyph, sentence} from '../common/dom.js';
import {gettext, raised} from '../common/words.js';

// current(): the mark as it is when a button is pressed; doing: {move(mark, dx, dy), remove(mark)}.
export function fillPicked(card, mark, current, {isSnappable, refusal, move, remove}) {
  card.hidden = !mark;
  if (!mark) return;
  const nudge = (icon, label, dx, dy) => iconButton(icon, label, () => move(current(), dx, dy), {'data-key': `nudge-${icon}`});
  refill(
    card,
    el('h2', {}, raised(mark.name)),
    refusal ? sentence('look', refusal) : null,
    el(
      'div.nudges',
      {},
      nudge('left', gettext('One pixel left'), -1, 0),
      nudge('up', gettext('One pixel up'), 0, -1),
      nudge('down', gettext('One pixel down'), 0, 1),
      nudge('right', gettext('One pixel right'), 1, 0),
      el('button', {type: 'button', 'data-key': 'unmark', onclick: () => remove(current())}, glyph('bin'), gettext('Take off this photo')),
    ),
    el('p.why', {}, gettext('Drag it, or use the arrow keys: 1 pixel, with Shift 10.')),
    isSnappable ? el('p.why', {}, gettext('Snapping moves it to where the skirting’s edges meet at the floor, if they are clear. Key S does the same.')) : null,
  );
}
