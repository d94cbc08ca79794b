// Step "Boards": what the pack's label says, and the rules of laying. Empty boxes hold the usual value, which is shown.

import {el, refill, sentence, choice} from '../common/dom.js';
import {lengthField} from '../fields/lengthfield.js';
import {countField} from '../fields/countfield.js';
import {packLengths, wholeRows} from '../fields/packlengths.js';
import {typedWrong} from '../fields/typed.js';
import {Label} from './label.js';
import {wallKey, wallOf, wallOptions} from '../common/names.js';
import {gettext, ngettext, localised, lowered} from '../common/words.js';

export function create(ctx) {
  const {store} = ctx;
  const draft = {}; // board and roll sizes typed so far; a board is saved once length and width are both there
  const board = el('section.card', {'aria-label': gettext('The board')});
  const gaps = el('section.card', {'aria-label': gettext('Gap and saw')});
  const rules = el('section.card', {'aria-label': gettext('Rules')});
  const ways = el('section.card', {'aria-label': gettext('Direction')});
  const under = el('section.card', {'aria-label': gettext('Underlay')});
  const element = el(
    'div',
    {},
    el('h1', {}, gettext('The boards')),
    el('p.lead', {}, gettext('Paste or copy the sizes from the label on the pack. The rest has usual values.')),
    el('div.two', {}, el('div', {}, board, gaps, under), el('div', {}, rules, ways)),
  );

  const label = new Label(store, {onBoard: takeLabel, onTold: () => update()});

  // What a label tells replaces what was typed; what it does not tell stays.
  function takeLabel(told) {
    for (const key of Object.keys(draft)) if (!key.startsWith('under-')) delete draft[key];
    put(gettext('read the label'), (f) => {
      const {lengths: _, ...board} = f.board ?? {};
      f.board = {...board, ...told};
    });
  }

  const flooring = () => store.job.flooring ?? {};
  const show = () => store.job.show ?? 'metric';
  const usual = (key) => store.usual[show()][key];

  function put(label, edit) {
    store.change(label, (job) => {
      job.flooring ??= {};
      edit(job.flooring);
    });
  }

  function boardSize(key, label, why) {
    const value = draft[key] ?? flooring().board?.[key] ?? null;
    return lengthField({
      label,
      why,
      value,
      show: show(),
      key: `board-${key}`,
      isSmall: key === 'thickness',
      usual: key === 'thickness' ? usual('thickness') : '',
      clearable: key === 'thickness',
      onLength: (mm) => {
        draft[key] = mm;
        saveBoard();
      },
    }).element;
  }

  function saveBoard() {
    const next = {...flooring().board, ...draft, lengths: wholeRows(mixRows())};
    if (next.lengths.length) next.length = next.pack = null;
    else next.lengths = null;
    for (const [key, value] of Object.entries(next)) if (value === null) delete next[key];
    if ((next.length || next.lengths) && next.width) {
      const isWhole = wholeRows(mixRows()).length === mixRows().length;
      for (const key of Object.keys(draft)) if (!key.startsWith('under-') && (key !== 'lengths' || isWhole)) delete draft[key];
      put(gettext('changed the board'), (f) => {
        f.board = next;
      });
    } else update();
  }

  const mixRows = () => draft.lengths ?? flooring().board?.lengths ?? [];

  function fillBoard() {
    const isMixed = mixRows().length > 0;
    const missing =
      !flooring().board && (draft.length || draft.width || draft.thickness || isMixed)
        ? sentence('tell', isMixed ? gettext('The width and one length with its number are needed before the board is saved.') : gettext('Length and width are both needed before the board is saved.'))
        : null;
    refill(
      board,
      el('h2', {}, gettext('On the label')),
      label.part(),
      el('p', {}, gettext('Size of the face as it lies, without the tongue.')),
      el(
        'div.fields',
        {},
        isMixed ? null : boardSize('length', gettext('Length'), ''),
        boardSize('width', gettext('Width'), ''),
        boardSize('thickness', gettext('Thickness'), ''),
        isMixed
          ? null
          : countField({
              label: gettext('Pack holds'),
              key: 'board-pack',
              value: draft.pack ?? flooring().board?.pack ?? null,
              placeholder: ngettext('{count} board', '{count} boards', store.defaults.pack),
              onCount: (count) => {
                draft.pack = count;
                saveBoard();
              },
            }),
      ),
      packLengths({
        rows: mixRows,
        show: show(),
        onRows: (rows) => {
          draft.lengths = rows;
          saveBoard();
        },
      }),
      missing,
      typedWrong(store, ['flooring']),
    );
  }

  function plain(key, label, why) {
    return lengthField({
      label,
      why,
      value: typeof flooring()[key] === 'number' ? flooring()[key] : null,
      show: show(),
      usual: flooring()[key] === 'auto' ? gettext('worked out') : usual(key),
      clearable: true,
      key: `plain-${key}`,
      isSmall: true,
      onLength: (mm) =>
        put(gettext('changed {what}', {what: lowered(label)}), (f) => {
          if (mm === null) delete f[key];
          else f[key] = mm;
        }),
    }).element;
  }

  function rule({key, label, help: why}) {
    return lengthField({
      label,
      why,
      value: flooring().rules?.[key] ?? null,
      show: show(),
      usual: usual(key),
      clearable: true,
      key: `rule-${key}`,
      onLength: (mm) =>
        put(gettext('changed {what}', {what: lowered(label)}), (f) => {
          f.rules ??= {};
          if (mm === null) delete f.rules[key];
          else f.rules[key] = mm;
        }),
    }).element;
  }

  function roll(key, part, label) {
    const saved = flooring().underlay;
    const value = draft[`under-${key}`] ?? (part ? saved?.roll?.[part] : saved?.thickness) ?? null;
    return lengthField({
      label,
      value,
      show: show(),
      clearable: true,
      key: `under-${key}`,
      isSmall: key === 'thickness',
      onLength: (mm) => {
        draft[`under-${key}`] = mm;
        saveRoll();
      },
    }).element;
  }

  function saveRoll() {
    const saved = flooring().underlay;
    const pick = (key, old) => (draft[`under-${key}`] === undefined ? old : draft[`under-${key}`]);
    const next = {
      thickness: pick('thickness', saved?.thickness),
      roll: {length: pick('length', saved?.roll?.length), width: pick('width', saved?.roll?.width)},
    };
    const whole = next.thickness && next.roll.length && next.roll.width;
    if (whole || saved)
      put(gettext('changed the underlay'), (f) => {
        if (whole) f.underlay = next;
        else delete f.underlay;
      });
    else update();
  }

  function fillWays() {
    const walls = wallOptions(store.job, [flooring().direction, flooring().start].filter(Array.isArray));
    const direction = flooring().direction;
    const along = Array.isArray(direction) ? wallKey(direction) : typeof direction === 'number' ? 'angle' : 'auto';
    const start = Array.isArray(flooring().start) ? wallKey(flooring().start) : 'auto';
    const chosen = (value) => (value === 'auto' ? 'auto' : wallOf(value));
    const picker = (label, why, options, value, save, key) =>
      el('label.field', {}, label, choice(options, value, {'data-key': key, onchange: (event) => save(event.target.value)}), el('span.why', {}, why));
    refill(
      ways,
      el('h2', {}, gettext('How it lies')),
      el('p', {}, gettext('Left to the tool, it takes what needs fewest boards and leaves no slivers.')),
      el(
        'div.fields.broad',
        {},
        picker(
          gettext('Rows run'),
          gettext('Along the longest wall is usual.'),
          [
            ['auto', gettext('the tool decides')],
            ...walls.map(([key, text]) => [key, gettext('along {wall}', {wall: text})]),
            ...(along === 'angle' ? [['angle', gettext('at {angle} degrees', {angle: localised(direction)})]] : []),
          ],
          along,
          (value) => {
            if (value !== 'angle')
              put(gettext('changed the direction'), (f) => {
                f.direction = chosen(value);
              });
          },
          'way-direction',
        ),
        picker(
          gettext('First row at'),
          gettext('Start at the wall that is seen most.'),
          [['auto', gettext('the tool decides')], ...walls],
          start,
          (value) =>
            put(gettext('changed the start wall'), (f) => {
              f.start = chosen(value);
            }),
          'way-start',
        ),
        lengthField({
          label: gettext('Width of the first row'),
          value: typeof flooring().first_row === 'number' ? flooring().first_row : null,
          show: show(),
          usual: gettext('the tool decides'),
          clearable: true,
          key: 'way-first',
          why: gettext('Narrowing it keeps the last row from being a sliver.'),
          onLength: (mm) =>
            put(gettext('changed the first row'), (f) => {
              f.first_row = mm === null ? 'auto' : mm;
            }),
        }).element,
        picker(
          gettext('End joints'),
          gettext('Thirds and halves look regular and take more boards.'),
          [
            ['fewest', gettext('fewest boards')],
            ['thirds', gettext('stepped by a third')],
            ['halves', gettext('stepped by a half')],
          ],
          flooring().pattern ?? 'fewest',
          (value) =>
            put(gettext('changed the joints'), (f) => {
              f.pattern = value;
            }),
          'way-pattern',
        ),
        picker(
          gettext('You lay'),
          gettext('Facing the start wall. Most click boards go left to right.'),
          [
            ['left-to-right', gettext('left to right')],
            ['right-to-left', gettext('right to left')],
          ],
          flooring().lay ?? 'left-to-right',
          (value) =>
            put(gettext('changed the hand'), (f) => {
              f.lay = value;
            }),
          'way-lay',
        ),
      ),
    );
  }

  function update() {
    fillBoard();
    refill(
      gaps,
      el('h2', {}, gettext('Gap and saw')),
      el(
        'div.fields',
        {},
        plain('gap', gettext('Gap to the walls'), gettext('Wood and laminate swell; the skirting hides it. Follow the label if it says more.')),
        plain('kerf', gettext('Saw cut'), gettext('What the blade turns to dust at each cut.')),
      ),
      el(
        'label.pick',
        {},
        el('input', {
          type: 'checkbox',
          checked: flooring().gap === 'auto',
          'data-key': 'gap-auto',
          onchange: (event) =>
            put(event.target.checked ? gettext('left the gap to the tool') : gettext('took the usual gap'), (f) => {
              if (event.target.checked) f.gap = 'auto';
              else delete f.gap;
            }),
        }),
        gettext('Work the gap out from the size of the room'),
      ),
    );
    refill(
      under,
      el('h2', {}, gettext('Underlay')),
      el('p', {}, gettext('For the shopping list and the height at doors. Leave empty if there is none.')),
      el('div.fields', {}, roll('thickness', '', gettext('Thickness')), roll('length', 'length', gettext('Roll length')), roll('width', 'width', gettext('Roll width'))),
    );
    refill(
      rules,
      el('h2', {}, gettext('Rules')),
      el('p', {}, gettext('The label may ask for more; then type its number.')),
      el(
        'div.fields',
        {},
        store.choices.rules.map(rule),
      ),
    );
    fillWays();
  }

  return {element, update};
}
