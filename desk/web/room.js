// Step "Room": doors, pipes, corners believed square, parts that stay bare.

import {el, refill, say, sentence, choice, glyph, iconButton} from './dom.js';
import {lengthField} from './lengthfield.js';
import {RoomPlan} from './roomplan.js';
import {nextNumbered, pointNames, wallKey, wallOf, wallOptions} from './names.js';

export function create(ctx) {
  const {store} = ctx;
  const doors = el('section.card', {'aria-label': 'Doors'});
  const pipes = el('section.card', {'aria-label': 'Pipes'});
  const squares = el('section.card', {'aria-label': 'Square corners'});
  const bare = el('section.card', {'aria-label': 'Parts not covered'});
  const plan = new RoomPlan(ctx);
  const element = el(
    'div',
    {},
    el('h1', {}, 'What stands in the room'),
    el('p.lead', {}, 'Only what applies. A plain room needs nothing here.'),
    el('div.two', {}, el('div', {}, plan.element, squares, bare), el('div', {}, doors, pipes)),
    el('div.foot', {}, el('button.main', {type: 'button', onclick: () => ctx.go('boards')}, 'On to the boards')),
  );

  const show = () => store.job.show ?? 'metric';

  // Doors -------------------------------------------------------------------------

  function doorItem(door, i) {
    const field = (key, label, value, put, more = {}) =>
      lengthField({
        ...more,
        label,
        value,
        show: show(),
        key: `door-${i}-${key}`,
        isSmall: key === 'casing-thickness',
        onLength: (mm) => store.change(`changed ${door.name}`, (job) => put(job.doors[i], mm)),
      });
    const casing = (part) => (entry, mm) => {
      entry.casing = {width: 60, thickness: 15, ...entry.casing, [part]: mm};
    };
    return el(
      'li.thing',
      {},
      el(
        'div.thing-head',
        {},
        el('b', {}, `Door ${door.name}`),
        choice(wallOptions(store.job, [door.wall]), wallKey(door.wall), {
          'aria-label': `Wall of ${door.name}`,
          'data-key': `door-${i}-wall`,
          onchange: (event) =>
            store.change(`moved ${door.name}`, (job) => {
              job.doors[i].wall = wallOf(event.target.value);
            }),
        }),
        iconButton(
          'bin',
          `Remove ${door.name}`,
          () =>
            store.change(`removed ${door.name}`, (job) => {
              job.doors.splice(i, 1);
            }),
          {'data-key': `door-${i}-bin`},
        ),
      ),
      el(
        'div.fields',
        {},
        field('from', `From corner ${door.wall[0]}`, door.from, (entry, mm) => {
          entry.from = mm;
        }).element,
        field('width', 'Opening width', door.width, (entry, mm) => {
          entry.width = mm;
        }).element,
        field(
          'reveal',
          'Opening depth',
          door.reveal ?? null,
          (entry, mm) => {
            if (mm === null) delete entry.reveal;
            else entry.reveal = mm;
          },
          {clearable: true, why: 'From the wall to the middle of the threshold strip, under the closed door. Empty: the boards stop at the wall.'},
        ).element,
        field('casing-width', 'Casing width', door.casing?.width ?? null, casing('width')).element,
        field('casing-thickness', 'Casing thickness', door.casing?.thickness ?? null, casing('thickness')).element,
      ),
    );
  }

  function addDoor() {
    const [first] = wallOptions(store.job);
    const name = nextNumbered('D', new Set((store.job.doors ?? []).map((door) => door.name)));
    store.change(`added door ${name}`, (job) => {
      job.doors = [...(job.doors ?? []), {name, wall: wallOf(first[0]), from: 300, width: 800}];
    });
    say(`Door ${name} added. Drag it to its place on the plan, or choose its wall and type where it begins.`);
  }

  function fillDoors() {
    const options = wallOptions(store.job);
    refill(
      doors,
      el('h2', {}, 'Doors'),
      el('p', {}, 'The casing (architrave) is the trim round a door. It is cut short so that boards slip under it; the booklet says how high.'),
      el('ul', {}, (store.job.doors ?? []).map(doorItem)),
      options.length
        ? el('button', {type: 'button', 'data-key': 'add-door', onclick: addDoor}, glyph('plus'), 'Add a door')
        : sentence('tell', 'Walls come with the corners: mark three or more first.'),
    );
  }

  // Pipes -------------------------------------------------------------------------

  function pipeItem(pipe, i) {
    const placed = (store.job.photos ?? []).some((photo) => (photo.marks ?? []).some((mark) => mark.point === pipe.name));
    const offsets = (store.job.tape ?? []).filter((entry) => entry.point === pipe.name || entry.between?.includes(pipe.name)).length;
    const where =
      placed || offsets
        ? `${placed ? 'marked in a photo' : ''}${placed && offsets ? ', ' : ''}${offsets ? `${offsets} tape length${offsets > 1 ? 's' : ''}` : ''}`
        : 'not placed yet';
    return el(
      'li.thing',
      {},
      el(
        'div.thing-head',
        {},
        el('span', {}, el('b', {}, `Pipe ${pipe.name}`), ' ', el('span.why', {}, where)),
        iconButton(
          'bin',
          `Remove pipe ${pipe.name}`,
          () =>
            store.change(`removed pipe ${pipe.name}`, (job) => {
              job.pipes.splice(i, 1);
            }),
          {'data-key': `pipe-${i}-bin`},
        ),
      ),
      el(
        'div.fields.one',
        {},
        lengthField({
          label: 'Outside diameter',
          value: pipe.diameter,
          show: show(),
          key: `pipe-${i}-d`,
          isSmall: true,
          onLength: (mm) =>
            store.change(`changed ${pipe.name}`, (job) => {
              job.pipes[i].diameter = mm;
            }),
        }).element,
      ),
      el(
        'div.row',
        {},
        el(
          'button',
          {type: 'button', 'data-key': `pipe-${i}-photo`, onclick: () => ctx.go('corners', {point: pipe.name})},
          'Mark its centre in a photo',
        ),
        el('button', {type: 'button', 'data-key': `pipe-${i}-tape`, onclick: () => ctx.go('tape', {off: pipe.name})}, 'Tape it off two walls'),
      ),
    );
  }

  // A radiator is two pipes to the floor: one change, so one undo takes it out again.
  function addPipes(count, what) {
    const names = [];
    const taken = new Set(pointNames(store.job));
    while (names.length < count) {
      names.push(nextNumbered('P', taken));
      taken.add(names.at(-1));
    }
    store.change(`added ${what} ${names.join(' and ')}`, (job) => {
      job.pipes = [...(job.pipes ?? []), ...names.map((name) => ({name, diameter: 15}))];
    });
    say(count === 1 ? `Pipe ${names[0]} added, 15 mm across. Now say where it is.` : `Pipes ${names.join(' and ')} added, 15 mm across. Now say where they are.`);
  }

  function fillPipes() {
    refill(
      pipes,
      el('h2', {}, 'Pipes'),
      el(
        'p',
        {},
        'Radiator pipes and the like. The hole is drilled larger than the pipe, by the gap all round. A radiator that stands on feet is a part that stays bare.',
      ),
      el('ul', {}, (store.job.pipes ?? []).map(pipeItem)),
      el(
        'div.row',
        {},
        el('button', {type: 'button', 'data-key': 'add-pipe', onclick: () => addPipes(1, 'pipe')}, glyph('plus'), 'Add a pipe'),
        el('button', {type: 'button', 'data-key': 'add-radiator', onclick: () => addPipes(2, "a radiator's pipes")}, glyph('plus'), "Add a radiator's two pipes"),
      ),
    );
  }

  // Hints and bare parts -------------------------------------------------------------

  function fillSquares() {
    const toggle = (name, on) =>
      store.change(`${on ? 'called' : 'no longer called'} ${name} square`, (job) => {
        job.square = [...(job.square ?? []).filter((other) => other !== name), ...(on ? [name] : [])];
      });
    refill(
      squares,
      el('h2', {}, 'Square corners'),
      el('p', {}, 'Tick a corner only if you tried it with a set square; most rooms are not quite square.'),
      el(
        'div.picks',
        {role: 'group', 'aria-label': 'Corners believed square'},
        (store.job.outline ?? []).map((name) =>
          el(
            'label.pick',
            {},
            el('input', {
              type: 'checkbox',
              checked: (store.job.square ?? []).includes(name),
              'data-key': `square-${name}`,
              onchange: (event) => toggle(name, event.target.checked),
            }),
            name,
          ),
        ),
      ),
    );
  }

  function fillBare() {
    const input = el('input', {type: 'text', id: 'bare-corners', autocomplete: 'off', placeholder: 'H1 H2 H3 H4', 'data-key': 'bare-corners'});
    const add = (event) => {
      const box = event.currentTarget.parentNode.querySelector('input');
      const corners = box.value
        .toUpperCase()
        .split(/[\s,]+/)
        .filter(Boolean);
      if (corners.length < 3 || new Set(corners).size < corners.length) {
        say('Name three or more different points, in order round the part.');
        return;
      }
      box.value = '';
      const name = nextNumbered('bare part ', new Set((store.job.islands ?? []).map((island) => island.name)));
      store.change(`added ${name}`, (job) => {
        job.islands = [...(job.islands ?? []), {name, corners}];
      });
      say(`Added. Mark ${corners.join(', ')} in the photos, or tape them.`);
    };
    refill(
      bare,
      el('h2', {}, 'Parts that stay bare'),
      el('p', {}, 'A hearth or a column inside the room. Name its corners here, then mark them in the photos.'),
      el(
        'ul',
        {},
        (store.job.islands ?? []).map((island, i) =>
          el(
            'li.thing-head',
            {},
            el('b', {}, island.name),
            el('span', {}, island.corners.join(', ')),
            iconButton(
              'bin',
              `Remove ${island.name}`,
              () =>
                store.change(`removed ${island.name}`, (job) => {
                  job.islands.splice(i, 1);
                }),
              {'data-key': `bare-${i}`},
            ),
          ),
        ),
      ),
      el(
        'div.field',
        {},
        el('label', {for: 'bare-corners'}, 'Its corners in order'),
        el('div.row', {}, input, el('button', {type: 'button', 'data-key': 'add-bare', onclick: add}, 'Add')),
      ),
    );
  }

  function update() {
    plan.update();
    fillDoors();
    fillPipes();
    fillSquares();
    fillBare();
  }

  return {element, update};
}
