// A container brought to a new content without tearing down what is the same: an element that stays keeps the keyboard, what is typed or
// selected in it, an open list, a button half pressed. Only what differs is touched, whenever an answer of the desk comes.

let patching = false;

// Whether a container is being changed at this moment: a box that loses the keyboard by that was not left by the person.
export function isRefilling() {
  return patching;
}

// One listener a kind of event, which runs whatever handler the element has by now.
function run(event) {
  return this.handlers[event.type]?.call(this, event);
}

export function listen(node, type, handler) {
  node.handlers ??= {};
  if (!(type in node.handlers)) node.addEventListener(type, run);
  node.handlers[type] = handler;
}

// Fill a container with new content. An element is the same as before if its kind and its data-key (or `identity`) are.
export function refill(container, ...children) {
  const focused = container.contains(document.activeElement) ? document.activeElement : null;
  const keys = focused ? [...container.querySelectorAll('[data-key]')].map((node) => node.dataset.key) : [];
  const key = focused?.closest('[data-key]')?.dataset.key;
  const was = patching;
  patching = true;
  patchChildren(container, children.flat(Infinity).filter((child) => child || child === 0));
  patching = was;
  if (focused?.isConnected && focused.matches(':disabled')) lend(container, key);
  else if (focused && document.activeElement !== focused) refocus(container, key, keys);
  else giveBack();
}

// A button that cannot be pressed for a while lends the keyboard to its step, and has it back when it can be pressed again, or the main button
// that took its place, unless the person has gone on by then. Its neighbours do not get it: the next key pressed is not meant for them.
let lent = null;

function lend(container, key) {
  const step = toStep(container);
  lent = step && key ? {step, key} : null;
}

function giveBack() {
  if (!lent) return;
  const node = document.activeElement === lent.step ? (lent.step.querySelector(`[data-key="${CSS.escape(lent.key)}"]`) ?? lent.step.querySelector('.main')) : null;
  if (node?.matches(':disabled')) return;
  lent = null;
  node?.focus({preventScroll: true});
}

// The focused element itself went, or was moved: the one that took its place has its key. If there is none, what followed it takes the
// keyboard, or what stood before it, or the whole step: who works without a mouse is not sent back to the page's top.
function refocus(container, key, keys) {
  const at = keys.indexOf(key);
  const order = at < 0 ? [] : [key, ...keys.slice(at + 1), ...keys.slice(0, at).reverse()];
  for (const next of order) {
    const node = container.querySelector(`[data-key="${CSS.escape(next)}"]:not(:disabled)`);
    node?.focus({preventScroll: true});
    if (node && document.activeElement === node) return;
  }
  toStep(container);
}

// The step a container stands in, which has the keyboard now.
function toStep(container) {
  const step = container.closest('[tabindex]');
  step?.focus({preventScroll: true});
  return step;
}

// Attributes that tell what the person did: an unfolded part, a box in which something was typed.
const ITS_OWN = ['open', 'data-dirty'];

const nameOf = (node) => `${node.nodeName} ${node.dataset?.key ?? node.identity ?? ''}`;

function patchChildren(parent, wanted) {
  const old = new Map();
  for (const node of parent.childNodes) {
    const name = nameOf(node);
    old.set(name, [...(old.get(name) ?? []), node]);
  }
  let place = parent.firstChild;
  for (const child of wanted) {
    const next = typeof child === 'string' || typeof child === 'number' ? document.createTextNode(child) : child;
    const node = next.parentNode === parent ? next : match(old, next);
    if (node === place) place = place.nextSibling;
    else parent.insertBefore(node, place);
    forget(old, node);
  }
  for (const nodes of old.values()) for (const node of nodes) if (node.parentNode === parent) node.remove();
}

// The old node brought to what the new one is, if there is one like it; else the new one.
function match(old, next) {
  const node = old.get(nameOf(next))?.[0];
  if (!node) return next;
  patchNode(node, next);
  return node;
}

function forget(old, node) {
  const name = nameOf(node);
  if (old.has(name)) old.set(name, old.get(name).filter((other) => other !== node));
}

function patchNode(node, next) {
  if (node.nodeType === Node.TEXT_NODE) {
    if (node.data !== next.data) node.data = next.data;
    return;
  }
  if (node.adopt) {
    node.adopt(next);
    return;
  }
  patchAttributes(node, next);
  for (const type of Object.keys(node.handlers ?? {})) if (!next.handlers?.[type]) node.handlers[type] = undefined;
  for (const [type, handler] of Object.entries(next.handlers ?? {})) listen(node, type, handler);
  if (next.place) node.place = next.place;
  patchChildren(node, [...next.childNodes]);
  patchState(node, next);
}

function patchAttributes(node, next) {
  for (const {name} of [...node.attributes]) if (!next.hasAttribute(name) && !ITS_OWN.includes(name)) node.removeAttribute(name);
  for (const {name, value} of next.attributes) {
    if (node.getAttribute(name) === value || ITS_OWN.includes(name)) continue;
    node.setAttribute(name, value);
    if (name === 'value' && node.tagName === 'INPUT' && !node.dataset.dirty) node.value = value;
  }
}

// What a person may have changed since: it is set only where it differs from what is wanted.
function patchState(node, next) {
  if (node.tagName === 'INPUT' && ['radio', 'checkbox'].includes(node.type)) node.checked = next.checked;
  if (node.tagName === 'SELECT' && node.value !== next.value) node.value = next.value;
}
