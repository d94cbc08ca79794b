// Step "Corners": tap the floor's corners in each photo.

import {el, refill, say, choice, sentence, glyph} from './dom.js';
import {Stage} from './stage.js';
import {nextName, pointNames, wallOf, wallOptions} from './names.js';
import {linesOf, markedPoints, marksOf, moveMark, putAlong, putPoint, removeMark, wallName} from './marks.js';
import {LiveFloor} from './livefloor.js';
import {fillOrder} from './order.js';
import {fillPicked} from './picked.js';
import {Snapper} from './snap.js';
import {strip, picture} from './pictures.js';

const NEW = '+';

export function create(ctx) {
  const {store} = ctx;
  let photo = ''; // file of the photo on the stage
  let placing = null; // point name, NEW, or null: choose the next one that is missing here
  let after = ''; // the corner a new one follows round the room; "" the last
  let mode = 'point'; // or "edge"
  let wall = '';
  let selected = '';
  let shown = '';
  let measure = null; // two points between which a length is to be taped next: shown in the photo

  const current = (job = store.job) => (job.photos ?? []).find((entry) => entry.file === photo);
  const marked = () => markedPoints(current());
  // Where the survey expects the points that are not marked in this photo yet.
  const ghosts = () => {
    const here = marked();
    const expected = ctx.survey.state === 'ok' ? (ctx.survey.shown.expected[photo] ?? {}) : {};
    return Object.entries(expected)
      .filter(([name]) => !here.has(name))
      .map(([name, [x, y]]) => ({name, x, y}));
  };
  // Marks of this photo that the survey doubts, with its sentence.
  const doubts = () => {
    const suspects = ctx.survey.state === 'ok' ? ctx.survey.answer.suspects : [];
    return new Map(
      suspects.filter((reading) => reading.kind === 'mark' && reading.photo === photo).map((reading) => [reading.between[0], reading.says]),
    );
  };
  const marksHere = () => {
    const doubted = doubts();
    return marksOf(current()).map((mark) =>
      doubted.has(mark.point) ? {...mark, doubt: true, label: `${mark.label} !`, name: `${mark.name}, to be checked`} : mark,
    );
  };
  const target = () => {
    if (placing) return placing;
    const here = marked();
    const missing = (store.job.outline ?? []).filter((name) => !here.has(name));
    const seen = new Set(ghosts().map(({name}) => name));
    // A slip of the finger on a later photo must not grow the room: there a new corner is asked for.
    const grows = (store.job.photos ?? []).every((entry) => entry.file === photo || !entry.marks?.length);
    return missing.find((name) => seen.has(name)) ?? missing[0] ?? (grows ? NEW : null);
  };

  const stage = new Stage({
    onPlace: (x, y) => (mode === 'edge' ? placeEdge(x, y) : placePoint(x, y)),
    onMove: (mark, x, y) => {
      live.settle();
      move(mark, x, y, `moved ${mark.name}`);
    },
    onDrag: (mark, x, y) => live.drag(photo, mark, x, y),
    onNudge: nudge,
    onSnap: (mark) => snapper.snap(mark),
    onSelect: (mark, isTap) => {
      selected = mark.key;
      update();
      const now = target();
      if (isTap && mode === 'point' && now) say(`This is ${mark.name}. To put ${spoken(now)} this close to it, zoom in first.`);
    },
    onDelete: remove,
    onEscape: () => {
      selected = '';
      update();
    },
  });

  const snapper = new Snapper({store, stage, here: () => ({file: photo, entry: current}), onChange: () => update()});

  function placePoint(x, y) {
    // A tap on an expected place means that point, unless another was chosen.
    let name = (placing ? null : stage.nearestGhost({x, y})?.name) ?? target();
    if (!name) {
      say('Every corner is marked in this photo. To add one, choose "new corner" first.');
      return;
    }
    const isNew = name === NEW;
    if (isNew) name = nextName(new Set(pointNames(store.job)));
    const moved = marked().has(name);
    store.change(moved ? `moved ${name}` : `placed ${name}`, (job) => {
      if (isNew) job.outline = insert(job.outline ?? [], name, after);
      putPoint(current(job), name, x, y);
    });
    placing = null;
    after = '';
    selected = `p:${name}`;
    update();
    say(moved ? `${name} moved.` : `${name} placed. ${target() === NEW ? 'Tap the next one.' : target() ? `Now ${target()}.` : 'Every corner is marked here.'}`);
  }

  function placeEdge(x, y) {
    if (!wall) {
      say('First choose the wall the points lie along.');
      return;
    }
    const pair = wallOf(wall);
    store.change(`placed a point along ${wallName(pair)}`, (job) => putAlong(current(job), pair, x, y));
    update();
    say(`Point along wall ${wallName(pair)} placed.`);
  }

  function move(mark, x, y, label) {
    const at = stage.inside({x, y});
    store.change(label, (job) => moveMark(current(job), mark, at.x, at.y));
    update();
  }

  function nudge(mark, dx, dy) {
    move(mark, mark.x + dx, mark.y + dy, `nudged ${mark.name}`);
  }

  function remove(mark) {
    store.change(`removed ${mark.name}`, (job) => removeMark(current(job), mark));
    selected = '';
    update();
    say(`${mark.name} removed from this photo.`);
  }

  // The panel --------------------------------------------------------------------

  const live = new LiveFloor(ctx);
  const strips = el('div.strip', {role: 'group', 'aria-label': 'Choose a photo'});
  const placer = el('section.card.placer', {'aria-label': 'What you are placing'});
  const picked = el('section.card', {'aria-label': 'The mark you selected', hidden: true});
  const order = el('section.card', {'aria-label': 'Order of the corners'});
  const element = el(
    'div.corners',
    {},
    el('h1.hidden', {}, 'Corners in the photos'),
    el('div.left', {}, strips, stage.element),
    el('div.panel', {}, placer, picked, live.element, order),
  );

  function chips() {
    const here = marked();
    const others = [...new Set([...pointNames(store.job), ...ctx.extraNames])].filter((name) => !(store.job.outline ?? []).includes(name));
    const now = target();
    return el(
      'div.chips',
      {role: 'group', 'aria-label': 'Point to place'},
      [...(store.job.outline ?? []), NEW, ...others].map((name) =>
        el(
          `button.chip${here.has(name) ? '.here' : ''}`,
          {
            type: 'button',
            'data-key': `chip-${name}`,
            'aria-pressed': String(name === now),
            'aria-label': name === NEW ? 'a new corner' : `${name}, ${here.has(name) ? 'marked in this photo' : 'not marked in this photo'}`,
            onclick: () => {
              placing = name;
              update();
              say(`Tap ${spoken(name)} in the photo.`);
            },
          },
          name === NEW ? 'new corner' : name,
          here.has(name) ? glyph('good') : null,
        ),
      ),
    );
  }

  function fillPlacer() {
    const now = target();
    const modes = el(
      'fieldset.picks',
      {},
      el('legend.hidden', {}, 'What a tap does'),
      ...[
        ['point', 'Corner'],
        ['edge', 'Wall line'],
      ].map(([key, text]) =>
        el(
          'label.pick',
          {},
          el('input', {
            type: 'radio',
            name: 'mode',
            value: key,
            checked: mode === key,
            'data-key': `mode-${key}`,
            onchange: () => {
              mode = key;
              update();
            },
          }),
          text,
        ),
      ),
    );
    const point = mode === 'point' && [
      now
        ? el('p.next', {}, 'Tap ', el('b', {}, spoken(now)), now !== NEW && marked().has(now) ? ' again, where it should be.' : '.', followed(now))
        : el('p.next', {}, 'Every corner is marked in this photo.'),
      chips(),
      ...[...doubts().values()].map((says) => sentence('look', says)),
      ghosts().length
        ? el('p.why', {}, 'Dotted rings show where points should be. Tap the true place, not the ring: the survey is only as good as the marks.')
        : null,
      el('p.why', {}, hint(now)),
    ];
    const edge = mode === 'edge' && [
      el(
        'label.field',
        {},
        'Wall',
        choice([['', 'choose'], ...wallOptions(store.job)], wall, {
          'data-key': 'wall',
          onchange: (event) => {
            wall = event.target.value;
          },
        }),
      ),
      el('p.why', {}, 'Tap two or more places along the foot of this wall. They help when a corner is hidden behind furniture.'),
    ];
    refill(placer, measured(), modes, point || null, edge || null, mode === 'point' ? extraPoint() : null, onwards());
  }

  // A corner found late lies between others: asked where, so that the order need not be mended afterwards.
  function followed(now) {
    const ring = store.job.outline ?? [];
    if (now !== NEW || ring.length < 3) return null;
    return el(
      'label.inline-field',
      {},
      'Round the room it comes after',
      choice(
        ring.map((name) => [name, name]),
        after || ring.at(-1),
        {
          'data-key': 'after',
          onchange: (event) => {
            after = event.target.value;
          },
        },
      ),
    );
  }

  function hint(now) {
    const here = 'A corner is where two walls meet at the floor, at the foot of the skirting.';
    if (!store.job.outline?.length) return `${here} Go round the room one way, say left to right, and tap each one you can see.`;
    if (now === NEW) return `${here} Take them in the order you meet them along the walls; skip what you cannot see.`;
    return 'Choose the letter of a corner you can see here. One that has no letter yet is a new corner.';
  }

  // The next photo that has nothing marked yet; once there is none, the tape.
  function onwards() {
    const fresh = (store.job.photos ?? []).find((entry) => entry.file !== photo && !entry.marks?.length);
    if (!marked().size || (!fresh && (store.job.outline ?? []).length < 3)) return null;
    const number = store.job.photos.indexOf(fresh) + 1;
    return fresh
      ? el('button', {type: 'button', 'data-key': 'next-photo', onclick: () => choose(fresh.file)}, `Done here: on to photo ${number}`)
      : el('button', {type: 'button', 'data-key': 'next-photo', onclick: () => ctx.go('tape')}, 'Done here: on to the tape');
  }

  function choose(file) {
    photo = file;
    selected = '';
    placing = null;
    update();
  }

  function extraPoint() {
    const input = el('input', {
      type: 'text',
      maxlength: 12,
      size: 5,
      'aria-label': 'Name of another point',
      placeholder: 'J1',
      'data-key': 'extra',
      autocomplete: 'off',
    });
    const add = (event) => {
      const name = event.currentTarget.parentNode.querySelector('input').value.trim().toUpperCase();
      if (!/^[A-Z][A-Z0-9]*$/.test(name)) {
        say('Give the point a short name of letters and digits, such as J1.');
        return;
      }
      placing = name;
      ctx.extraNames.add(name);
      update();
      say(`Tap ${name} in the photo.`);
    };
    return el(
      'details',
      {},
      el('summary', {}, 'Another point, such as a door jamb'),
      el('p.why', {}, 'A point that is no corner of the floor. Tape lengths can go to it as well.'),
      el('div.row', {}, input, el('button', {type: 'button', onclick: add}, 'Place it')),
    );
  }

  function fillSelected() {
    const chosen = () => stage.marks.find((mark) => mark.key === selected);
    const mark = chosen();
    const snapButton = snapper.button(mark, chosen);
    stage.offer(snapButton);
    fillPicked(picked, mark, chosen, {isSnappable: Boolean(snapButton), refusal: snapper.refusal(mark), move: nudge, remove});
  }

  async function update() {
    const photos = store.job.photos ?? [];
    if (!current()) photo = photos[0]?.file ?? '';
    strip(strips, store.job, photo, choose);
    element.classList.toggle('bare', !photo);
    stage.element.hidden = !photo;
    if (!photo) {
      refill(
        placer,
        el('h2', {}, 'No photo yet'),
        el('p', {}, 'Add a photo of the room first. Tape alone works too: name the corners here, then type the lengths.'),
        el(
          'div.foot',
          {},
          el('button.main', {type: 'button', onclick: () => ctx.go('photos')}, 'Add photos'),
          el('button', {type: 'button', onclick: addUnseen}, 'Add a corner without a photo'),
        ),
      );
      picked.hidden = true;
      fillOrder(order, ctx);
      return;
    }
    drawMarks();
    fillPlacer();
    fillSelected();
    live.update();
    fillOrder(order, ctx);
    if (shown !== photo) await showPhoto();
  }

  function drawMarks() {
    stage.draw({
      marks: marksHere(),
      lines: [...linesOf(store.job, current()), ...measureLine()],
      ghosts: mode === 'point' ? ghosts() : [],
      selected,
      target: mode === 'edge' ? wall : target(),
    });
  }

  // Between two points as the survey expects them here.
  function measureLine() {
    const places = ctx.survey.shown?.expected[photo] ?? {};
    const ends = (measure ?? []).map((name) => places[name]);
    return ends.length === 2 && ends.every(Boolean) ? [{kind: 'measure', points: ends}] : [];
  }

  function measured() {
    if (!measure || !measureLine().length) return null;
    return el(
      'div.next',
      {'data-key': 'measure-next'},
      el('p', {}, 'Measure from ', el('b', {}, measure[0]), ' to ', el('b', {}, measure[1]), ', on the floor: the dotted yellow line.'),
      el('button', {type: 'button', 'data-key': 'to-tape', onclick: () => ctx.go('tape', {between: measure})}, 'Type what the tape shows'),
    );
  }

  function addUnseen() {
    const name = nextName(new Set(pointNames(store.job)));
    store.change(`added corner ${name}`, (job) => {
      job.outline = [...(job.outline ?? []), name];
    });
  }

  async function showPhoto() {
    shown = photo;
    const entry = current();
    try {
      const {href, size} = await picture(entry.file);
      if (shown === entry.file) stage.show(href, size, `Photo ${entry.file}`);
      drawMarks();
    } catch (error) {
      refill(placer, sentence('look', error.says ?? error.message));
    }
  }

  return {
    element,
    update,
    stage,
    open(asked = {}) {
      if (asked.file) photo = asked.file;
      if (asked.point) placing = asked.point;
      measure = asked.measure ?? null;
      update();
    },
  };
}

const spoken = (name) => (name === NEW ? 'a new corner' : name);

const insert = (ring, name, after) => (ring.includes(after) ? ring.flatMap((other) => (other === after ? [other, name] : [other])) : [...ring, name]);
