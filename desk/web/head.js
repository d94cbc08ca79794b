// The page's head: the room's name, undo and redo, and whether everything is saved.

import {el, glyph, say} from './common/dom.js';
import {keep} from './common/kept.js';
import {gettext} from './common/words.js';

const main = document.getElementById('work');
const [undo, redo, title, saved, notice] = ['undo', 'redo', 'title', 'saved', 'notice'].map((id) => document.getElementById(id));
const SAVED_WORDS = {saved: gettext('Saved'), saving: gettext('Saving'), conflict: gettext('Not saved'), refused: gettext('Not saved'), silent: gettext('Not saved')};

export function drawHead(store) {
  const held = [undo, redo].find((button) => button === document.activeElement);
  undo.disabled = !store.undoable;
  redo.disabled = !store.redoable;
  if (held?.disabled) main.focus({preventScroll: true});
  undo.title = store.undoable ? gettext('Undo: {what}', {what: store.undoable}) : gettext('Nothing to undo');
  redo.title = store.redoable ? gettext('Redo: {what}', {what: store.redoable}) : gettext('Nothing to redo');
  if (document.activeElement !== title) title.value = store.job.title ?? '';
  title.title = store.job.title ?? '';
}

export function drawSaved(store) {
  const isWell = ['saved', 'saving'].includes(store.state);
  saved.textContent = SAVED_WORDS[store.state];
  saved.classList.toggle('worry', !isWell);
  notice.hidden = isWell;
  if (isWell) return;
  notice.replaceChildren(
    el('span', {}, store.trouble),
    store.state === 'conflict' ? el('button', {type: 'button', onclick: () => location.reload()}, gettext('Load the newer one')) : '',
    el('button', {type: 'button', onclick: () => keepCopy(store)}, gettext('Download a copy of mine')),
  );
}

function keepCopy(store) {
  const href = URL.createObjectURL(new Blob([JSON.stringify(store.job, null, 1)], {type: 'application/json'}));
  el('a', {href, download: 'job-copy.json'}).click();
  setTimeout(() => URL.revokeObjectURL(href), 10000);
}

// Names of earlier rooms are offered while one is typed.
function offerNames(store) {
  document.getElementById('names').replaceChildren(...(store.settings?.names ?? []).map((value) => el('option', {value})));
}

// rename(name): the title was typed anew.
export function listenToHead(store, rename = (name) => renameRoom(store, name || gettext('My room'))) {
  offerNames(store);
  offerWayBack(store);
  store.addEventListener('kept', () => offerNames(store));
  title.addEventListener('change', (event) => rename(event.target.value.trim()));
  undo.addEventListener('click', () => tell(store.undo(), (what) => gettext('Undone: {what}.', {what})));
  redo.addEventListener('click', () => tell(store.redo(), (what) => gettext('Done again: {what}.', {what})));
  addEventListener('keydown', pressByKey);
}

// A room of a flat has a way back to all of them; not before everything is saved, for what is drawn there is read from the disk.
function offerWayBack(store) {
  if (!store.flat) return;
  const leave = (event) => {
    if (store.state !== 'saving') return;
    event.preventDefault();
    store.addEventListener('saved', () => location.assign('/'), {once: true});
  };
  const words = gettext('Back to all rooms: {flat}', {flat: store.flat});
  title.before(
    el('a.button.quiet.way-back', {href: '/', title: words, 'aria-label': words, 'data-key': 'all-rooms', onclick: leave}, glyph('left'), el('span', {}, gettext('All rooms'))),
  );
}

function renameRoom(store, name) {
  if (name === store.job.title) return;
  keep(store, {name});
  store.change(gettext('renamed the room'), (job) => {
    job.title = name;
  });
}

function tell(label, words) {
  if (label) say(words(label));
}

function pressByKey(event) {
  if (!(event.ctrlKey || event.metaKey) || /^(INPUT|SELECT|TEXTAREA)$/.test(event.target.tagName)) return;
  const key = event.key.toLowerCase();
  const button = key === 'z' ? (event.shiftKey ? redo : undo) : key === 'y' ? redo : null;
  if (!button) return;
  event.preventDefault();
  button.click();
}
