// A box for a typed length. The desk reads the text; the box shows how it was read, or asks back.

import {ask} from '../common/api.js';
import {el, isRefilling} from '../common/dom.js';
import {gettext, localised} from '../common/words.js';

let count = 0;

// A bare number would be read anew when the job changes its unit, so it is kept with the unit it was read in.
const hasUnit = (text) => /[a-z'"′″’”]/i.test(text);
const withUnit = (text, show) => (hasUnit(text) ? text : `${text} ${show === 'imperial' ? 'in' : 'mm'}`);

// In a box for something thin (a board's thickness, a saw cut) a bare number can only be millimetres; elsewhere a small one
// is asked back. onLength(mm, typed) is called once the text is a length and the box is left or Enter is pressed; "" clears if `clearable`.
export function lengthField(options) {
  return new LengthField(options);
}

// The field of a box on the page, by the box's key.
export const fieldIn = (container, key) => container.querySelector(`[data-key="${CSS.escape(key)}"]`)?.closest('.field').field;

const readings = new Map();

// The desk's reading of a text; the same text is asked for once.
function readLength(text, show) {
  const key = `${show} ${text}`;
  if (!readings.has(key)) {
    const coming = ask('POST', '/api/length', {json: {text, show}});
    coming.catch(() => readings.delete(key));
    readings.set(key, coming);
  }
  return readings.get(key);
}

class LengthField {
  #asked = 0;
  #timer = 0;
  #kept = '';
  #committing = null; // Enter and leaving the box may both ask for the same text

  constructor(options) {
    const id = `length-${(count += 1)}`;
    this.label = el('label', {for: id});
    this.echo = el('span.echo', {id: `${id}-echo`, 'aria-live': 'polite'});
    this.input = el('input', {
      type: 'text',
      id,
      autocomplete: 'off',
      spellcheck: 'false',
      enterkeyhint: 'done',
      'aria-describedby': `${id}-echo`,
      oninput: () => {
        this.input.dataset.dirty = '1';
        clearTimeout(this.#timer);
        this.#timer = setTimeout(() => this.read(), 180);
      },
      // Not "change": a box whose text was set by the page would never send it.
      onblur: () => {
        if (!isRefilling()) this.commit();
      },
      onkeydown: (event) => {
        if (event.key !== 'Enter') return;
        event.preventDefault();
        if (this.options.onEnter) this.options.onEnter();
        else this.commit();
      },
    });
    this.why = el('span.why');
    this.element = el('div.field', {}, this.label, this.input, this.echo, this.why);
    Object.assign(this.element, {field: this, identity: options.key, adopt: (other) => this.#take(other.field.options)});
    this.#take(options);
  }

  // What the page wants the box to be now; what is being typed in it stays.
  #take(options) {
    this.options = options;
    const {label, why = '', show, key, placeholder = '', usual = '', hideLabel = false} = options;
    this.label.textContent = label;
    this.label.className = hideLabel ? 'hidden' : '';
    this.why.textContent = why;
    this.why.hidden = !why;
    this.input.dataset.key = key;
    this.input.placeholder = placeholder || usual;
    this.input.inputMode = show === 'imperial' ? 'text' : 'decimal';
    if (this.input.dataset.dirty) return;
    const text = textOf(options);
    if (text !== this.input.value) {
      this.input.value = this.#kept = text;
      this.#tell('', false);
    }
    // Not at once: most boxes are made only to tell the one on the page what it should be.
    queueMicrotask(() => {
      if (this.input.value && !this.echo.textContent && this.element.isConnected) this.read();
    });
  }

  clear() {
    this.input.value = this.#kept = '';
    delete this.input.dataset.dirty;
    this.#tell('', false);
  }

  #tell(text, isQuestion) {
    this.echo.textContent = text;
    this.echo.classList.toggle('ask', isQuestion);
    if (isQuestion) this.input.setAttribute('aria-invalid', 'true');
    else this.input.removeAttribute('aria-invalid');
  }

  // Resolves to the reading of the text as it is now, or null when it is none. Only the latest question may write the echo,
  // but every asker gets its own answer.
  async read() {
    clearTimeout(this.#timer);
    const {show, isSmall = false, usual = '', clearable = false} = this.options;
    const bare = this.input.value.trim();
    const text = isSmall && show !== 'imperial' && /^\d+([.,]\d)?$/.test(bare) ? `${bare} mm` : bare;
    const turn = (this.#asked += 1);
    const tellLatest = (...words) => turn === this.#asked && this.#tell(...words);
    if (!text) {
      tellLatest(usual && clearable ? gettext('empty: {usual}', {usual}) : '', false);
      return null;
    }
    try {
      const told = await readLength(text, show);
      if (told.mm === null) tellLatest(told.says, true);
      else tellLatest(`= ${told.metric} = ${told.imperial}`, false);
      return told.mm === null ? null : {mm: told.mm, typed: withUnit(text, show)};
    } catch (error) {
      tellLatest(error.says ?? error.message, true);
      return null;
    }
  }

  async commit() {
    const text = this.input.value;
    if (text === this.#kept || text === this.#committing) return;
    this.#committing = text;
    const {onLength} = this.options; // the box may be given to another entry while the desk reads the text
    if (!text.trim() && this.options.clearable) this.#settle('', () => onLength?.(null, ''));
    else {
      const reading = await this.read();
      if (reading && this.input.value === text) this.#settle(text, () => onLength?.(reading.mm, reading.typed));
    }
    this.#committing = null;
  }

  #settle(text, tell) {
    this.#kept = text;
    delete this.input.dataset.dirty;
    if (!text) this.#tell('', false);
    tell();
  }
}

const textOf = ({typed = '', value = null}) => (hasUnit(typed) || value === null || value === undefined ? typed : `${localised(value)} mm`);
