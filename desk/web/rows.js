// Step "Rows": the plan as it lies, what it costs, what gave way.

import {el, refill, sentence} from './dom.js';
import {Drawing, drawRows} from './planview.js';

// The step where a fault at this place of the job is put right.
function placeToMend(where = '') {
  const places = {
    photos: 'corners',
    outline: 'corners',
    tape: 'tape',
    flooring: 'boards',
    doors: 'room',
    pipes: 'room',
    islands: 'room',
    square: 'room',
  };
  return places[/^[a-z]*/.exec(where)[0]] ?? 'tape';
}

export function create(ctx) {
  let chosen = '';
  const drawing = new Drawing('Plan of the rows', 'rows');
  const figures = el('dl.figures');
  const words = el('div', {'aria-live': 'polite'});
  const piece = el('section.card', {'aria-label': 'The piece you chose', hidden: true, 'aria-live': 'polite'});
  const lists = el('div');
  const pick = el('div.row');
  const why = el('div');
  const legend = el('p.legend', {}, el('span', {}, el('i.key'), 'cut from a new board'), el('span', {}, el('i.key.again'), 'made of an offcut'));
  const plan = el(
    'div.rows-view',
    {},
    el('div', {}, el('section.card', {'aria-label': 'Rows'}, drawing.element, legend, pick), why),
    el('div', {}, figures, piece, words),
  );
  const element = el(
    'div',
    {},
    el('h1', {}, 'Rows'),
    el('p.lead', {}, 'The start wall is at the top, as you face it. Tap a piece to see where it comes from.'),
    plan,
    lists,
  );
  drawing.redraw = () => {
    if (ctx.plan.answer) drawRows(drawing, ctx.plan, {chosen, onPiece: choose, corners: cornerPlaces()});
  };

  function cornerPlaces() {
    const {answer} = ctx.survey;
    return answer ? Object.fromEntries(answer.outline.map((name) => [name, answer.points[name]])) : {};
  }

  function choose(id) {
    chosen = id === chosen ? '' : id;
    fill();
  }

  function fillPiece() {
    const told = ctx.plan.shown.pieces[chosen];
    piece.hidden = !told;
    if (told)
      refill(
        piece,
        el('h2', {}, told.title),
        el('p', {}, told.size),
        el(
          'ul.plainlist',
          {},
          [...told.cuts, told.keeps, ...told.leaves].map((text) => el('li', {}, text)),
        ),
      );
    const ids = Object.keys(ctx.plan.shown.pieces);
    const list = el(
      'select',
      {
        'data-key': 'piece',
        'aria-label': 'Piece',
        onchange: (event) => {
          chosen = event.target.value;
          fill();
        },
      },
      el('option', {value: ''}, 'choose'),
      ids.map((id) => el('option', {value: id}, id)),
    );
    list.value = chosen;
    refill(pick, el('label.inline-field', {}, 'Piece ', list));
  }

  function fill() {
    const {answer, shown} = ctx.plan;
    refill(
      figures,
      shown.figures.map(({name, value, note}) => el('div', {}, el('dt', {}, name), el('dd', {}, el('b', {}, value), el('small', {}, note)))),
    );
    const relaxed = (answer.relaxed ?? []).map((entry) => sentence('look', entry.says));
    refill(
      words,
      relaxed.length ? [el('h2', {}, 'What gave way'), ...relaxed] : sentence('good', 'Every rule is kept.'),
      (answer.warnings ?? []).map((text) => sentence('look', text)),
    );
    refill(
      why,
      (answer.says ?? []).map((text) => sentence('tell', text)),
    );
    refill(
      lists,
      el(
        'div.two',
        {},
        el(
          'section.card',
          {'aria-label': 'Shopping'},
          el('h2', {}, 'To buy'),
          el(
            'ul.plainlist',
            {},
            shown.shopping.map((text, i) => el('li', {}, text, el('small', {}, shown.why[i]))),
          ),
        ),
        el(
          'section.card',
          {'aria-label': 'Care'},
          el('h2', {}, 'Take care'),
          el(
            'ul.plainlist',
            {},
            (answer.cautions ?? []).map((text) => el('li', {}, text)),
          ),
        ),
      ),
      answer.choices?.length > 1
        ? el(
            'details.card',
            {},
            el('summary', {}, 'Other ways that were weighed'),
            el(
              'ul.plainlist',
              {},
              answer.choices.map((way) => el('li', {}, way.says)),
            ),
          )
        : null,
      el('div.foot', {}, el('button.main', {type: 'button', 'data-key': 'on', onclick: () => ctx.go('pack')}, 'On to the pack')),
    );
    fillPiece();
    drawing.redraw();
  }

  function update() {
    const {plan: now} = ctx;
    const ready = now.state === 'ok';
    plan.hidden = !ready;
    plan.classList.toggle('stale', Boolean(now.working));
    if (ready) {
      fill();
      return;
    }
    refill(
      lists,
      now.working || now.state === 'none'
        ? el('p.lead', {role: 'status'}, 'Planning the rows.')
        : [
            ...[now.says, ...now.more].map((text) => sentence('look', text)),
            now.state === 'no' &&
              el(
                'div.foot',
                {},
                el('button.main', {type: 'button', 'data-key': 'mend', onclick: () => ctx.go(placeToMend(now.where))}, 'Go and mend it'),
              ),
          ],
    );
  }

  return {element, update, open: () => ctx.refreshPlan()};
}
