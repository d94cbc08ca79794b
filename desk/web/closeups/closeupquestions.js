// Beside a close-up's photo: one question at a time, and what was answered so far, folded, to be changed.

import {choice, el, iconButton, sentence, working} from '../common/dom.js';
import {lengthField} from '../fields/lengthfield.js';
import {wallOptions} from '../common/names.js';
import {meanings} from './closeupmarks.js';
import {shapeDrawing} from './closeupshape.js';

const THINGS = [
  ['', 'Let the tool find it'],
  ['a4', 'A4 sheet, 297 x 210 mm'],
  ['letter', 'Letter sheet, 11 x 8 1/2 in'],
  ['card', 'Bank-card-sized card'],
  ['target', 'Printed floor target'],
];
const LEGS = [
  ['left', 'The left one'],
  ['right', 'The right one'],
];

// The question that is to be answered next. entry: the close-up; door: its door, or undefined; hasSubjects: there is something it may show;
// now: what the desk told of it, or null; isTapping: the four corners of the sheet are being tapped.
export function questionOf({entry, door, hasSubjects, now, isTapping}) {
  if (!entry.of) return hasSubjects ? 'of' : 'nothing';
  if (door && !entry.leg) return 'leg';
  if (door && entry.mirror === undefined) return 'mirror';
  if (!entry.beside && !isTapping && !(now?.reference && !now.question)) return 'beside';
  if (now?.collar) return 'foot';
  return 'taps';
}

// state: what `questionOf` takes, and {job, subjects, isPipe, kind, wall, isAsking, number}; doing: {put(label, key, value), mean(kind), along(wall), go, drop}
export function questionCard(state, doing) {
  const question = questionOf(state);
  return el('section.card.question', {'aria-label': 'Next', 'data-key': `question-${question}`}, CARDS[question](state, doing));
}

const button = (key, text, onclick, kind = '') => el(`button${kind}`, {type: 'button', 'data-key': key, onclick}, text);

const CARDS = {
  nothing: (_, {go}) => [
    el('h2', {}, 'What does it show?'),
    sentence('tell', 'Put the door or pipe into the room first.'),
    el('div.foot', {}, button('closeup-room', 'To the room', () => go('room'))),
  ],
  of: ({subjects}, {put}) => [
    el('h2', {}, 'What does it show?'),
    el('div.foot', {}, subjects.map(([name, text]) => button(`closeup-of-${name}`, text, () => put('said what a close-up shows', 'of', name)))),
  ],
  leg: ({door}, {put}) => [
    el('h2', {}, `Which leg of ${door.name} is it?`),
    el('p', {}, 'As you face the door from inside the room.'),
    el('div.foot', {}, LEGS.map(([key, text]) => button(`closeup-leg-${key}`, text, () => put('said which leg it is', 'leg', key)))),
  ],
  mirror: (_, {put}) => [
    el('h2', {}, 'Is the other leg its mirror image?'),
    el(
      'div.foot',
      {},
      button('closeup-mirror-yes', 'Yes, it is alike', () => put('said the other leg is alike', 'mirror', true)),
      button('closeup-mirror-no', 'No, or I am not sure', () => put('said the other leg differs', 'mirror', false)),
    ),
  ],
  beside: ({now, isAsking}, {put, mean}) => {
    const thing = now?.reference;
    return [
      el('h2', {}, thing ? `Is it the ${thing.says} you laid there?` : 'What lies there?'),
      !now && isAsking ? working('Looking for the sheet or card') : null,
      thing ? el('p', {}, now.question || `The ${thing.says} is framed in the photo.`) : null,
      el(
        'div.foot',
        {},
        thing ? button('closeup-yes', `Yes, ${thing.says}`, () => put('said what lies there', 'beside', thing.name)) : null,
        THINGS.filter(([key]) => key && key !== thing?.name).map(([key, text]) => button(`closeup-is-${key}`, thing ? `No: ${text}` : text, () => put('said what lies there', 'beside', key))),
        button('closeup-corners', 'I tap its four corners', () => mean('corners')),
      ),
    ];
  },
  foot: ({now}, {put}) => [
    el('h2', {}, 'Is this the collar?'),
    el('p', {}, now.collar),
    el(
      'div.foot',
      {},
      button('closeup-foot-collar', 'Yes, the collar', () => put('said it is the collar', 'foot', 'collar')),
      button('closeup-foot-pipe', 'No, the pipe itself', () => put('said it is the pipe', 'foot', 'pipe')),
    ),
  ],
  taps: (state, doing) => taps(state, doing),
};

function taps({job, isPipe, kind, wall}, {mean, along}) {
  const told = meanings(isPipe);
  return [
    el('h2', {}, told.find(([key]) => key === kind)?.[1] ?? 'What a tap marks'),
    el('p', {}, told.find(([key]) => key === kind)?.[2] ?? ''),
    el(
      'div.picks',
      {role: 'group', 'aria-label': 'What a tap marks'},
      told.map(([key, text]) =>
        el('label.pick', {}, el('input', {type: 'radio', name: 'taps', checked: kind === key, 'data-key': `taps-${key}`, onchange: () => mean(key)}), text),
      ),
    ),
    kind === 'wall' ? select('Wall', 'closeup-wall', [['', 'Choose'], ...wallOptions(job)], wall, along) : null,
  ];
}

const select = (label, key, options, value, onValue) =>
  el('label.field', {}, el('span', {}, label), choice(options, value ?? '', {'data-key': key, onchange: (event) => onValue(event.target.value)}));

// Everything that was answered, to be changed.
export function answersCard({entry, door, subjects, job, number}, {put, drop}) {
  return el(
    'details.card.answers',
    {'data-key': 'closeup-answers'},
    el('summary', {}, 'What you said'),
    select('Door or pipe', 'closeup-of', [['', 'Choose'], ...subjects], entry.of, (value) => put('said what a close-up shows', 'of', value)),
    door ? select('Which leg of the casing', 'closeup-leg', [['', 'Choose'], ...LEGS], entry.leg, (value) => put('said which leg it is', 'leg', value)) : null,
    door
      ? el(
          'label.pick',
          {},
          el('input', {
            type: 'checkbox',
            checked: Boolean(entry.mirror),
            'data-key': 'closeup-mirror',
            onchange: (event) => put('said whether the other leg is alike', 'mirror', event.target.checked),
          }),
          'The other leg is its mirror image',
        )
      : null,
    select('What lies there', 'closeup-beside', THINGS, entry.beside, (value) => put('said what lies there', 'beside', value)),
    entry.corners ? button('closeup-forget', 'Forget the four corners', () => put('forgot the corners', 'corners', null)) : null,
    entry.foot
      ? select('Foot of the pipe', 'closeup-foot', [['collar', 'The ring is the collar'], ['pipe', 'The ring is the pipe itself']], entry.foot, (value) => put('said what the ring is', 'foot', value)) // prettier-ignore
      : null,
    lengthField({
      label: 'Height above the floor',
      why: 'Only if you trace something higher than the floor, such as the top of a skirting.',
      value: entry.height ?? null,
      show: job.show ?? 'metric',
      key: 'closeup-height',
      clearable: true,
      isSmall: true,
      onLength: (mm) => put('typed a height', 'height', mm),
    }).element,
    iconButton('bin', `Take close-up ${number + 1} out`, drop, {'data-key': 'closeup-out'}),
  );
}

// What came of it. told: the desk's answer or its refusal; doing: {keep, go}
export function resultCard({told, now, isAsking}, {keep, go}) {
  const asked = [now?.question, now?.collar];
  return el(
    'section.card',
    {'aria-label': 'What the photo tells'},
    el('h2', {}, 'What the photo tells'),
    isAsking ? working('Measuring') : null,
    told?.says ? sentence('look', told.says) : null,
    now?.drawing ? el('div.shape-box', {}, shapeDrawing(now.drawing)) : null,
    ...(now?.says ?? []).filter((text) => !asked.includes(text)).map((text) => sentence(text === now.fault ? 'look' : 'tell', text)),
    now?.ready
      ? el('div.foot', {}, button('closeup-keep', 'Keep it in the job', keep), button('closeup-pack', 'Print it: traced.pdf in the pack', () => go('pack')))
      : null,
    now ? el('p.caution', {}, now.caution) : null,
  );
}
