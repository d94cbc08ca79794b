// Step "Day": what happens while the floor is laid, and where that leaves it. The desk reads the words and answers in sentences.

import {el, refill, say, sentence, glyph, working} from '../common/dom.js';
import {work} from '../common/api.js';
import {RowPicture} from '../rows/rowpicture.js';
import {DayNow} from './daynow.js';
import {obstacleForm} from './dayobstacle.js';
import {apart, gettext} from '../common/words.js';

export function create(ctx) {
  const {store} = ctx;
  let told = null;
  let refusal = null;
  let isUnkept = false; // there is no plan to lay by
  let busy = false;
  const other = el('section.card', {'aria-label': gettext('Something else')});
  const stands = el('section.card', {'aria-label': gettext('Where it stands')});
  const log = el('section.card', {'aria-label': gettext('What was said')});
  const picture = new RowPicture(gettext('The row to lay now'), {isLaid: true});
  const now = new DayNow({tell, typed: (key) => typed(key), box});
  const answer = el('div.answer', {role: 'status'});
  const element = el(
    'div',
    {},
    el('h1', {}, gettext('The day')),
    el('p.lead', {}, gettext('Say what happens while you lay. Rows that lie stay; the rest of the plan follows.')),
    el('div.day', {}, picture.element, el('div', {}, now.element, answer)),
    el('div.two', {}, el('div', {}, other), el('div', {}, stands, log)),
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
    if (words && !refusal && told.says.length && !isInSight(answer)) say(told.says[0]);
  }

  function box(key, label, like) {
    return el('label.field', {}, el('span', {}, label), el('input', {'data-key': key, placeholder: like, autocomplete: 'off'}));
  }

  const typed = (key) => element.querySelector(`[data-key=${key}]`).value.trim();

  function fillOther() {
    other.hidden = !told;
    if (other.hidden) return;
    const send = (event) => {
      event.preventDefault();
      if (typed('words')) tell(typed('words'));
    };
    refill(
      other,
      el('h2', {}, gettext('Something else happened')),
      el('form', {onsubmit: send}, box('words', gettext('In a few words'), gettext('board spoiled')), el('div.foot', {}, el('button', {'data-key': 'say', disabled: busy}, gettext('Say it')))),
      el('p.why', {}, gettext('As you would tell somebody: {examples}; I broke a board; the wall is closer.', {examples: apart(told.say)})),
      told.next ? obstacleForm({busy, box, typed, tell, told}) : null,
    );
  }

  function fillLog() {
    log.hidden = !told?.log.length;
    if (log.hidden) return;
    refill(
      log,
      el('h2', {}, gettext('What was said')),
      el('ul.said', {}, told.log.slice(-12).reverse().map(({entry, said, gone}) => el('li', {}, el('span.why', {}, `${entry}  `), gone ? el('s', {}, said) : said))),
      el('div.foot', {}, el('button', {type: 'button', 'data-key': 'undo-day', disabled: busy, onclick: () => tell('undo')}, gettext('Take the last back'))),
    );
  }

  function update() {
    refill(
      answer,
      busy && told ? working(gettext('Looking at what that means.')) : null,
      refusal && !busy ? sentence('look', refusal) : null,
      !busy && told?.old ? sentence('look', told.old, ' ', gettext('Laid now, it would be laid as it was kept.')) : null,
      !busy && told?.old ? el('div.foot', {}, el('button', {type: 'button', 'data-key': 'to-rows', onclick: () => ctx.go('rows')}, gettext('See the rows'))) : null,
      busy || refusal ? null : (told?.says ?? []).map((text) => sentence('tell', text)),
      busy || refusal ? null : (told?.files ?? []).map(({name, href}) =>
        el('div.foot', {}, el('a.button', {href, target: '_blank', rel: 'noopener', 'data-key': 'changed'}, glyph('open'), gettext('Open the changed pages, {name}', {name}))),
      ),
    );
    if (told?.next) picture.show(told.next, told.revision);
    else if (told || refusal) picture.hide();
    else picture.wait(gettext('Reading where the work stands'));
    ctx.drawOnward();
    now.fill(told, busy);
    fillOther();
    stands.hidden = !told;
    if (told) refill(stands, el('h2', {}, gettext('Where it stands')), el('ul.stands', {}, told.stands.map((text) => el('li', {}, text))));
    fillLog();
  }

  // The commonest word of the day stands under the thumb, and once; without a plan the way leads to the rows.
  function onward() {
    if (isUnkept) return {text: gettext('See the rows'), act: () => ctx.go('rows')};
    return told?.next ? {text: gettext('Row {row} is done', {row: told.next}), act: () => tell(`row ${told.next} done`), isBusy: busy, key: 'row-down'} : undefined;
  }

  return {element, update, onward, open: () => tell('')};
}

// Whether all of it can be read: above the bar with the main button, where that is at the foot of the window.
function isInSight(element) {
  const {top, bottom} = element.getBoundingClientRect();
  const bar = document.getElementById('onward').getBoundingClientRect();
  return top >= 0 && bottom <= (bar.bottom >= innerHeight ? bar.top : innerHeight);
}
