// The card that says what a tap in the photo places: the next corner, another point, a place along a wall.

import {el, refill, choice, glyph, say, sentence} from '../common/dom.js';
import {pointNames, wallOptions} from '../common/names.js';
import {cornerCrop} from './cornercrop.js';
import {seenPart} from './seen.js';

// The corner that has no letter yet.
export const NEW = '+';

export const spoken = (name) => (name === NEW ? 'a new corner' : name);

// state: {job, file: the photo on the stage, extraNames, mode: "point" | "edge" | "tape", wall, unfollowed, after, now: what a tap places,
// here: names marked in this photo, doubts: in their boxes,
// hasGhosts, seen: what `seenPart` tells}
// doing: {turn(mode), along(wall), follow(name), place(name), takeSure(), add(name)}; top: what stands above it all
export function fillPlacer(card, state, doing, top) {
  refill(card, top, modes(state, doing), {point, edge, tape}[state.mode](state, doing));
}

// What is read once: apart, so that what is asked and the sketch of the floor stand together beside the photo.
export function fillAdvice(card, state, {add}) {
  card.hidden = state.mode !== 'point';
  if (card.hidden) return;
  const rings = 'Dotted rings show where points should be. Tap the true place, not the ring: the survey is only as good as the marks.';
  refill(card, state.hasGhosts ? el('p.why', {}, rings) : null, el('p.why', {}, hint(state)), extraPoint(add));
}

function modes({mode}, {turn}) {
  const pick = (key, text) =>
    el('label.pick', {}, el('input', {type: 'radio', name: 'mode', value: key, checked: mode === key, 'data-key': `mode-${key}`, onchange: () => turn(key)}), text);
  return el('fieldset.picks', {}, el('legend.hidden', {}, 'What a tap does'), pick('point', 'Corner'), pick('edge', 'Wall line'), pick('tape', 'Tape'));
}

function point(state, doing) {
  const {job, file, now, here, doubts} = state;
  const again = now !== NEW && here.has(now) ? ' again, where it should be.' : '.';
  return [
    now ? cornerCrop(job, now, file) : null,
    now ? el('p.next', {}, 'Tap ', el('b', {}, spoken(now)), again, followed(state, doing)) : el('p.next', {}, 'Every corner is marked in this photo.'),
    seenPart(state.seen, doing.takeSure),
    chips(state, doing),
    doubted(doubts),
  ];
}

// One headline, the rest folded.
function doubted(doubts) {
  const [first, ...rest] = doubts;
  return [first, rest.length ? el('details', {'data-key': 'more-here'}, el('summary', {}, `${rest.length} more to look at here`), rest) : null];
}

function chips({job, extraNames, now, here}, {place}) {
  const ring = job.outline ?? [];
  const others = [...new Set([...pointNames(job), ...extraNames])].filter((name) => !ring.includes(name));
  const chip = (name) =>
    el(
      `button.chip${here.has(name) ? '.here' : ''}`,
      {
        type: 'button',
        'data-key': `chip-${name}`,
        'aria-pressed': String(name === now),
        'aria-label': name === NEW ? 'a new corner' : `${name}, ${here.has(name) ? 'marked in this photo' : 'not marked in this photo'}`,
        onclick: () => place(name),
      },
      name === NEW ? 'new corner' : name,
      here.has(name) ? glyph('good') : null,
    );
  return el('div.chips', {role: 'group', 'aria-label': 'Point to place'}, [...ring, NEW, ...others].map(chip));
}

// A corner found late lies between others: asked where, so that the order need not be mended afterwards.
function followed({job, now, after}, {follow}) {
  const ring = job.outline ?? [];
  if (now !== NEW || ring.length < 3) return null;
  const names = ring.map((name) => [name, `after ${name}`]);
  const pick = choice([['', 'where the photos show it'], ...names], after, {'data-key': 'after', onchange: (event) => follow(event.target.value)});
  return el('label.inline-field', {}, 'Its place round the room', pick);
}

function hint({job, now}) {
  const sheet = (job.papers ?? []).find(({corners}) => corners.includes(now));
  if (sheet) return sheetHint(sheet, now);
  const here = 'A corner is where two walls meet at the floor, at the foot of the skirting.';
  if (!job.outline?.length) return `${here} Go round the room one way, say left to right, and tap each one you can see.`;
  if (now === NEW) return `${here} Take them in the order you meet them along the walls; skip what you cannot see.`;
  return 'Choose the letter of a corner you can see here. One that has no letter yet is a new corner.';
}

function sheetHint({corners}, now) {
  const [first, second] = corners;
  if (now === first) return `A corner of the sheet of paper: begin at either end of a long side, so that ${second} is the other end.`;
  if (now === second) return `The other end of the long side that begins at ${first}.`;
  return `Go on round the sheet in the same way; ${corners.join(', ')} is once round it.`;
}

function edge({job, wall, unfollowed}, {along}) {
  const pick = choice([['', 'choose'], ...wallOptions(job)], wall, {'data-key': 'wall', onchange: (event) => along(event.target.value)});
  return [
    el('label.field', {}, 'Wall', pick),
    el('p.why', {}, 'Draw slowly along the foot of this wall, or tap two or more places on it. They help when a corner is hidden behind furniture.'),
    unfollowed ? sentence('look', unfollowed) : null,
  ];
}

function tape() {
  return el('p.next', {}, 'Tap the two corners you measured between, in the photo or on the plan, and type what the tape shows.');
}

function extraPoint(add) {
  const input = el('input', {
    type: 'text',
    maxlength: 12,
    size: 5,
    'aria-label': 'Name of another point',
    placeholder: 'J1',
    'data-key': 'extra',
    autocomplete: 'off',
  });
  const take = (event) => {
    const name = event.currentTarget.parentNode.querySelector('input').value.trim().toUpperCase();
    if (/^[A-Z][A-Z0-9]*$/.test(name)) add(name);
    else say('Give the point a short name of letters and digits, such as J1.');
  };
  return el(
    'details',
    {'data-key': 'extra-point'},
    el('summary', {}, 'Another point, such as a door jamb'),
    el('p.why', {}, 'A point that is no corner of the floor. Tape lengths can go to it as well.'),
    el('div.row', {}, input, el('button', {type: 'button', onclick: take}, 'Place it')),
  );
}
