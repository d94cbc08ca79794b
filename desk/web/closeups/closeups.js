// Beside step "Room": casings and pipes measured in a photo from above, with a sheet or card of known size beside them.

import {ask, work} from '../common/api.js';
import {choice, el, glyph, iconButton, refill, say, sentence, working} from '../common/dom.js';
import {closeupMarks, meanings, moveTap, putTap, removeTap} from './closeupmarks.js';
import {shapeDrawing} from './closeupshape.js';
import {lengthField} from '../fields/lengthfield.js';
import {wallKey, wallOf, wallOptions} from '../common/names.js';
import {picture} from '../common/pictures.js';
import {Stage} from '../corners/stage.js';

const THINGS = [
  ['', 'Let the tool find it'],
  ['a4', 'A4 sheet, 297 x 210 mm'],
  ['letter', 'Letter sheet, 11 x 8 1/2 in'],
  ['card', 'Bank-card-sized card'],
  ['target', 'Printed floor target'],
];

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

  const entries = (job = store.job) => job.closeups ?? [];
  const current = (job = store.job) => entries(job)[number];
  const isPipe = (entry) => (store.job.pipes ?? []).some(({name}) => name === entry?.of);
  const door = (entry) => (store.job.doors ?? []).find(({name}) => name === entry?.of);
  const change = (label, edit) => store.change(label, (job) => edit(current(job), job));
  const shown = () => (told?.number === number && told.file === current()?.file ? told.shown : null);

  const stage = new Stage({
    onPlace: tap,
    onDrag: () => {},
    onMove: move,
    onNudge: (mark, dx, dy) => move(mark, mark.x + dx, mark.y + dy),
    onSnap: () => say('Lines are laid onto the edges in the photo by themselves.'),
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
  const list = el('div.picks', {role: 'group', 'aria-label': 'Close-ups'});
  const panel = el('div.closeup-panel');
  const bench = el('div.closeup', {}, el('div', {}, stage.element), panel);
  const element = el(
    'div',
    {},
    el('h1', {}, 'Close-ups'),
    el('p.lead', {}, 'Lay an A4 or Letter sheet, or a card, flat on the floor right beside the casing or pipe. Take the photo from above, sheet and all.'),
    el('div.closeup-top', {}, list, input, el('label.drop', {for: 'pick-closeup'}, glyph('plus'), el('span', {}, el('b', {}, 'Add a close-up photo')))),
    trouble,
    bench,
    el('div.foot', {}, el('button', {type: 'button', onclick: () => ctx.go('room')}, 'Back to the room')),
  );

  async function take(file) {
    trouble.replaceChildren();
    if (!file) return;
    say('Taking in the photo.');
    try {
      const noted = await ask('POST', `/api/photos?name=${encodeURIComponent(file.name)}`, {
        body: file,
        headers: {'Content-Type': 'application/octet-stream'},
      });
      const first = store.job.doors?.[0]?.name ?? store.job.pipes?.[0]?.name;
      number = entries().length;
      store.change('added a close-up', (job) => {
        job.closeups = [...entries(job), {file: noted.file, ...(first ? {of: first} : {})}];
      });
      say('Close-up added. Say what it shows.');
    } catch (error) {
      trouble.append(sentence('look', error.says ?? error.message));
    }
  }

  // Taps -------------------------------------------------------------------------

  function tap(x, y) {
    if (kind === 'wall' && !wall) {
      say('Choose the wall first.');
      return;
    }
    held = putTap((edit) => change('tapped in a close-up', edit), kind, wall && wallOf(wall), held, {x, y});
    if (kind === 'corners' && !held.length) kind = '';
    selected = '';
    say(held.length ? `${held.length} tapped, more to come.` : 'Noted.');
    update();
  }

  function move(mark, x, y) {
    if (mark.part === 'held') {
      held[mark.where[0]] = [x, y];
      draw();
    } else change(`moved ${mark.name}`, (entry) => moveTap(entry, mark, x, y));
  }

  function remove(mark) {
    selected = '';
    if (mark.part === 'held') {
      held = [];
      draw();
    } else change(`removed ${mark.name}`, (entry) => removeTap(entry, mark));
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
      store.change(`kept what the close-up of ${current().of} tells`, (job) => Object.assign(job, kept));
      say('Kept. The plan and traced.pdf of the pack are made with it.');
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
        ? el('button', {type: 'button', 'data-key': 'untap', onclick: () => remove(mark)}, glyph('bin'), `Remove ${mark.name}`)
        : el('span', {}, meanings(isPipe(entry)).find(([key]) => key === kind)?.[2] ?? ''),
    );
  }

  function showPhoto(entry) {
    if (onStage === entry.file) return;
    const {file} = entry;
    onStage = file;
    picture(file).then(
      ({href, size}) => file === onStage && stage.show(href, size, `Close-up ${file}`),
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

  function choose(i) {
    number = i;
    kind = selected = wall = '';
    held = [];
    update();
    measure();
  }

  const subjects = () => [
    ['', 'Choose'],
    ...(store.job.doors ?? []).map(({name}) => [name, `Casing of door ${name}`]),
    ...(store.job.pipes ?? []).map(({name}) => [name, `Pipe ${name}`]),
  ];
  // A key of the entry, taken out where it says nothing.
  const put = (label, key) => (value) =>
    change(label, (entry) => {
      if (value) entry[key] = value;
      else delete entry[key];
    });
  const select = (label, key, options, value, onValue) =>
    el('label.field', {}, el('span', {}, label), choice(options, value ?? '', {'data-key': key, onchange: (event) => onValue(event.target.value)}));

  function subjectCard(entry) {
    const legs = [['', 'Choose'], ['left', 'Left, facing the door from inside'], ['right', 'Right, facing the door from inside']]; // prettier-ignore
    return el(
      'section.card',
      {'aria-label': 'What it shows'},
      el(
        'div.thing-head',
        {},
        el('h2', {}, 'What it shows'),
        iconButton('bin', `Take close-up ${number + 1} out`, () =>
          store.change('removed a close-up', (job) => {
            job.closeups.splice(number, 1);
            number = 0;
          }),
        ),
      ),
      subjects().length > 1
        ? select('Door or pipe', 'closeup-of', subjects(), entry.of, put('said what a close-up shows', 'of'))
        : sentence('tell', 'Put the door or pipe into the room first.'),
      door(entry) ? select('Which leg of the casing', 'closeup-leg', legs, entry.leg, put('said which leg it is', 'leg')) : null,
      door(entry)
        ? el(
            'label.pick',
            {},
            el('input', {
              type: 'checkbox',
              checked: Boolean(entry.mirror),
              'data-key': 'closeup-mirror',
              onchange: (event) => put('said whether the other leg is alike', 'mirror')(event.target.checked),
            }),
            'The other leg is its mirror image',
          )
        : null,
    );
  }

  function referenceCard(entry) {
    const now = shown();
    const thing = now?.reference;
    return el(
      'section.card',
      {'aria-label': 'Thing of known size'},
      el('h2', {}, 'Thing of known size'),
      select('What lies there', 'closeup-beside', THINGS, entry.beside, put('said what lies there', 'beside')),
      thing && !entry.beside ? sentence('tell', now.question || `Is the ${thing.says}, framed in the photo, what you laid there?`) : null,
      el(
        'div.foot',
        {},
        thing && !entry.beside
          ? el('button.main', {type: 'button', 'data-key': 'closeup-yes', onclick: () => put('said what lies there', 'beside')(thing.name)}, `Yes, ${thing.says}`)
          : null,
        entry.corners
          ? el('button', {type: 'button', 'data-key': 'closeup-forget', onclick: () => put('forgot the corners', 'corners')(null)}, 'Forget the four corners')
          : el('button', {type: 'button', 'data-key': 'closeup-corners', onclick: () => mean('corners')}, 'No: I tap its four corners'),
      ),
    );
  }

  function mean(what) {
    kind = what;
    held = [];
    update();
    if (what === 'corners') say('Tap the four corners of the sheet or card.');
  }

  function tapsCard(entry) {
    return el(
      'section.card',
      {'aria-label': 'What a tap marks'},
      el('h2', {}, 'What a tap marks'),
      el(
        'div.picks',
        {role: 'group', 'aria-label': 'What a tap marks'},
        meanings(isPipe(entry)).map(([key, text]) =>
          el('label.pick', {}, el('input', {type: 'radio', name: 'taps', checked: kind === key, 'data-key': `taps-${key}`, onchange: () => mean(key)}), text),
        ),
      ),
      kind === 'wall'
        ? select('Wall', 'closeup-wall', [['', 'Choose'], ...wallOptions(store.job)], wall, (value) => {
            wall = value;
            update();
          })
        : null,
      lengthField({
        label: 'Height above the floor',
        why: 'Only if you trace something higher than the floor, such as the top of a skirting.',
        value: entry.height ?? null,
        show: store.job.show ?? 'metric',
        key: 'closeup-height',
        clearable: true,
        isSmall: true,
        onLength: (mm) => put('typed a height', 'height')(mm),
      }).element,
    );
  }

  function resultCard() {
    const now = shown();
    return el(
      'section.card',
      {'aria-label': 'What the photo tells'},
      el('h2', {}, 'What the photo tells'),
      asking ? working('Measuring') : null,
      told?.says ? sentence('look', told.says) : null,
      now?.drawing ? el('div.shape-box', {}, shapeDrawing(now.drawing)) : null,
      ...(now?.says ?? []).map((text) => sentence(text === now.fault || text === now.question ? 'look' : 'tell', text)),
      now?.ready
        ? el(
            'div.foot',
            {},
            el('button.main', {type: 'button', 'data-key': 'closeup-keep', onclick: keep}, 'Keep it in the job'),
            el('button', {type: 'button', 'data-key': 'closeup-pack', onclick: () => ctx.go('pack')}, 'Print it: traced.pdf in the pack'),
          )
        : null,
      now ? el('p.caution', {}, now.caution) : null,
    );
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
    refill(panel, [subjectCard(entry), referenceCard(entry), tapsCard(entry), resultCard()]);
    draw();
  }

  store.addEventListener('saved', measure);
  return {element, update, open: measure};
}
