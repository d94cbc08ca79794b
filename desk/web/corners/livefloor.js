// The floor beside the photo, from the first corner on: a sketch of what is known, then the solved floor. It follows a mark while it is
// dragged, before anything is saved; two corners tapped on it open the box for their length.

import {el, refill, sentence} from '../common/dom.js';
import {ask} from '../common/api.js';
import {Drawing, drawFloor} from '../common/planview.js';
import {crossingOf, drawSketch, isAllMarked} from '../common/sketchview.js';
import {doubtWords, warningsOf} from '../common/mends.js';
import {pathOf} from '../common/pictures.js';
import {unseenQuestions} from '../common/unseen.js';
import {whichFloor} from './anotherfloor.js';
import {Taping} from './taping.js';
import {gettext} from '../common/words.js';

// What the survey refuses while corners are still being named says no more than the sketch shows.
const SHOWN = ['no-scale', 'loose-floor', 'unmeasured-point', 'too-few-corners', 'names-and-corners', 'no-start', ''];

export class LiveFloor {
  #followed = null; // the floor as the desk last told it for the drag
  #wanted = null; // the drag's latest place, while the desk is busy with an earlier one
  #isAsking = false;
  #dragged = 0; // counts drags: an answer for an earlier one comes too late

  constructor(ctx) {
    this.ctx = ctx;
    this.taping = new Taping(ctx);
    this.drawing = new Drawing(gettext('Plan of the floor'), 'floor');
    this.words = el('div', {'aria-live': 'polite'});
    this.asked = el('div.asked', {'aria-live': 'polite'});
    this.element = el(
      'section.card.live-floor',
      {'aria-label': gettext('The floor so far'), hidden: true},
      this.words,
      this.drawing.element,
      this.taping.element,
      this.asked,
    );
    this.drawing.redraw = () => this.#draw();
  }

  // A mark is being dragged: one question at a time, the latest place wins.
  async drag(file, mark, x, y) {
    if (mark.kind !== 'point') return;
    this.#wanted = {file, point: mark.point, x, y};
    if (this.#isAsking) return;
    this.#isAsking = true;
    while (this.#wanted) {
      const {file: photo, ...place} = this.#wanted;
      const turn = this.#dragged;
      this.#wanted = null;
      try {
        const {floor} = await ask('POST', `${pathOf(photo)}/drag`, {json: place});
        if (turn === this.#dragged) this.#followed = floor;
      } catch {
        this.#wanted = null; // the survey after the drag will tell
      }
      this.#draw();
    }
    this.#isAsking = false;
  }

  // The mark was let go: what follows is the survey's to say.
  settle() {
    this.#dragged += 1;
    this.#wanted = null;
  }

  // The solved floor, if it is of the corners as they are now.
  get #isSolved() {
    const {survey, store} = this.ctx;
    const names = [...(store.job.outline ?? [])].sort();
    return Boolean(survey.answer) && (survey.state === 'ok' || survey.working) && String([...survey.answer.outline].sort()) === String(names);
  }

  update() {
    const {survey, store, sketch} = this.ctx;
    if (!survey.working && survey.revision === store.revision) this.#followed = null;
    this.element.hidden = !this.#isSolved && !sketch.told;
    if (this.element.hidden) return;
    refill(
      this.words,
      el('h2', {}, this.#isSolved ? gettext('The floor: {area}', {area: survey.shown.area}) : gettext('The floor so far')),
      this.#fault(),
      this.#orderWords(),
    );
    this.drawing.element.toggleAttribute('hidden', !this.#isSolved && !store.job.photos?.length && Boolean(sketch.told?.drawn.length));
    this.taping.update();
    refill(this.asked, this.#isSolved ? [whichFloor(this.ctx), this.#mendable()] : null, this.#questions());
    this.#draw();
  }

  // Why there is no floor, where the sketch does not show it, with what would put it right.
  #fault() {
    const {survey} = this.ctx;
    if (survey.state !== 'no' || SHOWN.includes(survey.slug ?? '')) return null;
    return doubtWords(survey, this.ctx);
  }

  // Walls nobody has seen are asked about once every photo has its marks: until then somebody may still see them.
  #questions() {
    const {store, survey, sketch} = this.ctx;
    const isMarked = store.job.photos?.length ? isAllMarked(store.job) : this.#isSolved;
    const isKnown = survey.state === 'ok' && survey.revision === store.revision;
    const unseen = (isKnown ? survey.answer.unseen : sketch.now?.unseen) ?? [];
    return isMarked && unseen.length ? unseenQuestions(unseen, this.ctx, 'h3') : null;
  }

  // What one tap may put right in a floor that is solved: left and right of a room that no photo shows.
  #mendable() {
    const {survey} = this.ctx;
    return warningsOf(survey.answer).filter(({mends}) => mends.length).map((doubt) => doubtWords(doubt, this.ctx));
  }

  #orderWords() {
    const {sketch, store} = this.ctx;
    const told = sketch.now;
    if (told?.order) {
      const put = () => {
        sketch.keepOrder();
        store.change(gettext('put the corners in the order the photos show'), (job) => {
          job.outline = told.order;
        });
      };
      return sentence(
        'look',
        gettext('The photos show the corners in another order: {order}.', {order: told.order.join('-')}),
        ' ',
        el('span.choices', {}, el('button.quiet.inline', {type: 'button', 'data-key': 'take-order', onclick: put}, gettext('Put them in that order'))),
      );
    }
    const crossing = told ? crossingOf(told, store.job) : [];
    if (!crossing.length) return null;
    const [one, other] = crossing.map((wall) => wall.join('-'));
    return sentence('look', gettext('Walls {one} and {other} cross: look at their letters in the photos, or at the order of the corners.', {one, other}));
  }

  #draw() {
    const {survey, sketch, store} = this.ctx;
    if (this.element.hidden) return;
    const {chosen, pair} = this.taping;
    const onPoint = (name) => this.taping.pick(name);
    if (this.#isSolved) {
      drawFloor(this.drawing, this.#followed ? followed(survey, this.#followed) : survey, {
        suspects: survey.answer.suspects.filter((reading) => reading.kind === 'tape').map((reading) => reading.between),
        next: pair ? [pair] : [],
        chosen,
        onPoint,
        job: store.job,
      });
    } else if (sketch.told) drawSketch(this.drawing, sketch.told, {job: store.job, chosen, next: pair, onPoint});
  }
}

// The survey as far as a drag leaves it true: places and lengths are new, how sure they are is not told.
function followed({answer, shown}, {points, walls}) {
  const places = Object.fromEntries(Object.entries(points).map(([name, [x, y]]) => [name, {x, y}]));
  return {answer: {...answer, points: places}, shown: {...shown, walls, ovals: {}}};
}
