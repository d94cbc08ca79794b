// What is said beside the rows: figures, how far the search has come, what gave way, what to buy and to mind.

import {el, refill, sentence, whole, working as turning} from '../common/dom.js';

export function fillFigures(list, {figures}) {
  refill(
    list,
    figures.map(({name, value, note}) => el('div', {}, el('dt', {}, name), el('dd', {}, el('b', {}, value), el('small', {}, note)))),
  );
}

// How sure it is that this is the plan. The main button of the page keeps it; keep: where that leads to a doubt first, to keep it nevertheless.
export function fillStage(box, {answer, stage, kept, working}, {tried, isLetGo, isBusy, isOld, keep, letGo, longer}) {
  if (tried && !isLetGo) {
    refill(box, sentence('tell', 'Let go to plan with this first row.'));
    return;
  }
  if (isOld) {
    refill(box, turning(tried ? 'Planning anew, with this first row.' : 'Planning anew. What is drawn is the plan as it was before.'));
    return;
  }
  const button = (key, text, onclick, kind = '') => el(`button${kind}`, {type: 'button', 'data-key': key, disabled: isBusy, onclick}, text);
  if (stage === 'kept') {
    refill(
      box,
      sentence('good', kept.day ? `This is your plan, kept on ${kept.day}. Packs are printed from it, even if the tool learns better.` : 'This is the plan kept in the job.'),
      kept.begun
        ? sentence('tell', 'You told of the day, so rows are laid by this plan and no other can take its place. To take it all back, go to the step Day.')
        : button('let-go', 'Let it go', letGo, '.quiet'),
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
          keep ? button('keep', 'Keep it all the same', keep) : null,
          answer.proven || stage === 'long' ? null : button('longer', 'Look longer', longer),
        ),
  );
}

function searching({boards, bound, packs, least_packs: leastPacks}, stage) {
  if (leastPacks) return stage === 'preview' ? `A first plan with ${packs} packs is drawn. Looking for a better one.` : 'Looking for a better one.';
  const now = stage === 'preview' ? `A first plan with ${boards} boards is drawn.` : `The plan drawn needs ${boards} boards.`;
  return boards > bound ? `${now} Looking for one with fewer: no plan of these rows needs fewer than ${bound}.` : `${now} Looking for fewer cuts.`;
}

function found({boards, bound, proven, packs, least_packs: leastPacks}, stage) {
  if (leastPacks && proven) return `No plan of these rows needs fewer than ${packs} packs: fewer hold too little wood.`;
  if (leastPacks) return `No plan with fewer packs was found; the wood of ${leastPacks} would be long enough.`;
  if (proven) return `No plan of these rows needs fewer than ${boards} boards: that is proven.`;
  const long = stage === 'long' ? 'A long search found none with fewer' : 'None with fewer was found';
  return `${long}; whether ${bound === boards - 1 ? bound : `${bound} to ${boards - 1}`} would do is not known.`;
}

// doubts: what the survey that the plan rests on leaves in doubt.
export function fillWords(words, {gave, notes}, doubts) {
  refill(
    words,
    gave.length ? [el('h2', {}, 'What gave way'), ...gave.map((text) => sentence('look', text))] : sentence('good', 'Every rule is kept.'),
    doubts.length ? [el('h2', {}, 'The survey this rests on'), ...doubts] : null,
    notes.length ? folded(`Mind ${notes.length === 1 ? 'one thing' : `${notes.length} things`} before you saw`, notes, '.plain') : null,
  );
}

// What to buy and to mind, and the rest of why: each folded, its heading tells what is in it.
export function fillLists(lists, shown) {
  refill(
    lists,
    el(
      'section.card.folds',
      {'aria-label': 'Shopping, care, reasons'},
      folded('To buy', shown.shopping.map((text, i) => [text, el('small', {}, shown.why[i])])),
      folded('Take care', shown.cautions, '', hazards(shown.cautions)),
      folded('Why the rows lie so', shown.because),
    ),
  );
}

// What there is to take care of, in a word each, so that it is read even where the rest is folded: "dust, eyes, ears".
const hazards = (cautions) => cautions.map((text) => /^([A-Z][\w ]{2,20}):/.exec(text)?.[1].toLowerCase()).filter(Boolean).join(', ');

// Open where the window has room for it.
const hasRoom = () => matchMedia('(min-width: 761px)').matches;

function folded(title, items, kind = '', more = '') {
  if (!items.length) return null;
  return el(
    `details.fold${kind}`,
    {'data-key': title, open: hasRoom() && title !== 'Why the rows lie so'},
    el('summary', {}, el('span', {}, title, more ? el('small', {}, more) : null)),
    el('ul.plainlist', {}, items.map((item) => el('li', {}, typeof item === 'string' ? whole(item) : item))),
  );
}
