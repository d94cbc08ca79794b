// A box for a count: a whole number from 1 to 999.

import {el, isRefilling} from '../common/dom.js';
import {gettext} from '../common/words.js';

// onCount(number, or null for an emptied box) is called when the box is left with another text than it had.
export function countField({label, key, value, placeholder = '', onCount}) {
  const was = String(value ?? '');
  const echo = el('span.echo.ask', {'aria-live': 'polite'});
  const input = el('input', {
    type: 'text',
    id: key,
    inputmode: 'numeric',
    value: was,
    placeholder,
    'data-key': key,
    size: 4,
    autocomplete: 'off',
    oninput: (event) => {
      event.target.dataset.dirty = '1';
    },
    onblur: (event) => {
      const text = event.target.value.trim();
      if (isRefilling() || text === was) return;
      delete event.target.dataset.dirty;
      const fits = /^[1-9]\d{0,2}$/.test(text);
      event.target.nextElementSibling.textContent = fits || !text ? '' : gettext('A whole number from 1 to 999.');
      if (fits || !text) onCount(text ? Number(text) : null);
    },
  });
  return el('div.field', {}, el('label', {for: key}, label), input, echo);
}
