// What the survey found, in words: how far to trust the floor, what to doubt, what to measure next.

import {el, refill, sentence, working} from './dom.js';
import {suspectsOf, warningsOf} from './mends.js';
import {wallName} from './names.js';
import {gettext, ngettext} from './words.js';

// doing: {measure(pair): the pair is to be typed next, look(pair): it is to be seen in a photo, isSeen(pair), go(step),
// unseen(): questions about walls that nobody has seen, doubt({says, mends}): a doubt in its box, with what would put it right}
export function fillFound(words, survey, doing) {
  if (survey.answer) {
    refill(
      words,
      survey.working ? el('p.why', {'data-key': 'anew'}, gettext('Working it out anew. What you see is the floor as it was before.')) : null,
      survey.state === 'ok' ? found(survey, doing) : refused(survey, doing),
    );
    return;
  }
  if (survey.working) refill(words, working(gettext('Working out the floor. This takes a few seconds.')));
  else if (survey.state === 'none') refill(words, sentence('tell', gettext('The floor is drawn here once three corners are marked and one length is typed.')));
  else refill(words, refused(survey, doing));
}

function refused({state, says, more, mends}, {go, doubt}) {
  return [
    says ? doubt({says, mends}) : null,
    ...(says ? more.map((text) => sentence('look', text)) : []),
    state === 'no' ? el('div.foot', {}, el('button', {type: 'button', 'data-key': 'mend', onclick: () => go('corners')}, gettext('See the corners'))) : null,
  ];
}

function found({answer, shown}, doing) {
  const {suspects, next, verdict} = answer;
  const [doubts, warnings] = [suspectsOf(answer), warningsOf(answer)];
  const shownWarnings = doubts.length ? [] : warnings.slice(0, 1); // one headline: the likeliest fault, else what is most in doubt
  const folded = [...doubts.slice(1), ...warnings.slice(shownWarnings.length)].map(doing.doubt);
  return [
    doing.unseen(),
    verdict ? sentence(suspects.length ? 'look' : 'tell', verdict) : null,
    doubts.slice(0, 1).map(doing.doubt),
    suspects.length ? null : sentence('good', gettext('No length or mark stands out as wrong.')),
    shownWarnings.map(doing.doubt),
    doing.which?.(),
    folded.length ? more(folded) : null,
    (answer.bows ?? []).map((bow) => sentence('plain', bow.says)),
    next.length ? [el('h3', {}, gettext('Worth measuring next')), ...next.slice(0, 3).map((advice, i) => nextLength(advice, i, doing))] : null,
    wallList(answer, shown),
  ];
}

function more(folded) {
  return el('details', {'data-key': 'more-doubts'}, el('summary', {}, ngettext('{count} more to look at', '{count} more to look at', folded.length)), folded);
}

function nextLength({between, says}, i, doing) {
  const button = (key, text, onclick) => el('button.quiet.inline', {type: 'button', 'data-key': `${key}-${i}`, onclick}, text);
  return sentence(
    'tell',
    says,
    ' ',
    el(
      'span.choices',
      {},
      button('measured', gettext('I have measured it'), () => doing.measure(between)),
      doing.isSeen(between) ? button('look', gettext('Show it in a photo'), () => doing.look(between)) : null,
    ),
  );
}

function wallList(answer, shown) {
  const rows = answer.walls.map((wall, i) =>
    el('tr', {}, el('th', {scope: 'row'}, wallName([wall.from, wall.to])), el('td', {}, shown.walls[i].length), el('td', {}, shown.walls[i].pm)),
  );
  return el('details', {'data-key': 'wall-list'}, el('summary', {}, gettext('Every wall as a list')), el('table', {}, el('tbody', {}, rows)));
}
