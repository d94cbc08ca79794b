// The way back and on, always in sight: beside the steps on a wide window, under the thumb on a small one.

import {el, iconButton, mainButton, refill, working} from './common/dom.js';
import {ring} from './common/names.js';
import {gettext} from './common/words.js';

const box = document.getElementById('onward');

const to = (step, text) => ({text, act: ({go}) => go(step)});

// Where a step leads; a view that knows better says so itself (`onward`).
const AFTER = {
  photos: () => to('corners', gettext('Mark the corners')),
  corners: ({job}) => (ring(job).length > 2 ? to('tape', gettext('On to the tape')) : null),
  tape: () => to('room', gettext('On to the room')),
  room: () => to('boards', gettext('On to the boards')),
  closeups: () => to('room', gettext('Back to the room')),
  boards: () => to('rows', gettext('See the rows')),
  rows: () => to('pack', gettext('On to the pack')),
  pack: () => to('day', gettext('On to the day')),
  day: () => null,
};

// step, before: the step shown and the one before it; view: may have `onward()`, which answers {text, act, isBusy, key, href} or null, or
// undefined for what usually comes next; ctx: {store, survey, go}. href: something to fetch, once `act` was called.
export function drawOnward({step, before, view, ctx}) {
  const next = view.onward?.() ?? AFTER[step.key]({job: ctx.store.job});
  refill(
    box,
    before ? iconButton('left', gettext('Back to {name}', {name: before.name}), () => ctx.go(before.key), {'data-key': 'back'}) : null,
    el('div.doing', {}, doing(ctx)),
    next ? mainButton({...next, act: () => next.act(ctx), icon: next.href ? 'load' : 'right'}) : null,
  );
}

// A solve that takes a while says what it does.
function doing({survey}) {
  return survey.working && survey.doing !== undefined ? working(survey.doing || gettext('Fitting the floor to what was read.')) : null;
}
