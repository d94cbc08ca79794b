// Making elements, and telling people things.

import {listen} from './patch.js';
import {inTerms, raised} from './words.js';

export {isRefilling, refill} from './patch.js';

const SVG = 'http://www.w3.org/2000/svg';

// el('button.main', {type: 'button', onclick}, 'Save'): properties starting with "on" are listeners, the rest attributes.
export function el(what, attributes = {}, ...children) {
  const [tag, ...classes] = what.split('.');
  return dress(document.createElement(tag || 'div'), classes, attributes, children);
}

export function svg(what, attributes = {}, ...children) {
  const [tag, ...classes] = what.split('.');
  return dress(document.createElementNS(SVG, tag), classes, attributes, children);
}

function dress(node, classes, attributes, children) {
  if (classes.length) node.setAttribute('class', classes.join(' '));
  for (const [name, value] of Object.entries(attributes)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith('on')) listen(node, name.slice(2), value);
    else node.setAttribute(name, value === true ? '' : value);
  }
  node.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false));
  return node;
}

let fading = 0;

// A short word in the live region: read out by a screen reader, shown for a while to everybody else.
export function say(text) {
  const status = document.getElementById('status');
  clearTimeout(fading);
  status.textContent = text;
  fading = setTimeout(
    () => {
      status.textContent = '';
    },
    2600 + 45 * text.length,
  );
}

const GLYPHS = {
  look: 'M10 3 1.800 17h16.400zM10 8v4.500M10 14.800v.2',
  good: 'm4 10.500 4 4 8-9',
  tell: 'M10 2.500a7.500 7.500 0 1 0 0 15 7.500 7.500 0 0 0 0-15zM10 9v5M10 6.200v.2',
  bin: 'M4 6h12M8 6V4h4v2M6 6l.7 10h6.600L14 6',
  up: 'm5 12 5-5 5 5',
  down: 'm5 8 5 5 5-5',
  left: 'm12 5-5 5 5 5',
  right: 'm8 5 5 5-5 5',
  snap: 'M3 5l7 8 7-8M10 13v4M7.500 16.500h5',
  plus: 'M10 4v12M4 10h12',
  minus: 'M4 10h12',
  whole: 'M3 8V3h5M17 8V3h-5M3 12v5h5M17 12v5h-5',
  phone: 'M6.500 2.500h7v15h-7zM9 15h2',
  load: 'M10 3v9M6 8.500l4 4 4-4M4 16h12',
  open: 'M11 4h5v5M16 4l-7 7M13 12v4H4V7h4',
};

export function glyph(name) {
  return svg('svg.glyph', {viewBox: '0 0 20 20', 'aria-hidden': 'true'}, svg('path', {d: GLYPHS[name]}));
}

// The desk's sentences are made for many places; here each stands alone: it begins large and ends with a stop.
export function whole(text) {
  const own = inTerms(text);
  const large = /^\p{Ll}+[ ,:]/u.test(own) ? raised(own) : own;
  return /[.?!]$/.test(large) || !/\s/.test(large) ? large : `${large}.`;
}

// Something that takes a while is being done.
export function working(text) {
  return el('p.working', {role: 'status'}, el('span.turning', {'aria-hidden': 'true'}), text);
}

// A sentence in a box. kind: "tell", "look" (needs a look) or "good"; sign and wording differ too, not only the colour.
export function sentence(kind, ...content) {
  return el(`div.says.${kind}`, {}, glyph(kind), el('div', {}, ...content.map((part) => (typeof part === 'string' && part.trim() ? whole(part) : part))));
}

export function iconButton(icon, label, onclick, more = {}) {
  return el('button.quiet', {type: 'button', 'aria-label': label, title: label, onclick, ...more}, glyph(icon));
}

// The one way on. href: a page to open, or a file to fetch, once `act` was called.
export function mainButton({text, act, href, isBusy = false, key = 'onward', icon = 'right'}) {
  const shared = {'data-key': key, onclick: act};
  return href
    ? el('a.button.main', {...shared, href}, text, glyph(icon))
    : el('button.main', {...shared, type: 'button', disabled: Boolean(isBusy)}, text, glyph(icon));
}

export function choice(options, value, attributes) {
  const select = el(
    'select',
    attributes,
    options.map(([key, text]) => el('option', {value: key, selected: key === value}, text)),
  );
  select.value = value;
  return select;
}

// A drag is heard at `element`, which stays while the drawing in it is made anew: a grip that is replaced would lose its pointer.
export function follow(element, pointerId, {onMove, onUp}) {
  const over = new AbortController();
  const only = (act) => (event) => event.pointerId === pointerId && act(event);
  const end = only(() => {
    over.abort();
    onUp();
  });
  element.setPointerCapture(pointerId);
  element.addEventListener('pointermove', only(onMove), {signal: over.signal});
  for (const kind of ['pointerup', 'pointercancel']) element.addEventListener(kind, end, {signal: over.signal});
}
