// A box for a typed length. The desk reads the text; the box shows how it was read, or asks back.

import {ask} from './api.js';
import {el} from './dom.js';

let count = 0;

// onLength(mm, typed) is called once the text is a length and the box is left or Enter is pressed; "" clears if `clearable`.
export function lengthField({label, why = '', value = null, typed = '', show, onLength, onEnter, clearable = false, key, placeholder = '', hideLabel = false, usual = ''}) {
  const id = `length-${count += 1}`;
  const echo = el('span.echo', {id: `${id}-echo`, 'aria-live': 'polite'});
  const input = el('input', {type: 'text', id, value: typed || (value === null || value === undefined ? '' : `${value} mm`), 'data-key': key,
    placeholder: placeholder || usual, autocomplete: 'off', spellcheck: 'false', inputmode: show === 'imperial' ? 'text' : 'decimal',
    enterkeyhint: 'done', 'aria-describedby': `${id}-echo`});
  let asked = 0;
  let timer = 0;
  let kept = input.value;

  function tell(text, isQuestion) {
    echo.textContent = text;
    echo.classList.toggle('ask', isQuestion);
    if (isQuestion) input.setAttribute('aria-invalid', 'true');
    else input.removeAttribute('aria-invalid');
  }

  // Resolves to the reading, or null when the text is none.
  async function read() {
    const text = input.value.trim();
    const turn = asked += 1;
    if (!text) { tell(usual && clearable ? `empty: ${usual}` : '', false); return null; }
    try {
      const told = await ask('POST', '/api/length', {json: {text, show}});
      if (turn !== asked) return null;
      if (told.mm === null) { tell(told.says, true); return null; }
      tell(`= ${told.metric} = ${told.imperial}`, false);
      return {mm: told.mm, typed: text};
    } catch (error) {
      if (turn === asked) tell(error.says ?? error.message, true);
      return null;
    }
  }

  async function commit() {
    clearTimeout(timer);
    if (input.value === kept) return null;
    const text = input.value;
    if (!text.trim() && clearable) { kept = ''; tell('', false); onLength?.(null, ''); return null; }
    const reading = await read();
    if (reading && input.value === text) { kept = text; delete input.dataset.dirty; onLength?.(reading.mm, reading.typed); }
    return reading;
  }

  input.addEventListener('input', () => { input.dataset.dirty = '1'; clearTimeout(timer); timer = setTimeout(read, 180); });
  input.addEventListener('change', commit);
  input.addEventListener('keydown', (event) => { if (event.key === 'Enter') { event.preventDefault(); if (onEnter) onEnter(); else commit(); } });
  if (input.value) read();
  const element = el('div.field', {}, el(hideLabel ? 'label.hidden' : 'label', {for: id}, label), input, echo, why ? el('span.why', {}, why) : null);
  return {element, input, read, commit};
}
