// Two floors that fit the readings alike, side by side: the person says which is the room. The answer is a drawing in the job, no reading.

import {el} from '../common/dom.js';
import {asSketch, smallFloor} from '../common/sketchview.js';
import {gettext} from '../common/words.js';

const LEAVES = 20; // drawings are kept, not made anew with every answer; no more than these
const kept = new Map();

function drawn(answer, points, label) {
  const key = `${label} ${JSON.stringify(points)}`;
  if (!kept.has(key)) kept.set(key, smallFloor(answer.outline, points, label));
  if (kept.size > LEAVES) kept.delete(kept.keys().next().value);
  return kept.get(key);
}

// The question, or nothing. ctx: the page's.
export function whichFloor({survey, store}) {
  const {answer} = survey;
  if (survey.state !== 'ok' || !answer?.another) return null;
  const one = Object.fromEntries(answer.outline.map((name) => [name, [answer.points[name].x, answer.points[name].y]]));
  const take = (points) =>
    store.change(gettext('said which floor is the room'), (job) => {
      job.sketch = asSketch(answer.outline, (name) => points[name]);
    });
  const card = (points, label, key) => {
    const drawing = drawn(answer, points, label);
    queueMicrotask(() => drawing.redraw());
    return el('li', {'data-key': `floor-${key}`}, drawing.element, el('button', {type: 'button', 'data-key': `take-floor-${key}`, onclick: () => take(points)}, label));
  };
  return el(
    'div.which-floor',
    {'data-key': 'which-floor'},
    el('h3', {}, gettext('Which of the two is your room?')),
    el('p.why', {}, gettext('Both fit what was measured. Or measure one length more, as advised.')),
    el('ul.floors', {}, card(one, gettext('This one'), 'one'), card(answer.another, gettext('The other one'), 'other')),
  );
}
