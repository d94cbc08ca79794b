// A box for a typed length. The desk reads the text; the box shows how it was read, or asks back.

import {ask} from './api.js';
import {el, isRefilling} from './dom.js';

let count = 0;

// A bare number would be read anew when the job changes its unit, so it is kept with the unit it was read in.
const hasUnit = (text) => /[a-z'"′″’”]/i.test(text);
const withUnit = (text, show) => (hasUnit(text) ? text : `${text} ${show === 'imperial' ? 'in' : 'mm'}`);

// In a box for something thin (a board's thickness, a saw cut) a bare number can only be millimetres; elsewhere a small one
// is asked back. onLength(mm, typed) is called once the text is a length and the box is left or Enter is pressed; "" clears if `clearable`.
export function lengthField({
  label,
  why = '',
  value = null,
  typed = '',
  show,
  onLength,
  onEnter,
  clearable = false,
  key,
  placeholder = '',
  hideLabel = false,
  isSmall = false,
  usual = '',
}) {
  const id = `length-${(count += 1)}`;
  const echo = el('span.echo', {id: `${id}-echo`, 'aria-live': 'polite'});
  const input = el('input', {
    type: 'text',
    id,
    value: hasUnit(typed) || value === null || value === undefined ? typed : `${value} mm`,
    'data-key': key,
    placeholder: placeholder || usual,
    autocomplete: 'off',
    spellcheck: 'false',
    inputmode: show === 'imperial' ? 'text' : 'decimal',
    enterkeyhint: 'done',
    'aria-describedby': `${id}-echo`,
  });
  let asked = 0;
  let timer = 0;
  let kept = input.value;
  let committing = null; // Enter and leaving the box may both ask for the same text

  function tell(text, isQuestion) {
    echo.textContent = text;
    echo.classList.toggle('ask', isQuestion);
    if (isQuestion) input.setAttribute('aria-invalid', 'true');
    else input.removeAttribute('aria-invalid');
  }

  // Resolves to the reading of the text as it is now, or null when it is none. Only the latest question may write the echo,
  // but every asker gets its own answer.
  async function read() {
    clearTimeout(timer);
    const bare = input.value.trim();
    const text = isSmall && show !== 'imperial' && /^\d+([.,]\d)?$/.test(bare) ? `${bare} mm` : bare;
    const turn = (asked += 1);
    const tellLatest = (...words) => turn === asked && tell(...words);
    if (!text) {
      tell(usual && clearable ? `empty: ${usual}` : '', false);
      return null;
    }
    try {
      const told = await ask('POST', '/api/length', {json: {text, show}});
      if (told.mm === null) tellLatest(told.says, true);
      else tellLatest(`= ${told.metric} = ${told.imperial}`, false);
      return told.mm === null ? null : {mm: told.mm, typed: withUnit(text, show)};
    } catch (error) {
      tellLatest(error.says ?? error.message, true);
      return null;
    }
  }

  async function commit() {
    const text = input.value;
    if (text === kept || text === committing) return;
    committing = text;
    if (!text.trim() && clearable) {
      kept = '';
      tell('', false);
      onLength?.(null, '');
    } else {
      const reading = await read();
      if (reading && input.value === text) {
        kept = text;
        delete input.dataset.dirty;
        onLength?.(reading.mm, reading.typed);
      }
    }
    committing = null;
  }

  input.addEventListener('input', () => {
    input.dataset.dirty = '1';
    clearTimeout(timer);
    timer = setTimeout(read, 180);
  });
  // Not "change": a box that was filled anew under the person's hands would never send it.
  input.addEventListener('blur', () => {
    if (!isRefilling()) commit();
  });
  input.addEventListener('keydown', (event) => {
    if (event.key === 'Enter') {
      event.preventDefault();
      if (onEnter) onEnter();
      else commit();
    }
  });
  if (input.value) read();
  const element = el('div.field', {}, el(hideLabel ? 'label.hidden' : 'label', {for: id}, label), input, echo, why ? el('span.why', {}, why) : null);
  return {element, input, read, commit};
}
