// The pack's label, pasted whole: the desk reads it, and the boxes below are filled with what it says.

import {ask} from '../common/api.js';
import {el, glyph, say, sentence} from '../common/dom.js';
import {gettext} from '../common/words.js';

// onBoard(board) is called with the keys of the job's `board` that the label tells; onTold() when there is something new to show.
export class Label {
  #told = null;

  constructor(store, {onBoard, onTold}) {
    Object.assign(this, {store, onBoard, onTold});
  }

  async #read(text) {
    if (!text.trim()) return;
    try {
      const {board, says} = await ask('POST', '/api/label', {json: {text, show: this.store.job.show ?? 'metric'}});
      this.#told = {kind: board ? 'good' : 'look', says};
      if (board) this.onBoard(board);
      if (board) say(says);
    } catch (error) {
      this.#told = {kind: 'look', says: error.says ?? error.message};
    }
    this.onTold();
  }

  part() {
    const box = (event) => event.currentTarget.closest('.label-box').querySelector('input');
    return el(
      'div.label-box',
      {'data-key': 'label-box'},
      el(
        'label.field',
        {},
        el('span', {}, gettext('Paste or type the label as it stands')),
        el('input', {
          type: 'text',
          'data-key': 'label',
          autocomplete: 'off',
          spellcheck: 'false',
          maxlength: 2000,
          placeholder: this.store.job.show === 'imperial' ? gettext('50 5/8 x 7 9/16 x 5/16 in, 8 per pack') : gettext('1285 x 192 x 8 mm, 8 per pack'),
          // A paste of several lines is read before the box makes one line of it.
          onpaste: (event) => {
            const text = event.clipboardData?.getData('text') ?? '';
            if (text) this.#read(text);
          },
          onkeydown: (event) => {
            if (event.key === 'Enter') this.#read(event.currentTarget.value);
          },
        }),
      ),
      el('button', {type: 'button', 'data-key': 'read-label', onclick: (event) => this.#read(box(event).value)}, glyph('good'), gettext('Read it')),
      this.#told ? sentence(this.#told.kind, this.#told.says) : null,
    );
  }
}
