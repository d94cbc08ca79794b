// Step "Room": the plan with what stands in the room, doors, corners believed square; beside them pipes and parts that stay bare.

import {el, refill, say, sentence, choice, glyph, iconButton} from '../common/dom.js';
import {lengthField} from '../fields/lengthfield.js';
import {BareParts} from './roombare.js';
import {RoomPlan} from './roomplan.js';
import {Pipes} from './roompipes.js';
import {typedWrong} from '../fields/typed.js';
import {nextNumbered, wallKey, wallName, wallOf, wallOptions} from '../common/names.js';
import {gettext} from '../common/words.js';

export function create(ctx) {
  const {store} = ctx;
  const doors = el('section.card', {'aria-label': gettext('Doors')});
  const squares = el('section.card', {'aria-label': gettext('Square corners')});
  const plan = new RoomPlan(ctx);
  const pipes = new Pipes(ctx, plan);
  const bare = new BareParts(ctx, plan);
  const element = el(
    'div',
    {},
    el('h1', {}, gettext('What stands in the room')),
    el('p.lead', {}, gettext('Only what applies. A plain room needs nothing here.')),
    el('div.two', {}, el('div', {}, plan.element, squares, bare.element), el('div', {}, doors, pipes.element)),
    el(
      'div.foot',
      {},
      el('button', {type: 'button', 'data-key': 'to-closeups', onclick: () => ctx.go('closeups')}, gettext('Measure a casing or pipe in a photo')),
    ),
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
        isSmall: ['casing-thickness', 'next-floor'].includes(key),
        onLength: (mm) => store.change(gettext('changed {name}', {name: door.name}), (job) => put(job.doors[i], mm)),
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
        el('b', {}, gettext('Door {name}', {name: door.name})),
        choice(wallOptions(store.job, [door.wall]), wallKey(door.wall), {
          'aria-label': gettext('Wall of {name}', {name: door.name}),
          'data-key': `door-${i}-wall`,
          onchange: (event) =>
            store.change(gettext('moved {name}', {name: door.name}), (job) => {
              job.doors[i].wall = wallOf(event.target.value);
            }),
        }),
        iconButton(
          'bin',
          gettext('Remove {name}', {name: door.name}),
          () =>
            store.change(gettext('removed {name}', {name: door.name}), (job) => {
              job.doors.splice(i, 1);
            }),
          {'data-key': `door-${i}-bin`},
        ),
      ),
      misfit(door),
      el(
        'div.fields',
        {},
        field('from', gettext('From corner {name}', {name: door.wall[0]}), door.from, (entry, mm) => {
          entry.from = mm;
        }).element,
        field('width', gettext('Opening width'), door.width, (entry, mm) => {
          entry.width = mm;
        }).element,
        field(
          'reveal',
          gettext('Opening depth'),
          door.reveal ?? null,
          (entry, mm) => {
            if (mm === null) delete entry.reveal;
            else entry.reveal = mm;
          },
          {clearable: true, why: gettext('From the wall to the middle of the threshold strip, under the closed door. Empty: the boards stop at the wall.')},
        ).element,
        field(
          'next-floor',
          gettext('Floor next door'),
          door.next_floor ?? null,
          (entry, mm) => {
            if (mm === null) delete entry.next_floor;
            else entry.next_floor = mm;
          },
          {clearable: true, why: gettext('How high the floor behind the door lies over the bare floor here. It tells which strip covers the gap.')},
        ).element,
        field('casing-width', gettext('Casing width'), door.casing?.width ?? null, casing('width')).element,
        field('casing-thickness', gettext('Casing thickness'), door.casing?.thickness ?? null, casing('thickness')).element,
      ),
    );
  }

  // A door longer than what is left of its wall: put on another one by a tap.
  function misfit(door) {
    const {survey} = ctx;
    if (survey.state !== 'ok' || survey.revision !== store.revision) return [];
    const button = (name, wall) =>
      el(
        'button.quiet.inline',
        {type: 'button', 'data-key': `mend-door-${name}-${wall.join('-')}`, onclick: () => putOn(name, wall)},
        gettext('It is on {wall}', {wall: wallName(wall)}),
      );
    return survey.shown.misfits
      .filter(({name}) => name === door.name)
      .map(({name, says, walls}) => sentence('look', says, ' ', el('span.choices', {}, walls.map((wall) => button(name, wall)))));
  }

  function putOn(name, wall) {
    store.change(gettext('moved {name}', {name}), (job) => {
      job.doors.find((door) => door.name === name).wall = wall;
    });
  }

  function addDoor() {
    const [first] = wallOptions(store.job);
    const name = nextNumbered('D', new Set((store.job.doors ?? []).map((door) => door.name)));
    store.change(gettext('added door {name}', {name}), (job) => {
      job.doors = [...(job.doors ?? []), {name, wall: wallOf(first[0]), from: 300, width: 800}];
    });
    say(gettext('Door {name} added. Drag it to its place on the plan, or choose its wall and type where it begins.', {name}));
  }

  function fillDoors() {
    const options = wallOptions(store.job);
    refill(
      doors,
      el('h2', {}, gettext('Doors')),
      el('p', {}, gettext('The casing (architrave) is the trim round a door. It is cut short so that boards slip under it; the booklet says how high.')),
      el('ul', {}, (store.job.doors ?? []).map(doorItem)),
      typedWrong(store, ['doors']),
      options.length
        ? el('button', {type: 'button', 'data-key': 'add-door', onclick: addDoor}, glyph('plus'), gettext('Add a door'))
        : sentence('tell', gettext('Walls come with the corners: mark three or more first.')),
    );
  }

  // Hints ---------------------------------------------------------------------------

  function fillSquares() {
    const toggle = (name, on) =>
      store.change(on ? gettext('called {name} square', {name}) : gettext('no longer called {name} square', {name}), (job) => {
        job.square = [...(job.square ?? []).filter((other) => other !== name), ...(on ? [name] : [])];
      });
    refill(
      squares,
      el('h2', {}, gettext('Square corners')),
      el('p', {}, gettext('Tick a corner only if you tried it with a set square; most rooms are not quite square.')),
      el(
        'div.picks',
        {role: 'group', 'aria-label': gettext('Corners believed square')},
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

  function update() {
    plan.update();
    fillDoors();
    pipes.update();
    fillSquares();
    bare.update();
  }

  return {element, update};
}
