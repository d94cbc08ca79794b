// Why the rows lie so, in a line, with a picture of what that avoids beside what is planned.

import {el, refill} from '../common/dom.js';
import {waySketch} from './waysketch.js';

export function fillAvoided(box, {answer, shown}) {
  const {avoided, because} = shown;
  const picture = (way, kind) => el(`figure.${kind}`, {}, waySketch(answer.floor.outline, way), el('figcaption', {}, way.says));
  refill(
    box,
    el('p.why', {}, avoided?.says ?? because[0] ?? ''),
    avoided ? el('div.beside', {}, picture(avoided.taken, 'good'), picture(avoided.avoided, 'look')) : null,
  );
}
