// Step "Tape": lengths between points, each echoed as it was read, beside the floor they make.

import {el, refill, say, sentence, choice, iconButton, whole} from '../common/dom.js';
import {fillFound} from '../common/found.js';
import {doubtWords, mendButtons} from '../common/mends.js';
import {keep} from '../common/kept.js';
import {whichFloor} from '../corners/anotherfloor.js';
import {unseenWords} from '../common/unseen.js';
import {fieldIn, lengthField} from '../fields/lengthfield.js';
import {Drawing, drawFloor} from '../common/planview.js';
import {isRough} from '../fields/offwalls.js';
import {typedWrong} from '../fields/typed.js';
import {pointNames, samePair, wallName, walls, wallOf, wallOptions} from '../common/names.js';
import {gettext, language} from '../common/words.js';

export function create(ctx) {
  const {store} = ctx;
  let pair = ['', '']; // the next length: between these two
  let isOffered = true; // nobody has chosen the pair: it follows what is best measured next
  let offWall = ''; // or: pair[0] square off this wall
  let offPoint = ''; // the point last taped off a wall: it usually is taped off a second one
  let kind = 'between';
  let refusal = '';
  let newLength = null;
  let isAdding = false;

  const rows = el('ul.lengths');
  const listed = el('section.card', {'aria-label': gettext('Lengths so far')}, el('h2', {}, gettext('Lengths so far')), rows);
  const adder = el('div.adder');
  const drawing = new Drawing(gettext('Plan of the floor'), 'floor');
  const found = el('div');
  const words = el('div', {'aria-live': 'polite'});
  const units = el('div');
  const element = el(
    'div',
    {},
    el('h1', {}, gettext('Tape lengths')),
    el('p.lead', {}, gettext('One length tells the size. A few more, corner to corner across the room among them, let a slip of the tape be found.')),
    el(
      'div.taping',
      {},
      el('section.card', {'aria-label': gettext('A new length')}, adder, units),
      el('section.card.sticky', {'aria-label': gettext('The floor so far')}, found, drawing.element, words),
      listed,
    ),
  );
  drawing.redraw = drawPlan;

  const taped = () => store.job.tape ?? [];
  const has = (a, b) => taped().some((entry) => entry.between && samePair(entry.between, [a, b]));

  // The pair offered next: what the survey would like best, else a wall nobody has measured.
  function offer() {
    const names = pointNames(store.job);
    const listed = (ctx.sketch.now?.measure.next ?? []).find(([a, b]) => !has(a, b)); // the fewest that fix the floor
    if (listed) return listed;
    const wished = ctx.survey.state === 'ok' && ctx.survey.answer.next.map((advice) => advice.between).find(([a, b]) => !has(a, b));
    return wished || walls(store.job).find(([a, b]) => !has(a, b)) || [names[0] ?? '', names[1] ?? ''];
  }

  function pointPick(index, key, label) {
    return choice([['', '–'], ...pointNames(store.job).map((name) => [name, name])], pair[index], {
      'aria-label': label,
      'data-key': key,
      onchange: (event) => {
        pair[index] = event.target.value;
        isOffered = false;
        update();
      },
    });
  }

  function fillAdder() {
    if (!pointNames(store.job).includes(pair[0])) isOffered = true;
    if (isOffered) pair = kind === 'off' ? [offPoint, ''] : [...offer()];
    const field = lengthField({
      label: gettext('Length'),
      show: store.job.show ?? 'metric',
      key: 'new-length',
      onEnter: add,
      onLength: () => {},
      placeholder: store.job.show === 'imperial' ? `11' 2 3/8"` : gettext('4.312 m'),
    });
    const kinds = el(
      'fieldset.picks',
      {},
      el('legend.hidden', {}, gettext('Kind of length')),
      [
        ['between', gettext('Point to point')],
        ['off', gettext('Off a wall')],
      ].map(([key, text]) =>
        el(
          'label.pick',
          {},
          el('input', {
            type: 'radio',
            name: 'kind',
            value: key,
            checked: kind === key,
            'data-key': `kind-${key}`,
            onchange: () => {
              kind = key;
              update();
            },
          }),
          text,
        ),
      ),
    );
    const ends =
      kind === 'between'
        ? [el('label.field', {}, gettext('From'), pointPick(0, 'from', gettext('From point'))), el('label.field', {}, gettext('To'), pointPick(1, 'to', gettext('To point')))]
        : [
            el('label.field', {}, gettext('Point'), pointPick(0, 'from', gettext('Point'))),
            el(
              'label.field',
              {},
              gettext('Off wall'),
              choice([['', '–'], ...wallOptions(store.job)], offWall, {
                'data-key': 'off-wall',
                onchange: (event) => {
                  offWall = event.target.value;
                },
              }),
            ),
          ];
    refill(
      adder,
      el('h2', {}, gettext('Add a length'), ' ', counted()),
      kinds,
      el('div.row', {}, ends, field.element),
      refusal ? sentence('look', refusal) : null,
      el('button', {type: 'button', 'data-key': 'add', onclick: add}, gettext('Add this length')),
      typedWrong(store, ['tape']),
    );
    newLength = fieldIn(adder, 'new-length');
  }

  // How far along one is with what is worth measuring.
  function counted() {
    const {done, next = []} = ctx.sketch.now?.measure ?? {};
    return next.length && kind === 'between' ? el('span.count', {}, gettext('{number} of {total}', {number: done + 1, total: done + next.length})) : null;
  }

  // What is still missing of the new length, in a sentence, or "".
  function missing() {
    if (!newLength.input.value.trim()) return gettext('Type the length the tape shows.');
    if (kind === 'between') return pair[0] && pair[1] && pair[0] !== pair[1] ? '' : gettext('Choose two different points.');
    if (!pair[0] || !offWall) return gettext('Choose the point and the wall.');
    return wallOf(offWall).includes(pair[0]) ? gettext('{name} is an end of that wall; choose another point.', {name: pair[0]}) : '';
  }

  async function add() {
    if (isAdding) return;
    refusal = missing();
    if (refusal) {
      update();
      return;
    }
    const place = kind === 'between' ? {between: [...pair]} : {point: pair[0], wall: wallOf(offWall)};
    isAdding = true;
    const reading = await newLength.read();
    isAdding = false;
    if (!reading) {
      newLength.input.focus();
      return;
    }
    const entry = {...place, ...reading};
    newLength.clear();
    const told = entry.between ? wallName(entry.between) : gettext('{point} off {wall}', {point: entry.point, wall: wallName(entry.wall)});
    if (entry.point) offPoint = entry.point;
    isOffered = true;
    store.change(gettext('added {name}', {name: told}), (job) => {
      job.tape = [...(job.tape ?? []), entry];
    });
    say(gettext('{what}: {length} added.', {what: told, length: reading.typed}));
    adder.querySelector('[data-key=from]')?.focus();
  }

  function lengthRow(entry, i, told) {
    const name = entry.between ? entry.between.join('–') : gettext('{point} off {wall}', {point: entry.point, wall: entry.wall.join('–')});
    const note = ctx.survey.state === 'ok' ? ctx.survey.shown.tape[`tape[${i}]`] : '';
    const suspect = ctx.survey.state === 'ok' && ctx.survey.answer.suspects.find((reading) => reading.where === `tape[${i}]`);
    const field = lengthField({
      label: gettext('Length {name}', {name}),
      hideLabel: true,
      show: store.job.show ?? 'metric',
      value: entry.mm,
      typed: entry.typed,
      key: `length-${i}-${name}`,
      onLength: (mm, typed) =>
        store.change(gettext('changed {name}', {name}), (job) => {
          Object.assign(job.tape[i], {mm, typed});
        }),
    });
    const row = el(
      `li${suspect ? '.suspect' : ''}`,
      {'data-key': `tape-${i}-${name}`},
      el('b.pair', {}, name),
      field.element,
      iconButton(
        'bin',
        gettext('Remove {name}', {name}),
        () =>
          store.change(gettext('removed {name}', {name}), (job) => {
            job.tape.splice(i, 1);
          }),
        {'data-key': `remove-${i}`},
      ),
      suspect
        ? el('span.note', {}, el('b', {}, gettext('Check this one.'), ' '), told.has(suspect.says) ? '' : whole(suspect.says), ' ', el('span.choices', {}, mendsHere(suspect)))
        : note ? el('span.note', {}, note) : null,
    );
    if (suspect) told.add(suspect.says);
    return row;
  }

  // What would put a doubted length right, where it stands; the very buttons of the headline stand there.
  function mendsHere({mends}) {
    return ctx.survey.revision === store.revision ? mendButtons(mends, store, 'here') : [];
  }

  // What was put on the plan by hand is no length of the tape yet: it is typed where it stands.
  function byHand() {
    const points = new Set(taped().filter(isRough).map(({point}) => point));
    if (!points.size) return null;
    const go = el('button.quiet.inline', {type: 'button', 'data-key': 'by-hand', onclick: () => ctx.go('room')}, gettext('Type where they are'));
    return el('li.by-hand', {'data-key': 'tape-by-hand'}, el('span', {}, gettext('{names}: put on the plan by hand.', {names: [...points].join(', ')}), ' ', go));
  }

  function fillUnits() {
    refill(
      units,
      el(
        'fieldset.picks.small',
        {},
        el('legend', {}, gettext('Show lengths in')),
        [
          ['metric', 'mm'],
          ['imperial', gettext('feet and inches')],
        ].map(([key, text]) =>
          el(
            'label.pick',
            {},
            el('input', {
              type: 'radio',
              name: 'show',
              value: key,
              checked: (store.job.show ?? 'metric') === key,
              'data-key': `show-${key}`,
              onchange: () => {
                keep(store, {show: key});
                store.change(gettext('changed the units'), (job) => {
                  job.show = key;
                });
              },
            }),
            text,
          ),
        ),
      ),
      languagePick(),
    );
  }

  // The page is loaded anew in the language chosen, once the job says so on the disk.
  function languagePick() {
    const {languages} = store.choices;
    if (!languages.length) return null;
    const choose = (event) => {
      store.addEventListener('saved', () => location.reload(), {once: true});
      store.change(gettext('changed the language'), (job) => {
        job.language = event.target.value;
      });
    };
    const options = languages.map(({key, label}) => [key, label]);
    return el('label.inline-field', {}, gettext('Language'), ' ', choice(options, language, {'data-key': 'language', onchange: choose}));
  }

  function pickPoint(name) {
    kind = 'between';
    const whole = isOffered || (pair[0] && pair[1]);
    isOffered = false;
    pair = !pair[0] || whole ? [name, ''] : pair[0] === name ? ['', ''] : [pair[0], name];
    update();
    if (pair[0] && pair[1]) newLength.input.focus();
    else if (pair[0]) say(gettext('From {name}: tap the other end.', {name: pair[0]}));
  }

  function drawPlan() {
    const {survey} = ctx;
    const ready = Boolean(survey.answer);
    drawing.element.toggleAttribute('hidden', !ready);
    drawing.element.classList.toggle('stale', Boolean(survey.working));
    if (!ready) return;
    drawFloor(drawing, survey, {
      suspects: survey.answer.suspects.filter((r) => r.kind === 'tape').map((r) => r.between),
      next: survey.answer.next.slice(0, 1).map((r) => r.between),
      chosen: pair.filter(Boolean),
      onPoint: pickPoint,
      job: store.job,
    });
  }

  function fillWords() {
    const {survey} = ctx;
    const title = survey.answer ? gettext('The floor: {area}', {area: survey.shown.area}) : gettext('The floor');
    refill(
      found,
      el('h2', {}, title),
      el(
        'p.why',
        {},
        survey.answer
          ? gettext('Lengths in {unit}, each with what it may be off (19 times in 20). Tap two points to measure between them.', {unit: survey.shown.unit})
          : '',
        survey.answer && drawing.larger ? ` ${gettext('The ovals show how far each corner may be off, {times} times as large as they are.', {times: drawing.larger})}` : '',
      ),
    );
    fillFound(words, survey, {
      unseen: () => unseenWords(ctx, 'h3'),
      which: () => whichFloor(ctx),
      doubt: (doubt) => doubtWords(doubt, ctx),
      measure: (between) => {
        kind = 'between';
        pair = [...between];
        isOffered = false;
        update();
        newLength.input.focus();
      },
      isSeen: (between) => Boolean(photoOf(between)),
      look: (between) => ctx.go('corners', {file: photoOf(between), measure: between}),
    });
  }

  // A photo in which the survey expects both points to be seen.
  function photoOf([a, b]) {
    return Object.entries(ctx.survey.shown.expected).find(([, places]) => places[a] && places[b])?.[0];
  }

  function update() {
    fillUnits();
    const told = new Set(); // a sentence about several lengths is said at the first of them
    refill(
      rows,
      taped().map((entry, i) => (isRough(entry) ? null : lengthRow(entry, i, told))),
      byHand(),
    );
    listed.hidden = !taped().length;
    fillAdder();
    drawPlan();
    fillWords();
  }

  // `off`: a point, a pipe say, that is to be taped off walls; `between`: two points that are to be measured.
  function open({off, between} = {}) {
    if (!off && !between) return;
    kind = off ? 'off' : 'between';
    isOffered = false;
    pair = off ? [off, ''] : [...between];
    update();
    if (off) adder.querySelector('[data-key=off-wall]').focus();
    else newLength.input.focus();
  }

  return {element, update, open};
}
