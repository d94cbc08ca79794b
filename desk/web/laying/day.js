// Step "Day": what happens while the floor is laid, and where that leaves it. The desk reads the words and answers in sentences.

import {el, refill, sentence, glyph, working} from '../common/dom.js';
import {work} from '../common/api.js';
import {RowPicture} from '../rows/rowpicture.js';
import {obstacleForm} from './dayobstacle.js';

export function create(ctx) {
  const {store} = ctx;
  let told = null;
  let refusal = null;
  let isUnkept = false; // there is no plan to lay by
  let busy = false;
  const next = el('section.card', {'aria-label': 'Next'});
  const other = el('section.card', {'aria-label': 'Something else'});
  const stands = el('section.card', {'aria-label': 'Where it stands'});
  const log = el('section.card', {'aria-label': 'What was said'});
  const picture = new RowPicture('The row to lay now');
  const answer = el('div.answer', {role: 'status'});
  const element = el(
    'div',
    {},
    el('h1', {}, 'The day'),
    el('p.lead', {}, 'Say what happens while you lay. Rows that lie stay; the rest of the plan follows.'),
    answer,
    picture.element,
    el('div.two', {}, el('div', {}, next, other), el('div', {}, stands, log)),
  );

  async function tell(words) {
    if (busy || store.state !== 'saved') return;
    busy = true;
    refusal = null;
    isUnkept = false;
    // What is typed while the desk thinks is for the next entry, and stays.
    const sent = words ? [...element.querySelectorAll('input')].map((input) => [input, input.value]) : [];
    update();
    try {
      told = await work('day', words ? {words} : {});
      store.revision = told.revision;
      for (const [input, value] of sent) if (input.value === value) input.value = '';
    } catch (error) {
      refusal = error.says ?? error.message;
      isUnkept = error.slug === 'no-kept-plan';
    }
    busy = false;
    update();
  }

  function box(key, label, like) {
    return el('label.field', {}, el('span', {}, label), el('input', {'data-key': key, placeholder: like, autocomplete: 'off'}));
  }

  const typed = (key) => element.querySelector(`[data-key=${key}]`).value.trim();

  function tellWall() {
    const ends = ['left', 'right'].filter((side) => typed(`wall-${side}`)).map((side) => `${side} ${typed(`wall-${side}`)}`);
    if (ends.length) tell(`${told.row ? `row ${told.row}` : 'start wall'} to wall ${ends.join(' ')}`);
  }

  function fillNext() {
    next.hidden = !told?.next;
    if (next.hidden) return;
    refill(
      next,
      el('h2', {}, told.row ? `Row ${told.row} of ${told.rows} is down` : 'Nothing is down yet'),
      el(
        'div.foot',
        {},
        el('button.main', {type: 'button', 'data-key': 'row-down', disabled: busy, onclick: () => tell(`row ${told.next} done`)}, `Row ${told.next} is down`),
        el('button', {type: 'button', 'data-key': 'row-begun', disabled: busy, onclick: () => tell(`row ${told.next} begun`)}, `Row ${told.next} is begun`),
      ),
      el('p', {}, told.row ? `From row ${told.row}'s far edge to the far wall, at the middle of its first and last piece:` : 'From the start wall to the far wall:'),
      el('div.fields', {}, box('wall-left', 'At the left', '1803 mm'), box('wall-right', 'At the right', '1799 mm')),
      el('div.foot', {}, el('button', {type: 'button', 'data-key': 'wall', disabled: busy, onclick: tellWall}, 'Say the distances')),
    );
  }

  function fillOther() {
    other.hidden = !told;
    if (other.hidden) return;
    const send = (event) => {
      event.preventDefault();
      if (typed('words')) tell(typed('words'));
    };
    refill(
      other,
      el('h2', {}, 'Something else happened'),
      el('form', {onsubmit: send}, box('words', 'In a few words', 'board spoiled'), el('div.foot', {}, el('button', {'data-key': 'say', disabled: busy}, 'Say it'))),
      el('p.why', {}, `Such as: ${told.say.join('; ')}.`),
      told.next ? obstacleForm({busy, box, typed, tell, told}) : null,
    );
  }

  function fillLog() {
    log.hidden = !told?.log.length;
    if (log.hidden) return;
    refill(
      log,
      el('h2', {}, 'What was said'),
      el('ul.said', {}, told.log.slice(-12).reverse().map(({entry, said, gone}) => el('li', {}, el('span.why', {}, `${entry}  `), gone ? el('s', {}, said) : said))),
      el('div.foot', {}, el('button', {type: 'button', 'data-key': 'undo-day', disabled: busy, onclick: () => tell('undo')}, 'Take the last back')),
    );
  }

  function update() {
    refill(
      answer,
      busy ? working('Looking at what that means.') : null,
      refusal && !busy ? sentence('look', refusal) : null,
      !busy && told?.old ? sentence('look', told.old, ' Laid now, it would be laid as it was kept.') : null,
      !busy && (told?.old || isUnkept) ? el('div.foot', {}, el('button', {type: 'button', 'data-key': 'to-rows', onclick: () => ctx.go('rows')}, 'See the rows')) : null,
      busy || refusal ? null : (told?.says ?? []).map((text) => sentence('tell', text)),
      busy || refusal ? null : (told?.files ?? []).map(({name, href}) =>
        el('div.foot', {}, el('a.button.main', {href, target: '_blank', rel: 'noopener', 'data-key': 'changed'}, glyph('open'), `Open the changed pages, ${name}`)),
      ),
    );
    if (told?.next) picture.show(told.next, told.revision);
    else picture.hide();
    fillNext();
    fillOther();
    stands.hidden = !told;
    if (told) refill(stands, el('h2', {}, 'Where it stands'), el('ul.stands', {}, told.stands.map((text) => el('li', {}, text))));
    fillLog();
  }

  return {element, update, open: () => tell('')};
}
