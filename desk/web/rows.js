// Step "Rows": the plan as it lies, what it costs, what gave way.

import {el, refill, sentence, whole, working} from './dom.js';
import {Drawing, drawRows} from './planview.js';

// The step where a fault at this place of the job is put right.
export function placeToMend(where = '') {
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
  const lead = el('p.lead', {}, 'The start wall is at the top, as you face it. Tap a piece to see where it comes from.');
  const figures = el('dl.figures');
  const words = el('div', {'aria-live': 'polite'});
  const piece = el('section.card', {'aria-label': 'The piece you chose', hidden: true, 'aria-live': 'polite'});
  const lists = el('div');
  const pick = el('div.row');
  const why = el('p.why');
  const on = el('div.foot', {}, el('button.main', {type: 'button', 'data-key': 'on', onclick: () => ctx.go('pack')}, 'On to the pack'));
  const legend = el('p.legend', {}, el('span', {}, el('i.key'), 'cut from a new board'), el('span', {}, el('i.key.again'), 'made of an offcut'));
  const plan = el(
    'div.rows-view',
    {},
    el('section.card', {'aria-label': 'Rows'}, drawing.element, why, legend, pick),
    el('div', {}, figures, piece, words, on),
  );
  const element = el(
    'div',
    {},
    el('h1', {}, 'Rows'),
    lead,
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
          [...told.cuts, told.keeps, ...told.leaves].map((text) => el('li', {}, whole(text))),
        ),
        el('p.why', {}, 'NEAR is the long edge towards the start wall, FAR the one towards you.'),
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
    const [how, ...reasons] = answer.says ?? [];
    refill(why, how ?? '');
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
      folded('Why the rows lie so', reasons),
      answer.choices?.length > 1
        ? folded(
            'Other ways that were weighed',
            answer.choices.map((way) => way.says),
          )
        : null,
    );
    fillPiece();
    drawing.redraw();
  }

  function folded(title, texts) {
    if (!texts.length) return null;
    return el(
      'details.card',
      {},
      el('summary', {}, title),
      el(
        'ul.plainlist',
        {},
        texts.map((text) => el('li', {}, whole(text))),
      ),
    );
  }

  function update() {
    const {plan: now} = ctx;
    const ready = now.state === 'ok';
    plan.hidden = lead.hidden = !ready;
    plan.classList.toggle('stale', Boolean(now.working));
    if (ready) {
      fill();
      return;
    }
    refill(
      lists,
      now.working || now.state === 'none'
        ? working('Working out the floor and planning the rows. This takes a few seconds; longer if a length was mistyped.')
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
