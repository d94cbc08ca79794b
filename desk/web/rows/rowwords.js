// What is said beside the rows: figures, how far the search has come, what gave way, what to buy and to mind.

import {el, refill, sentence, whole, working as turning} from '../common/dom.js';
import {gettext, ngettext, lowered} from '../common/words.js';

export function fillFigures(list, {figures}) {
  refill(
    list,
    figures.map(({name, value, note}) => el('div', {}, el('dt', {}, name), el('dd', {}, el('b', {}, value), el('small', {}, note)))),
  );
}

// How sure it is that this is the plan. The main button of the page keeps it; keep: where that leads to a doubt first, to keep it nevertheless.
export function fillStage(box, {answer, stage, kept, working}, {tried, isLetGo, isBusy, isOld, keep, letGo, longer}) {
  if (tried && !isLetGo) {
    refill(box, sentence('tell', gettext('Let go to plan with this first row.')));
    return;
  }
  if (isOld) {
    refill(box, turning(tried ? gettext('Planning anew, with this first row.') : gettext('Planning anew. What is drawn is the plan as it was before.')));
    return;
  }
  const button = (key, text, onclick, kind = '') => el(`button${kind}`, {type: 'button', 'data-key': key, disabled: isBusy, onclick}, text);
  if (stage === 'kept') {
    refill(
      box,
      sentence('good', kept.day ? gettext('This is your plan, kept on {day}. Packs are printed from it, even if the tool learns better.', {day: kept.day}) : gettext('This is the plan kept in the job.')),
      kept.begun
        ? sentence('tell', gettext('You told of the day, so rows are laid by this plan and no other can take its place. To take it all back, go to the step Day.'))
        : button('let-go', gettext('Let it go'), letGo, '.quiet'),
    );
    return;
  }
  const isSearching = stage === 'preview' || working;
  refill(
    box,
    kept && !kept.current ? sentence('look', kept.says) : null,
    isSearching
      ? turning(searching(answer, stage))
      : sentence(answer.proven ? 'good' : 'tell', found(answer, stage)),
    isSearching
      ? null
      : el(
          'div.row',
          {},
          keep ? button('keep', gettext('Keep it all the same'), keep) : null,
          answer.proven || stage === 'long' ? null : button('longer', gettext('Look longer'), longer),
        ),
  );
}

function searching({boards, bound, packs, least_packs: leastPacks}, stage) {
  if (leastPacks) return stage === 'preview' ? ngettext('A first plan with {count} pack is drawn. Looking for a better one.', 'A first plan with {count} packs is drawn. Looking for a better one.', packs) : gettext('Looking for a better one.');
  const now = stage === 'preview' ? ngettext('A first plan with {count} board is drawn.', 'A first plan with {count} boards is drawn.', boards) : ngettext('The plan drawn needs {count} board.', 'The plan drawn needs {count} boards.', boards);
  return boards > bound ? `${now} ${gettext('Looking for one with fewer: no plan of these rows needs fewer than {least}.', {least: bound})}` : `${now} ${gettext('Looking for fewer cuts.')}`;
}

function found({boards, bound, proven, packs, least_packs: leastPacks}, stage) {
  if (leastPacks && proven) return ngettext('No plan of these rows needs fewer than {count} pack: fewer hold too little wood.', 'No plan of these rows needs fewer than {count} packs: fewer hold too little wood.', packs);
  if (leastPacks) return gettext('No plan with fewer packs was found; the wood of {least} would be long enough.', {least: leastPacks});
  if (proven) return ngettext('No plan of these rows needs fewer than {count} board: that is proven.', 'No plan of these rows needs fewer than {count} boards: that is proven.', boards);
  const fewer = bound === boards - 1 ? bound : gettext('{least} to {most}', {least: bound, most: boards - 1});
  return stage === 'long'
    ? gettext('A long search found none with fewer; whether {fewer} would do is not known.', {fewer})
    : gettext('None with fewer was found; whether {fewer} would do is not known.', {fewer});
}

// doubts: what the survey that the plan rests on leaves in doubt.
export function fillWords(words, {gave, notes}, doubts) {
  refill(
    words,
    gave.length ? [el('h2', {}, gettext('What gave way')), ...gave.map((text) => sentence('look', text))] : sentence('good', gettext('Every rule is kept.')),
    doubts.length ? [el('h2', {}, gettext('The survey this rests on')), ...doubts] : null,
    notes.length ? folded(ngettext('Mind one thing before you saw', 'Mind {count} things before you saw', notes.length), notes, {kind: '.plain'}) : null,
  );
}

// What to buy and to mind, and the rest of why: each folded, its heading tells what is in it.
export function fillLists(lists, shown) {
  refill(
    lists,
    el(
      'section.card.folds',
      {'aria-label': gettext('Shopping, care, reasons')},
      folded(gettext('To buy'), shown.shopping.map((text, i) => [text, el('small', {}, shown.why[i])])),
      folded(gettext('Take care'), shown.cautions, {more: hazards(shown.cautions)}),
      folded(gettext('Why the rows lie so'), shown.because, {isShut: true}),
    ),
  );
}

// What there is to take care of, in a word each, so that it is read even where the rest is folded: "dust, eyes, ears".
const hazards = (cautions) => cautions.map((text) => lowered(/^(\p{Lu}[\p{L} ]{2,20}):/u.exec(text)?.[1] ?? '')).filter(Boolean).join(', ');

// Open where the window has room for it.
const hasRoom = () => matchMedia('(min-width: 761px)').matches;

function folded(title, items, {kind = '', more = '', isShut = false} = {}) {
  if (!items.length) return null;
  return el(
    `details.fold${kind}`,
    {'data-key': title, open: hasRoom() && !isShut},
    el('summary', {}, el('span', {}, title, more ? el('small', {}, more) : null)),
    el('ul.plainlist', {}, items.map((item) => el('li', {}, typeof item === 'string' ? whole(item) : item))),
  );
}
