// Step "Rows": the plan as it lies, what it costs, what gave way; rows moved and turned by hand.

import {el, refill, say, sentence, working} from '../common/dom.js';
import {work} from '../common/api.js';
import {doubtsOf, doubtWords, isDoubted} from '../common/mends.js';
import {Drawing, drawRows} from '../common/planview.js';
import {isGuess, unseenWords} from '../common/unseen.js';
import {RowHandle} from '../common/rowhandle.js';
import {fillFigures, fillLists, fillStage, fillWords} from './rowwords.js';
import {RowPicture} from './rowpicture.js';
import {Ways} from './ways.js';
import {fillAvoided} from './avoided.js';
import {InFlat} from './inflat.js';
import {gettext} from '../common/words.js';

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

// The way on where the job cannot be planned or printed as it stands.
export const mendIt = ({go}, where) => ({text: gettext('Go and mend it'), key: 'mend', act: () => go(placeToMend(where))});

export function create(ctx) {
  const {store} = ctx;
  let chosen = '';
  let tried = null; // a plan with another first row, while its edge is dragged
  let wanted = null; // the width tried last, mm
  let isTrying = false;
  let isBusy = false;
  const drawing = new Drawing(gettext('Plan of the rows'), 'rows');
  const lead = el('p.lead', {}, gettext('The floor lies as in every step; row 1 is at the start wall. Tap a piece to see its row as the paper draws it; drag the round grip to change the first row.'));
  const figures = el('dl.figures');
  const stage = el('div.stage-words');
  const guess = el('div', {'aria-live': 'polite'});
  const words = el('div', {'aria-live': 'polite'});
  const piece = el('section.card', {'aria-label': gettext('The piece you chose'), hidden: true, 'aria-live': 'polite'});
  const picture = new RowPicture(gettext('The row as on paper'));
  const lists = el('div');
  const pick = el('div.row');
  const why = el('div.reason');
  const ways = new Ways(ctx);
  const inFlat = new InFlat(ctx);
  const legend = el('p.legend', {}, el('span', {}, el('i.key'), gettext('cut from a new board')), el('span', {}, el('i.key.again'), gettext('made of an offcut')));
  const plan = el(
    'div.rows-view',
    {},
    el('section.card', {'aria-label': gettext('Rows')}, drawing.element, why, legend, pick),
    el('div', {}, guess, figures, stage, piece, words),
  );
  const element = el('div', {}, el('h1', {}, gettext('Rows')), inFlat.element, lead, plan, picture.element, ways.element, lists);
  const handle = new RowHandle({onTry: tryRow, onSet: setRow});
  const now = () => (tried ? {...ctx.plan, ...tried} : ctx.plan);
  const isOld = () => store.state !== 'saved' || ctx.plan.revision !== store.revision;
  // The first row tried last is the job's now, and what is drawn until it is planned.
  const isLetGo = () => isOld() && store.job.flooring?.first_row === tried?.width;
  // The first row asked for, while the one drawn is another: what moves it next goes on from there.
  const askedRow = () => [wanted, isOld() && store.job.flooring?.first_row].find(Number.isFinite);
  drawing.redraw = () => {
    handle.asked = askedRow();
    if (ctx.plan.answer) drawRows(drawing, now(), {chosen, onPiece: choose, corners: cornerPlaces(), handle, job: store.job});
  };

  function cornerPlaces() {
    const {answer} = ctx.survey;
    return answer ? Object.fromEntries(answer.outline.map((name) => [name, answer.points[name]])) : {};
  }

  function choose(id) {
    chosen = id === chosen ? '' : id;
    fill();
  }

  // The wishes that keep the rows as they run now and ask for another first row.
  const withRow = (mm) => ({...ctx.plan.shown.way, first_row: mm});

  // One preview at a time; when it is there, the width wanted by then is tried.
  async function tryRow(mm) {
    wanted = mm;
    if (isTrying) return;
    isTrying = true;
    while (wanted !== null) {
      const width = wanted;
      try {
        const told = await work('preview', {flooring: withRow(width)});
        if (wanted !== null) tried = {...told, width};
      } catch (error) {
        if (error.slug !== 'replaced') say(error.says ?? error.message);
      }
      if (wanted === width) wanted = null;
      fill();
    }
    isTrying = false;
  }

  function setRow(mm) {
    wanted = null;
    const wishes = withRow(mm);
    store.change(gettext('moved the first row'), (job) => {
      job.flooring = {...job.flooring, ...wishes};
    });
  }

  async function keep(options = {}) {
    isBusy = true;
    fill();
    try {
      const {revision, kept} = await work('keep', options);
      store.revision = revision;
      Object.assign(ctx.plan, {revision, kept, stage: kept ? 'kept' : 'usual'});
      say(kept ? gettext('Kept: this is your plan.') : gettext('No plan is kept now.'));
      inFlat.refresh();
    } catch (error) {
      say(error.says ?? error.message);
    }
    isBusy = false;
    ctx.changed();
  }

  function fillPiece() {
    const {pieces} = now().shown;
    const told = pieces[chosen];
    piece.hidden = !told;
    if (told)
      refill(
        piece,
        el('h2', {}, told.title),
        el('p', {}, told.size),
      );
    if (told && !tried && !isOld()) picture.show(told.row, `${ctx.plan.revision} ${ctx.plan.stage}`);
    else picture.hide();
    const list = el(
      'select',
      {
        'data-key': 'piece',
        'aria-label': gettext('Piece'),
        onchange: (event) => {
          chosen = event.target.value;
          fill();
        },
      },
      el('option', {value: ''}, gettext('choose')),
      Object.keys(pieces).map((id) => el('option', {value: id}, id)),
    );
    list.value = told ? chosen : '';
    refill(pick, el('label.inline-field', {}, gettext('Piece'), ' ', list));
  }

  function fill() {
    if (ctx.plan.state !== 'ok') return;
    const {shown} = now();
    fillFigures(figures, shown);
    fillStage(stage, now(), {
      tried: Boolean(tried),
      isLetGo: isLetGo(),
      isBusy,
      isOld: isOld(),
      keep: (isDoubted(ctx.survey) || inFlat.isRoom) && !isGuess(ctx.survey) ? () => keep() : null,
      letGo: () => keep({keep: false}),
      longer: () => ctx.refreshPlan('long'),
    });
    refill(guess, unseenWords(ctx));
    fillWords(words, shown, doubtsOf(ctx.survey).map((doubt) => doubtWords(doubt, ctx)));
    fillAvoided(why, now());
    fillLists(lists, shown);
    fillPiece();
    ways.update();
    drawing.redraw();
    ctx.drawOnward();
  }

  function update() {
    const {plan: told} = ctx;
    const ready = told.state === 'ok';
    inFlat.update();
    if (!isLetGo()) tried = null;
    plan.hidden = lead.hidden = !ready;
    plan.classList.toggle('stale', Boolean(told.working) && told.revision !== store.revision && !tried);
    if (ready) {
      fill();
      return;
    }
    ways.element.hidden = true;
    refill(
      lists,
      told.working || told.state === 'none'
        ? working(gettext('Working out the floor and planning the rows. This takes a few seconds; longer if a length was mistyped.'))
        : [doubtWords(told, {survey: told, store}), ...told.more.map((text) => sentence('look', text))],
    );
  }

  // A plan that was searched for and is nobody's yet is the person's to keep; then the pack is made of it.
  function onward() {
    const {plan: told} = ctx;
    if (told.state === 'no') return mendIt(ctx, told.where);
    const isNow = told.state === 'ok' && told.revision === store.revision && !told.working && !tried;
    if (isNow && inFlat.isRoom) return {text: gettext('To the plans of all rooms'), key: 'to-all', act: () => location.assign('/#buy')};
    if (isNow && told.stage === 'kept') return {text: gettext('Make the pack'), act: () => ctx.go('pack', {make: true})};
    const isFound = isNow && ['usual', 'long'].includes(told.stage);
    if (isFound && (isGuess(ctx.survey) || isDoubted(ctx.survey))) return {text: gettext('Settle what is in doubt'), key: 'settle', act: () => ctx.go('tape')};
    return isFound ? {text: gettext('This is my plan'), key: 'keep', act: () => keep(), isBusy} : undefined;
  }

  return {element, update, onward, open: () => ctx.refreshPlan()};
}
