// The card that says what a tap in the photo places: the next corner, another point, a place along a wall.

import {el, refill, choice, glyph, say, sentence} from '../common/dom.js';
import {pointNames, wallOptions} from '../common/names.js';
import {cornerCrop} from './cornercrop.js';
import {seenPart} from './seen.js';
import {gettext, gettextNodes, ngettext} from '../common/words.js';

// The corner that has no letter yet.
export const NEW = '+';

const spoken = (name) => el('b', {}, name === NEW ? gettext('a new corner') : name);

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
  const rings = gettext('Dotted rings show where points should be. Tap the true place, not the ring: the survey is only as good as the marks.');
  refill(card, state.hasGhosts ? el('p.why', {}, rings) : null, el('p.why', {}, hint(state)), extraPoint(add));
}

function modes({mode}, {turn}) {
  const pick = (key, text) =>
    el('label.pick', {}, el('input', {type: 'radio', name: 'mode', value: key, checked: mode === key, 'data-key': `mode-${key}`, onchange: () => turn(key)}), text);
  return el('fieldset.picks', {}, el('legend.hidden', {}, gettext('What a tap does')), pick('point', gettext('Corner')), pick('edge', gettext('Wall line')), pick('tape', gettext('Tape')));
}

function point(state, doing) {
  const {job, file, now, here, doubts} = state;
  const isAgain = now !== NEW && here.has(now);
  return [
    now ? cornerCrop(job, now, file) : null,
    now ? el('p.next', {}, asked(now, isAgain), followed(state, doing)) : el('p.next', {}, gettext('Every corner is marked in this photo.')),
    seenPart(state.seen, doing.takeSure),
    chips(state, doing),
    doubted(doubts),
  ];
}

const asked = (now, isAgain) =>
  isAgain ? gettextNodes('Tap {corner} again, where it should be.', {corner: spoken(now)}) : gettextNodes('Tap {corner}.', {corner: spoken(now)});

// One headline, the rest folded.
function doubted(doubts) {
  const [first, ...rest] = doubts;
  return [first, rest.length ? el('details', {'data-key': 'more-here'}, el('summary', {}, ngettext('{count} more to look at here', '{count} more to look at here', rest.length)), rest) : null];
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
        'aria-label': name === NEW ? gettext('a new corner') : here.has(name) ? gettext('{name}, marked in this photo', {name}) : gettext('{name}, not marked in this photo', {name}),
        onclick: () => place(name),
      },
      name === NEW ? gettext('new corner') : name,
      here.has(name) ? glyph('good') : null,
    );
  return el('div.chips', {role: 'group', 'aria-label': gettext('Point to place')}, [...ring, NEW, ...others].map(chip));
}

// A corner found late lies between others: asked where, so that the order need not be mended afterwards.
function followed({job, now, after}, {follow}) {
  const ring = job.outline ?? [];
  if (now !== NEW || ring.length < 3) return null;
  const names = ring.map((name) => [name, gettext('after {name}', {name})]);
  const pick = choice([['', gettext('where the photos show it')], ...names], after, {'data-key': 'after', onchange: (event) => follow(event.target.value)});
  return el('label.inline-field', {}, gettext('Its place round the room'), pick);
}

function hint({job, now}) {
  const sheet = (job.papers ?? []).find(({corners}) => corners.includes(now));
  if (sheet) return sheetHint(sheet, now);
  const here = gettext('A corner is where two walls meet at the floor, at the foot of the skirting.');
  if (!job.outline?.length) return `${here} ${gettext('Go round the room one way, say left to right, and tap each one you can see.')}`;
  if (now === NEW) return `${here} ${gettext('Take them in the order you meet them along the walls; skip what you cannot see.')}`;
  return gettext('Choose the letter of a corner you can see here. One that has no letter yet is a new corner.');
}

function sheetHint({corners}, now) {
  const [first, second] = corners;
  if (now === first) return gettext('A corner of the sheet of paper: begin at either end of a long side, so that {second} is the other end.', {second});
  if (now === second) return gettext('The other end of the long side that begins at {first}.', {first});
  return gettext('Go on round the sheet in the same way; {names} is once round it.', {names: corners.join(', ')});
}

function edge({job, wall, unfollowed}, {along}) {
  const pick = choice([['', gettext('choose')], ...wallOptions(job)], wall, {'data-key': 'wall', onchange: (event) => along(event.target.value)});
  return [
    el('label.field', {}, gettext('Wall'), pick),
    el('p.why', {}, gettext('Draw slowly along the foot of this wall, or tap two or more places on it. They help when a corner is hidden behind furniture.')),
    unfollowed ? sentence('look', unfollowed) : null,
  ];
}

function tape() {
  return el('p.next', {}, gettext('Tap the two corners you measured between, in the photo or on the plan, and type what the tape shows.'));
}

function extraPoint(add) {
  const input = el('input', {
    type: 'text',
    maxlength: 12,
    size: 5,
    'aria-label': gettext('Name of another point'),
    placeholder: 'J1',
    'data-key': 'extra',
    autocomplete: 'off',
  });
  const take = (event) => {
    const name = event.currentTarget.parentNode.querySelector('input').value.trim().toUpperCase();
    if (/^[A-Z][A-Z0-9]*$/.test(name)) add(name);
    else say(gettext('Give the point a short name of letters and digits, such as J1.'));
  };
  return el(
    'details',
    {'data-key': 'extra-point'},
    el('summary', {}, gettext('Another point, such as a door jamb')),
    el('p.why', {}, gettext('A point that is no corner of the floor. Tape lengths can go to it as well.')),
    el('div.row', {}, input, el('button', {type: 'button', onclick: take}, gettext('Place it'))),
  );
}
