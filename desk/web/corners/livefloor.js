// The floor beside the photo: it follows a mark while it is dragged, before anything is saved.

import {el, refill, sentence} from '../common/dom.js';
import {ask} from '../common/api.js';
import {Drawing, drawFloor} from '../common/planview.js';
import {pathOf} from '../common/pictures.js';

export class LiveFloor {
  #followed = null; // the floor as the desk last told it for the drag
  #wanted = null; // the drag's latest place, while the desk is busy with an earlier one
  #isAsking = false;
  #dragged = 0; // counts drags: an answer for an earlier one comes too late

  constructor(ctx) {
    this.ctx = ctx;
    this.drawing = new Drawing('Plan of the floor', 'floor');
    this.words = el('div', {'aria-live': 'polite'});
    this.element = el('section.card.live-floor', {'aria-label': 'The floor so far', hidden: true}, this.words, this.drawing.element);
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

  update() {
    const {survey, store} = this.ctx;
    if (!survey.working && survey.revision === store.revision) this.#followed = null;
    this.element.hidden = !survey.answer;
    if (!survey.answer) return;
    refill(
      this.words,
      el('h2', {}, `The floor: ${survey.shown.area}`),
      survey.state === 'ok' ? null : sentence('look', survey.says || 'These marks and lengths give no floor yet; drawn is the last one that was found.'),
    );
    this.#draw();
  }

  #draw() {
    const {survey} = this.ctx;
    if (!survey.answer || this.element.hidden) return;
    drawFloor(this.drawing, this.#followed ? followed(survey, this.#followed) : survey, {
      suspects: survey.answer.suspects.filter((reading) => reading.kind === 'tape').map((reading) => reading.between),
    });
  }
}

// The survey as far as a drag leaves it true: places and lengths are new, how sure they are is not told.
function followed({answer, shown}, {points, walls}) {
  const places = Object.fromEntries(Object.entries(points).map(([name, [x, y]]) => [name, {x, y}]));
  return {answer: {...answer, points: places}, shown: {...shown, walls, ovals: {}}};
}
