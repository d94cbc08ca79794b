// What is wrong with what was typed, said where it was typed and not only once somebody plans.

import {el, sentence} from '../common/dom.js';

// places: the parts of the job a step is about, such as ["flooring"].
export function typedWrong({problems}, places) {
  const said = problems.filter(({where}) => places.includes(/^[a-z]*/.exec(where)[0])).map(({says}) => says);
  return el('div.typed', {'aria-live': 'polite', 'data-key': 'typed-wrong'}, [...new Set(said)].map((says) => sentence('look', says)));
}
