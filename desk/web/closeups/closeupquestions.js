// Beside a close-up's photo: one question at a time, and what was answered so far, folded, to be changed.

import {choice, el, iconButton, sentence, working} from '../common/dom.js';
import {lengthField} from '../fields/lengthfield.js';
import {wallOptions} from '../common/names.js';
import {meanings} from './closeupmarks.js';
import {shapeDrawing} from './closeupshape.js';
import {gettext} from '../common/words.js';

const THINGS = [
  ['', gettext('Let the tool find it')],
  ['a4', gettext('A4 sheet, 297 x 210 mm')],
  ['letter', gettext('Letter sheet, 11 x 8 1/2 in')],
  ['card', gettext('Bank-card-sized card')],
  ['target', gettext('Printed floor target')],
];
const LEGS = [
  ['left', gettext('The left one')],
  ['right', gettext('The right one')],
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
  return el('section.card.question', {'aria-label': gettext('Next'), 'data-key': `question-${question}`}, CARDS[question](state, doing));
}

const button = (key, text, onclick, kind = '') => el(`button${kind}`, {type: 'button', 'data-key': key, onclick}, text);

const CARDS = {
  nothing: (_, {go}) => [
    el('h2', {}, gettext('What does it show?')),
    sentence('tell', gettext('Put the door or pipe into the room first.')),
    el('div.foot', {}, button('closeup-room', gettext('To the room'), () => go('room'))),
  ],
  of: ({subjects}, {put}) => [
    el('h2', {}, gettext('What does it show?')),
    el('div.foot', {}, subjects.map(([name, text]) => button(`closeup-of-${name}`, text, () => put(gettext('said what a close-up shows'), 'of', name)))),
  ],
  leg: ({door}, {put}) => [
    el('h2', {}, gettext('Which leg of {name} is it?', {name: door.name})),
    el('p', {}, gettext('As you face the door from inside the room.')),
    el('div.foot', {}, LEGS.map(([key, text]) => button(`closeup-leg-${key}`, text, () => put(gettext('said which leg it is'), 'leg', key)))),
  ],
  mirror: (_, {put}) => [
    el('h2', {}, gettext('Is the other leg its mirror image?')),
    el(
      'div.foot',
      {},
      button('closeup-mirror-yes', gettext('Yes, it is alike'), () => put(gettext('said the other leg is alike'), 'mirror', true)),
      button('closeup-mirror-no', gettext('No, or I am not sure'), () => put(gettext('said the other leg differs'), 'mirror', false)),
    ),
  ],
  beside: ({now, isAsking}, {put, mean}) => {
    const thing = now?.reference;
    return [
      el('h2', {}, thing ? gettext('Is it the {thing} you laid there?', {thing: thing.says}) : gettext('What lies there?')),
      !now && isAsking ? working(gettext('Looking for the sheet or card')) : null,
      thing ? el('p', {}, now.question || gettext('The {thing} is framed in the photo.', {thing: thing.says})) : null,
      el(
        'div.foot',
        {},
        thing ? button('closeup-yes', gettext('Yes, {thing}', {thing: thing.says}), () => put(gettext('said what lies there'), 'beside', thing.name)) : null,
        THINGS.filter(([key]) => key && key !== thing?.name).map(([key, text]) => button(`closeup-is-${key}`, thing ? gettext('No: {thing}', {thing: text}) : text, () => put(gettext('said what lies there'), 'beside', key))),
        button('closeup-corners', gettext('I tap its four corners'), () => mean('corners')),
      ),
    ];
  },
  foot: ({now}, {put}) => [
    el('h2', {}, gettext('Is this the collar?')),
    el('p', {}, now.collar),
    el(
      'div.foot',
      {},
      button('closeup-foot-collar', gettext('Yes, the collar'), () => put(gettext('said it is the collar'), 'foot', 'collar')),
      button('closeup-foot-pipe', gettext('No, the pipe itself'), () => put(gettext('said it is the pipe'), 'foot', 'pipe')),
    ),
  ],
  taps: (state, doing) => taps(state, doing),
};

function taps({job, isPipe, kind, wall}, {mean, along}) {
  const told = meanings(isPipe);
  return [
    el('h2', {}, told.find(([key]) => key === kind)?.[1] ?? gettext('What a tap marks')),
    el('p', {}, told.find(([key]) => key === kind)?.[2] ?? ''),
    el(
      'div.picks',
      {role: 'group', 'aria-label': gettext('What a tap marks')},
      told.map(([key, text]) =>
        el('label.pick', {}, el('input', {type: 'radio', name: 'taps', checked: kind === key, 'data-key': `taps-${key}`, onchange: () => mean(key)}), text),
      ),
    ),
    kind === 'wall' ? select(gettext('Wall'), 'closeup-wall', [['', gettext('Choose')], ...wallOptions(job)], wall, along) : null,
  ];
}

const select = (label, key, options, value, onValue) =>
  el('label.field', {}, el('span', {}, label), choice(options, value ?? '', {'data-key': key, onchange: (event) => onValue(event.target.value)}));

// Everything that was answered, to be changed.
export function answersCard({entry, door, subjects, job, number}, {put, drop}) {
  return el(
    'details.card.answers',
    {'data-key': 'closeup-answers'},
    el('summary', {}, gettext('What you said')),
    select(gettext('Door or pipe'), 'closeup-of', [['', gettext('Choose')], ...subjects], entry.of, (value) => put(gettext('said what a close-up shows'), 'of', value)),
    door ? select(gettext('Which leg of the casing'), 'closeup-leg', [['', gettext('Choose')], ...LEGS], entry.leg, (value) => put(gettext('said which leg it is'), 'leg', value)) : null,
    door
      ? el(
          'label.pick',
          {},
          el('input', {
            type: 'checkbox',
            checked: Boolean(entry.mirror),
            'data-key': 'closeup-mirror',
            onchange: (event) => put(gettext('said whether the other leg is alike'), 'mirror', event.target.checked),
          }),
          gettext('The other leg is its mirror image'),
        )
      : null,
    select(gettext('What lies there'), 'closeup-beside', THINGS, entry.beside, (value) => put(gettext('said what lies there'), 'beside', value)),
    entry.corners ? button('closeup-forget', gettext('Forget the four corners'), () => put(gettext('forgot the corners'), 'corners', null)) : null,
    entry.foot
      ? select(gettext('Foot of the pipe'), 'closeup-foot', [['collar', gettext('The ring is the collar')], ['pipe', gettext('The ring is the pipe itself')]], entry.foot, (value) => put(gettext('said what the ring is'), 'foot', value)) // prettier-ignore
      : null,
    lengthField({
      label: gettext('Height above the floor'),
      why: gettext('Only if you trace something higher than the floor, such as the top of a skirting.'),
      value: entry.height ?? null,
      show: job.show ?? 'metric',
      key: 'closeup-height',
      clearable: true,
      isSmall: true,
      onLength: (mm) => put(gettext('typed a height'), 'height', mm),
    }).element,
    iconButton('bin', gettext('Take close-up {number} out', {number: number + 1}), drop, {'data-key': 'closeup-out'}),
  );
}

// What came of it. told: the desk's answer or its refusal; doing: {keep, go}
export function resultCard({told, now, isAsking}, {keep, go}) {
  const asked = [now?.question, now?.collar];
  return el(
    'section.card',
    {'aria-label': gettext('What the photo tells')},
    el('h2', {}, gettext('What the photo tells')),
    isAsking ? working(gettext('Measuring')) : null,
    told?.says ? sentence('look', told.says) : null,
    now?.drawing ? el('div.shape-box', {}, shapeDrawing(now.drawing)) : null,
    ...(now?.says ?? []).filter((text) => !asked.includes(text)).map((text) => sentence(text === now.fault ? 'look' : 'tell', text)),
    now?.ready
      ? el('div.foot', {}, button('closeup-keep', gettext('Keep it in the job'), keep), button('closeup-pack', gettext('Print it: traced.pdf in the pack'), () => go('pack')))
      : null,
    now ? el('p.caution', {}, now.caution) : null,
  );
}
