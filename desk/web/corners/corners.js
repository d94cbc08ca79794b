// Step "Corners": tap the floor's corners in each photo.

import {el, refill, say, sentence} from '../common/dom.js';
import {Stage} from './stage.js';
import {nextName, pointNames, ring, wallName, wallOf} from '../common/names.js';
import {linesOf, markedPoints, marksOf, moveMark, putAlong, putPoint, removeMark} from './marks.js';
import {LiveFloor} from './livefloor.js';
import {nextCorner} from './nextcorner.js';
import {fillOrder} from './order.js';
import {fillPicked} from './picked.js';
import {fillAdvice, fillPlacer, NEW} from './placer.js';
import {Sheet} from './sheet.js';
import {putSeen, Seen, takeCorners} from './seen.js';
import {Snapper} from './snap.js';
import {followStroke} from './stroke.js';
import {doubtWords, suspectsOf} from '../common/mends.js';
import {strip, picture} from '../common/pictures.js';
import {gettext, gettextNodes, ngettext} from '../common/words.js';

export function create(ctx) {
  const {store} = ctx;
  let photo = ''; // file of the photo on the stage
  let placing = null; // point name, NEW, or null: choose the next one that is missing here
  let after = ''; // the corner a new one follows round the room; "" the last
  let mode = 'point'; // or "edge", or "tape": two corners are tapped for their length
  let wall = '';
  let selected = '';
  let shown = '';
  let unfollowed = ''; // why no line was found under the last stroke
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
  // What is doubted in this photo, the likeliest first, each with what would put it right.
  const doubtedHere = () => {
    const suspects = ctx.survey.state === 'ok' ? ctx.survey.answer.suspects : [];
    return suspectsOf({suspects: suspects.filter((reading) => reading.photo === photo)}).map((doubt) => doubtWords(doubt, ctx));
  };
  const marksHere = () => {
    const doubted = doubts();
    return marksOf(current()).map((mark) =>
      doubted.has(mark.point) ? {...mark, doubt: true, label: `${mark.label} !`, name: gettext('{name}, to be checked', {name: mark.name})} : mark,
    );
  };
  const target = () => {
    if (placing) return placing;
    const seen = new Set(ghosts().map(({name}) => name));
    // A slip of the finger on a later photo must not grow the room: there a new corner is asked for.
    const grows = (store.job.photos ?? []).every((entry) => entry.file === photo || !entry.marks?.length);
    return nextCorner(store.job.outline ?? [], [...marked()], (name) => seen.has(name)) ?? (grows ? NEW : null);
  };

  const stage = new Stage({
    onPlace: (x, y) => ({edge: placeEdge, tape: tapeNear}[mode] ?? placePoint)(x, y),
    onMove: (mark, x, y) => {
      live.settle();
      move(mark, x, y, gettext('moved {name}', {name: mark.name}));
    },
    onDrag: (mark, x, y) => live.drag(photo, mark, x, y),
    onNudge: nudge,
    onSnap: (mark) => snapper.snap(mark),
    onSelect: (mark, isTap) => {
      if (isTap && mode === 'tape' && mark.kind === 'point') {
        live.taping.pick(mark.point);
        return;
      }
      selected = mark.key;
      update();
      const now = target();
      if (isTap && mode === 'point' && now) say(tooClose(mark.name, now));
    },
    onDelete: remove,
    onStroke: drawAlong,
    onEscape: () => {
      selected = '';
      update();
    },
  });

  const snapper = new Snapper({store, stage, here: () => ({file: photo, entry: current}), onChange: () => update()});

  const seen = new Seen({store, here: () => ({file: photo, entry: current()}), onChange: () => update()});
  store.addEventListener('saved', () => {
    if (element.isConnected) seen.look();
  });

  function takeSure() {
    const corners = seen.takable(stage.size);
    const before = new Set(store.job.outline ?? []);
    store.change(ngettext('took {count} corner that was seen', 'took {count} corners that were seen', corners.length), (job) => {
      takeCorners(job, current(job), corners);
      ctx.sketch.name((job.outline ?? []).filter((name) => !before.has(name)));
    });
    update();
    say(
      ngettext(
        '{count} corner taken. Look at it: nothing but your eye says that it is right.',
        '{count} corners taken. Look at each: nothing but your eye says that they are right.',
        corners.length,
      ),
    );
  }

  function placePoint(x, y) {
    const found = seen.near({x, y}, stage.size, stage.scale);
    // A tap on a corner that is seen, or on an expected place, means that point, unless another was chosen.
    let name = (placing ? null : (found?.point ?? stage.nearestGhost({x, y})?.name ?? (found?.fresh ? NEW : null))) ?? target();
    if (!name) {
      say(gettext('Every corner is marked in this photo. To add one, choose "new corner" first.'));
      return;
    }
    const isNew = name === NEW;
    if (isNew) name = nextName(new Set(pointNames(store.job)));
    const moved = marked().has(name);
    if (isNew && after) ctx.sketch.keepOrder();
    else if (isNew) ctx.sketch.name([name]); // the photos tell where it comes round the room
    store.change(moved ? gettext('moved {name}', {name}) : gettext('placed {name}', {name}), (job) => {
      if (isNew) job.outline = insert(job.outline ?? [], name, after);
      if (found) putSeen(current(job), name, found);
      else putPoint(current(job), name, x, y);
    });
    placing = nextOfSheet(name);
    after = '';
    selected = `p:${name}`;
    update();
    say(moved ? gettext('{name} moved.', {name}) : placed(name, target()));
  }

  // A tap where the survey expects a corner means that corner.
  function tapeNear(x, y) {
    const ghost = stage.nearestGhost({x, y});
    if (ghost && (store.job.outline ?? []).includes(ghost.name)) live.taping.pick(ghost.name);
    else say(gettext('Tap a corner that is marked here, or one on the plan.'));
  }

  // Whoever has begun a sheet of paper goes round it.
  function nextOfSheet(name) {
    const sheet = (store.job.papers ?? []).find(({corners}) => corners.includes(name));
    return sheet?.corners.find((corner) => !marked().has(corner)) ?? null;
  }

  function placeEdge(x, y) {
    if (!wall) {
      say(gettext('First choose the wall the points lie along.'));
      return;
    }
    const pair = wallOf(wall);
    store.change(gettext('placed a point along {wall}', {wall: wallName(pair)}), (job) => putAlong(current(job), pair, x, y));
    update();
    say(gettext('Point along wall {wall} placed.', {wall: wallName(pair)}));
  }

  async function drawAlong(places) {
    if (!wall) {
      say(gettext('First choose the wall you draw along.'));
      return;
    }
    unfollowed = await followStroke(places, wallOf(wall), {store, here: () => ({file: photo, entry: current})});
    update();
  }

  function move(mark, x, y, label) {
    const at = stage.inside({x, y});
    store.change(label, (job) => moveMark(current(job), mark, at.x, at.y));
    update();
  }

  function nudge(mark, dx, dy) {
    move(mark, mark.x + dx, mark.y + dy, gettext('nudged {name}', {name: mark.name}));
  }

  function remove(mark) {
    store.change(gettext('removed {name}', {name: mark.name}), (job) => removeMark(current(job), mark));
    selected = '';
    update();
    say(gettext('{name} removed from this photo.', {name: mark.name}));
  }

  // The panel --------------------------------------------------------------------

  const live = new LiveFloor(ctx);
  const sheet = new Sheet(ctx, {onPick: (name) => live.taping.pick(name), chosen: () => live.taping.chosen, pair: () => live.taping.pair});
  const strips = el('div.strip', {role: 'group', 'aria-label': gettext('Choose a photo')});
  const placer = el('section.card.placer', {'aria-label': gettext('What you are placing')});
  const advice = el('section.card.advice', {'aria-label': gettext('What is a corner'), hidden: true});
  const picked = el('section.card', {'aria-label': gettext('The mark you selected'), hidden: true});
  const order = el('section.card', {'aria-label': gettext('Order of the corners')});
  const element = el(
    'div.corners',
    {},
    el('h1.hidden', {}, gettext('Corners in the photos')),
    el('div.left', {}, strips, stage.element, sheet.element),
    el('div.panel', {}, placer, picked, advice, live.element, order),
  );

  function fillCard() {
    const job = store.job;
    const state = {
      job,
      file: photo,
      mode,
      wall,
      unfollowed,
      after,
      extraNames: ctx.extraNames,
      now: target(),
      here: marked(),
      doubts: doubtedHere(),
      hasGhosts: ghosts().length > 0,
      seen: seen.state(stage.size),
    };
    const doing = {
      turn: (key) => {
        mode = key;
        unfollowed = '';
        update();
      },
      along: (key) => {
        wall = key;
      },
      follow: (name) => {
        after = name;
      },
      place: startPlacing,
      takeSure,
      add: (name) => {
        ctx.extraNames.add(name);
        startPlacing(name);
      },
    };
    fillPlacer(placer, state, doing, measured());
    fillAdvice(advice, state, doing);
  }

  function startPlacing(name) {
    placing = name;
    update();
    say(name === NEW ? gettext('Tap a new corner in the photo.') : gettext('Tap {name} in the photo.', {name}));
  }

  // Another photo begins afresh: a tap places the next corner, and photo and strip come into sight.
  function choose(file) {
    photo = file;
    selected = '';
    placing = null;
    mode = 'point';
    update();
    strips.querySelector('[aria-pressed=true]')?.scrollIntoView({block: 'nearest', inline: 'center'});
    stage.element.scrollIntoView({block: 'nearest'});
  }

  // The next photo that has nothing marked yet, then what usually comes next; whoever has measured enough here needs no step Tape.
  function onward() {
    if (live.taping.isEnough) return {text: gettext('On to the room'), act: () => ctx.go('room')};
    const photos = store.job.photos ?? [];
    const fresh = marked().size ? photos.find((entry) => entry.file !== photo && !entry.marks?.length) : null;
    if (fresh) return {text: gettext('On to photo {number}', {number: photos.indexOf(fresh) + 1}), act: () => choose(fresh.file)};
    return photos.length || ring(store.job).length > 2 ? undefined : {text: gettext('Add photos'), act: () => ctx.go('photos')};
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
    stage.element.hidden = !photo;
    sheet.element.hidden = Boolean(photo);
    if (!photo) {
      refill(
        placer,
        el('h2', {}, gettext('With a tape only')),
        el('p.why', {}, gettext('Draw the outline on the sheet, then type the lengths: walls, and some corner to corner across the room. Photos spare lengths and show slips.')),
        el(
          'div.foot',
          {},
          el('button', {type: 'button', 'data-key': 'to-photos', onclick: () => ctx.go('photos')}, gettext('Add photos')),
          el('button', {type: 'button', 'data-key': 'add-unseen', onclick: addUnseen}, gettext('Add a corner without drawing')),
        ),
      );
      picked.hidden = true;
      advice.hidden = true;
      sheet.update();
      live.update();
      fillOrder(order, ctx);
      ctx.drawOnward();
      return;
    }
    drawMarks();
    fillCard();
    fillSelected();
    live.update();
    fillOrder(order, ctx);
    ctx.drawOnward();
    if (shown !== photo) await showPhoto();
  }

  function drawMarks() {
    stage.draw({
      marks: marksHere(),
      lines: [...seen.told.lines.map((points) => ({kind: 'seen', points})), ...linesOf(store.job, current()), ...measureLine()],
      ghosts: mode === 'edge' ? [] : ghosts(),
      seen: mode === 'point' ? seen.corners(stage.size) : [],
      selected,
      strokes: mode === 'edge',
      target: mode === 'edge' ? wall : mode === 'tape' ? '' : target(),
    });
  }

  // Between two points as the survey expects them here.
  function measureLine() {
    const expected = ctx.survey.shown?.expected[photo] ?? {};
    const here = Object.fromEntries((current()?.marks ?? []).map(({point, x, y}) => [point, [x, y]]));
    const ends = (measure ?? live.taping.pair ?? []).map((name) => here[name] ?? expected[name]);
    return ends.length === 2 && ends.every(Boolean) ? [{kind: 'measure', points: ends}] : [];
  }

  function measured() {
    if (!measure || !measureLine().length) return null;
    return el(
      'div.next',
      {'data-key': 'measure-next'},
      el('p', {}, gettextNodes('Measure from {from} to {to}, on the floor: the dotted yellow line.', {from: el('b', {}, measure[0]), to: el('b', {}, measure[1])})),
      el('button', {type: 'button', 'data-key': 'to-tape', onclick: () => ctx.go('tape', {between: measure})}, gettext('Type what the tape shows')),
    );
  }

  function addUnseen() {
    const name = nextName(new Set(pointNames(store.job)));
    store.change(gettext('added corner {name}', {name}), (job) => {
      job.outline = [...(job.outline ?? []), name];
    });
  }

  async function showPhoto() {
    shown = photo;
    const entry = current();
    try {
      const {href, size} = await picture(entry.file);
      if (shown === entry.file) stage.show(href, size, gettext('Photo {file}', {file: entry.file}));
      drawMarks();
      seen.look();
    } catch (error) {
      refill(placer, sentence('look', error.says ?? error.message));
    }
  }

  return {
    element,
    update,
    stage,
    onward,
    open(asked = {}) {
      if (asked.file) photo = asked.file;
      if (asked.point) placing = asked.point;
      measure = asked.measure ?? null;
      update();
    },
  };
}

// What a tap on a mark says while another point is to be placed.
function tooClose(mark, next) {
  if (next === NEW) return gettext('This is {mark}. To put a new corner this close to it, zoom in first.', {mark});
  return gettext('This is {mark}. To put {name} this close to it, zoom in first.', {mark, name: next});
}

function placed(name, next) {
  if (next === NEW) return gettext('{name} placed. Tap the next one.', {name});
  return next ? gettext('{name} placed. Now {next}.', {name, next}) : gettext('{name} placed. Every corner is marked here.', {name});
}

const insert = (order, name, after) => (order.includes(after) ? order.flatMap((other) => (other === after ? [other, name] : [other])) : [...order, name]);
