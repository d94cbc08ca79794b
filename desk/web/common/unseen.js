// Walls that nobody has seen: each is asked about, and answered with one tap. Until then the floor is perhaps another room's.

import {el, sentence} from './dom.js';
import {mendButtons} from './mends.js';
import {gettext, ngettext} from './words.js';

export const isGuess = (survey) => Boolean(survey.answer?.unseen?.length);

// The questions, or nothing. ctx: the page's; heading: "h2", say.
export function unseenWords({survey, store, go}, heading = 'h2') {
  if (!isGuess(survey)) return null;
  return unseenQuestions(survey.answer.unseen, {survey, store, go}, heading);
}

// The first question, the others folded. unseen: [{wall, says, mends}].
export function unseenQuestions(unseen, {survey, store, go}, heading) {
  const mendsNow = (mends) => (survey.revision === store.revision ? mendButtons(mends, store) : []);
  const [first, ...rest] = unseen.map(({wall, says, mends}, i) => question(wall, says, store, go, i ? [] : mendsNow(mends)));
  return [
    el(heading, {}, gettext('Perhaps not your room')),
    first,
    rest.length ? el('details', {'data-key': 'more-unseen'}, el('summary', {}, ngettext('{count} more such wall', '{count} more such walls', rest.length)), rest) : null,
    sentence('tell', gettext('Until then this can be looked at, and nothing is kept or printed as your room.')),
  ];
}

function question(wall, says, store, go, mends) {
  const name = wall.join('-');
  const straight = () =>
    store.change(gettext('said that {name} is one straight wall', {name}), (job) => {
      job.straight = [...(job.straight ?? []), wall];
    });
  const button = (key, text, onclick) => el('button', {type: 'button', 'data-key': `${key}-${name}`, onclick}, text);
  return sentence(
    'look',
    `${says}.`,
    ' ',
    el(
      'span.choices',
      {},
      mends,
      button('straight', gettext('Yes, one straight wall'), straight),
      button('not-straight', gettext('No, or not sure: mark it'), () => go('corners')),
      button('tape-it', gettext('Tape it'), () => go('tape')),
    ),
  );
}
