// Beside step "Room": casings and pipes measured in a photo from above, with a sheet or card of known size beside them.

import {ask, work} from '../common/api.js';
import {el, glyph, refill, say, sentence} from '../common/dom.js';
import {closeupMarks, meanings, moveTap, putTap, removeTap} from './closeupmarks.js';
import {answersCard, questionCard, questionOf, resultCard} from './closeupquestions.js';
import {wallKey, wallOf} from '../common/names.js';
import {picture} from '../common/pictures.js';
import {Stage} from '../corners/stage.js';
import {gettext, ngettext} from '../common/words.js';

export function create(ctx) {
  const {store} = ctx;
  let number = 0;
  let kind = ''; // what a tap means
  let wall = ''; // whose floor line is tapped
  let held = []; // taps that mean something only together
  let selected = '';
  let onStage = '';
  let told = null; // {revision, number, shown} or {..., says}
  let asking = false;
  let isTaps = false; // every question before the taps is answered

  const entries = (job = store.job) => job.closeups ?? [];
  const current = (job = store.job) => entries(job)[number];
  const isPipe = (entry) => (store.job.pipes ?? []).some(({name}) => name === entry?.of);
  const door = (entry) => (store.job.doors ?? []).find(({name}) => name === entry?.of);
  const change = (label, edit) => store.change(label, (job) => edit(current(job), job));
  const shown = () => (told?.number === number && told.file === current()?.file ? told.shown : null);

  const stage = new Stage({
    tapsPlace: true,
    onPlace: tap,
    onDrag: () => {},
    onMove: move,
    onNudge: (mark, dx, dy) => move(mark, mark.x + dx, mark.y + dy),
    onSnap: () => say(gettext('Lines are laid onto the edges in the photo by themselves.')),
    onSelect: (mark) => {
      selected = mark.key;
      draw();
    },
    onDelete: remove,
    onEscape: () => {
      selected = '';
      held = [];
      draw();
    },
  });
  const input = el('input.hidden', {
    type: 'file',
    id: 'pick-closeup',
    accept: 'image/jpeg,image/png,image/heic,image/heif,.heic,.heif',
    onchange: () => {
      take(input.files[0]);
      input.value = '';
    },
  });
  const trouble = el('div', {'aria-live': 'polite'});
  const list = el('div.picks', {role: 'group', 'aria-label': gettext('Close-ups')});
  const panel = el('div.closeup-panel');
  const bench = el('div.closeup', {}, el('div', {}, stage.element), panel);
  const element = el(
    'div',
    {},
    el('h1', {}, gettext('Close-ups')),
    el('p.lead', {}, gettext('Lay an A4 or Letter sheet, or a card, flat on the floor right beside the casing or pipe. Take the photo from above, sheet and all.')),
    el('div.closeup-top', {}, list, input, el('label.drop', {for: 'pick-closeup'}, glyph('plus'), el('span', {}, el('b', {}, gettext('Add a close-up photo'))))),
    trouble,
    bench,
  );

  async function take(file) {
    trouble.replaceChildren();
    if (!file) return;
    say(gettext('Taking in the photo.'));
    try {
      const noted = await ask('POST', `/api/photos?name=${encodeURIComponent(file.name)}`, {
        body: file,
        headers: {'Content-Type': 'application/octet-stream'},
      });
      const things = subjects();
      number = entries().length;
      begin();
      store.change(gettext('added a close-up'), (job) => {
        job.closeups = [...entries(job), {file: noted.file, ...(things.length === 1 ? {of: things[0][0]} : {})}];
      });
      say(gettext('Close-up added.'));
    } catch (error) {
      trouble.append(sentence('look', error.says ?? error.message));
    }
  }

  // Taps -------------------------------------------------------------------------

  function tap(x, y) {
    if (!isTaps) {
      say(gettext('First answer the question beside the photo.'));
      return;
    }
    if (kind === 'wall' && !wall) {
      say(gettext('Choose the wall first.'));
      return;
    }
    const before = new Set(closeupMarks(current(), held).map(({key}) => key));
    held = putTap((edit) => change(gettext('tapped in a close-up'), edit), kind, wall && wallOf(wall), held, {x, y});
    if (kind === 'corners' && !held.length) kind = '';
    // The tap just made can be taken back at once.
    selected = closeupMarks(current(), held).find(({key}) => !before.has(key))?.key ?? '';
    say(held.length ? ngettext('{count} tapped, more to come.', '{count} tapped, more to come.', held.length) : gettext('Noted.'));
    update();
  }

  function move(mark, x, y) {
    if (mark.part === 'held') {
      held[mark.where[0]] = [x, y];
      draw();
    } else change(gettext('moved {name}', {name: mark.name}), (entry) => moveTap(entry, mark, x, y));
  }

  function remove(mark) {
    selected = '';
    if (mark.part === 'held') {
      held = [];
      draw();
    } else change(gettext('removed {name}', {name: mark.name}), (entry) => removeTap(entry, mark));
  }

  // What came of it --------------------------------------------------------------

  async function measure() {
    if (asking || !element.isConnected || !current() || store.state !== 'saved') return;
    if (told?.revision === store.revision && told.number === number) return;
    asking = true;
    const asked = {revision: store.revision, number, file: current().file};
    update();
    try {
      told = {...asked, shown: (await work('closeups', {number})).shown};
    } catch (error) {
      told = {...asked, shown: null, says: error.says ?? error.message};
    }
    asking = false;
    update();
    measure(); // whatever was changed meanwhile
  }

  async function keep() {
    try {
      const {kept} = await work('closeups', {number, keep: true});
      store.change(gettext('kept what the close-up of {name} tells', {name: current().of}), (job) => Object.assign(job, kept));
      say(gettext('Kept. The plan and traced.pdf of the pack are made with it.'));
    } catch (error) {
      trouble.replaceChildren(sentence('look', error.says ?? error.message));
    }
  }

  // Drawing ----------------------------------------------------------------------

  function draw() {
    const entry = current();
    const marks = closeupMarks(entry, held);
    const now = shown();
    const corners = now?.reference?.corners;
    stage.draw({
      marks,
      lines: [
        ...(corners ? [{kind: 'known', points: [...corners, corners[0]]}] : []),
        ...(now?.seen ?? []).map((points) => ({kind: 'traced', points})),
      ],
      ghosts: [],
      selected,
      target: kind, // a tap close beside a mark is a new one
    });
    const mark = marks.find(({key}) => key === selected);
    stage.offer(
      mark
        ? el('button.snapper', {type: 'button', 'data-key': 'untap', onclick: () => remove(mark)}, glyph('bin'), gettext('Remove {name}', {name: mark.name}))
        : el('span', {}, isTaps ? (meanings(isPipe(entry)).find(([key]) => key === kind)?.[2] ?? '') : gettext('First answer the question.')),
    );
  }

  function showPhoto(entry) {
    if (onStage === entry.file) return;
    const {file} = entry;
    onStage = file;
    picture(file).then(
      ({href, size}) => file === onStage && stage.show(href, size, gettext('Close-up {file}', {file})),
      (error) => trouble.replaceChildren(sentence('look', error.says ?? error.message)),
    );
  }

  function fillList() {
    refill(
      list,
      entries().map((entry, i) =>
        el('label.pick', {}, el('input', {type: 'radio', name: 'closeup', checked: i === number, 'data-key': `closeup-${i}`, onchange: () => choose(i)}), [
          `${i + 1}`,
          entry.of,
        ].filter(Boolean).join(': ')),
      ),
    );
  }

  // Another photo begins afresh: what a tap marks is what its thing needs first.
  function begin() {
    kind = selected = wall = '';
    held = [];
  }

  function choose(i) {
    number = i;
    begin();
    update();
    measure();
  }

  const subjects = () => [
    ...(store.job.doors ?? []).map(({name}) => [name, gettext('Casing of door {name}', {name})]),
    ...(store.job.pipes ?? []).map(({name}) => [name, gettext('Pipe {name}', {name})]),
  ];

  // A key of the entry, taken out where it says nothing; "no" is an answer too.
  function put(label, key, value) {
    change(label, (entry) => {
      if (value || value === false) entry[key] = value;
      else delete entry[key];
    });
    if (key === 'of') begin();
    update();
  }

  function drop() {
    store.change(gettext('removed a close-up'), (job) => {
      job.closeups.splice(number, 1);
      number = 0;
    });
    begin();
    update();
  }

  function mean(what) {
    kind = what;
    held = [];
    update();
    if (what === 'corners') say(gettext('Tap the four corners of the sheet or card.'));
  }

  function update() {
    number = Math.min(number, Math.max(entries().length - 1, 0));
    const entry = current();
    fillList();
    bench.hidden = !entry;
    if (!entry) return;
    kind ||= isPipe(entry) ? 'ring' : 'outline';
    if (!meanings(isPipe(entry)).some(([key]) => key === kind)) kind = isPipe(entry) ? 'ring' : 'outline';
    if (!wall && door(entry)) wall = wallKey(door(entry).wall);
    showPhoto(entry);
    const state = {
      entry,
      number,
      kind,
      wall,
      told,
      job: store.job,
      door: door(entry),
      now: shown(),
      subjects: subjects(),
      hasSubjects: subjects().length > 0,
      isPipe: isPipe(entry),
      isAsking: asking,
      isTapping: kind === 'corners',
    };
    const doing = {
      put,
      mean,
      keep,
      drop,
      go: ctx.go,
      along: (value) => {
        wall = value;
        update();
      },
    };
    isTaps = questionOf(state) === 'taps';
    refill(panel, [questionCard(state, doing), resultCard(state, doing), answersCard(state, doing)]);
    draw();
  }

  store.addEventListener('saved', measure);
  return {element, update, open: measure};
}
