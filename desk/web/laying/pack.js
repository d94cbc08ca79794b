// Step "Pack": choose the paper, make the pack, take it away.

import {el, refill, say, sentence, glyph, working} from '../common/dom.js';
import {doubtsOf, doubtWords} from '../common/mends.js';
import {unseenWords} from '../common/unseen.js';
import {keep, ownRulers} from '../common/kept.js';
import {lengthField} from '../fields/lengthfield.js';
import {mendIt} from '../rows/rows.js';
import {work} from '../common/api.js';
import {gettext, ngettext, localised} from '../common/words.js';

const NAMES = {
  'booklet.pdf': [gettext('The booklet'), gettext('One page to a row, with what to cut and where each piece comes from.')],
  'booklet.html': [gettext('The booklet for your phone'), gettext('One page that works without a network and keeps your ticks.')],
  'templates.pdf': [gettext('The templates'), gettext('True to size. Print at 100 %, and measure the check line before you saw.')],
  'traced.pdf': [gettext('The casings from your close-ups'), gettext('Cut out the first page and try it against the casing before you saw.')],
  'plan.svg': [gettext('The plan'), gettext('As a drawing.')],
  'cuts.csv': [gettext('The cut list'), gettext('As a table.')],
  'plan.dxf': [gettext('The plan'), gettext('For drawing programs.')],
  'templates.dxf': [gettext('The templates'), gettext('For drawing programs and machines.')],
  'plan.json': [gettext('The plan'), gettext('For other programs.')],
};

export function create(ctx) {
  const {papers} = ctx.store.choices;
  let paper = ctx.store.settings.paper ?? papers.find(({usual}) => usual === (ctx.store.job.show ?? 'metric')).key;
  let making = false;
  let refusal = null; // why there is no pack of the job as it is
  let fetched = null; // the pack that was downloaded
  const {store} = ctx;
  const read = {}; // what one ruler measures, until both are known
  const form = el('section.card', {'aria-label': gettext('Paper')});
  const rulers = el('section.card', {'aria-label': gettext('My rulers measure')});
  const plan = el('section.card', {'aria-label': gettext('Which plan is printed')});
  const files = el('section.card', {'aria-label': gettext('Files'), hidden: true});
  const element = el(
    'div',
    {},
    el('h1', {}, gettext('The pack')),
    el('p.lead', {}, gettext('A booklet to lay the floor by, and templates to saw by.')),
    el('div.two', {}, el('div', {}, plan, form, rulers), files),
  );

  async function make() {
    making = true;
    refusal = null;
    update();
    say(gettext('Making the pack.'));
    try {
      ctx.packed = await work('pack', {paper});
      say(gettext('The pack is ready.'));
    } catch (error) {
      say('');
      refusal = {says: [error.says ?? error.message, ...(error.more ?? [])], where: error.where ?? '', isOfJob: Boolean(error.slug), job: store.job};
    }
    making = false;
    update();
  }

  function ruler(key, label) {
    const entry = store.job.rulers?.[key];
    return lengthField({
      label,
      value: read[key]?.mm ?? entry?.mm ?? null,
      typed: read[key]?.typed ?? entry?.typed ?? '',
      show: store.job.show ?? 'metric',
      key: `ruler-${key}`,
      clearable: true,
      placeholder: store.usual[store.job.show ?? 'metric'][`ruler_${key}`],
      onLength: (mm, typed) => putRuler(key, mm === null ? null : {mm, typed}),
    }).element;
  }

  // Both or none: a printer may err differently each way, and half a correction would be none.
  function putRuler(key, entry) {
    read[key] = entry;
    const both = Object.fromEntries(['across', 'down'].map((name) => [name, name in read ? read[name] : (store.job.rulers?.[name] ?? null)]));
    refusal = null;
    if (both.across && both.down) {
      keep(store, {rulers: {show: store.job.show ?? 'metric', across: both.across.mm, down: both.down.mm}});
      store.change(gettext('typed what the rulers measure'), (job) => Object.assign(job, {rulers: both}));
    } else if (store.job.rulers) store.change(gettext('took the rulers out'), (job) => delete job.rulers);
    else update();
  }

  function fillRulers() {
    const isHalf = Boolean(read.across) !== Boolean(read.down) && !store.job.rulers;
    refill(
      rulers,
      el('h2', {}, gettext('My rulers measure')),
      el(
        'p',
        {},
        gettext('Print the templates once at 100 % and measure both long rulers of the first sheet with your tape. If they are off, type what they measure: every template is then corrected for your printer.'),
      ),
      el('div.fields', {}, ruler('across', gettext('Ruler across')), ruler('down', gettext('Ruler down'))),
      fromEarlier(),
      isHalf ? sentence('tell', gettext('The other ruler is needed as well: a printer may err differently each way.')) : null,
    );
  }

  // Measured for an earlier job on this machine: they hold here too, until they are forgotten.
  function fromEarlier() {
    const own = ownRulers(store);
    const {says} = store.settings;
    return [
      says ? sentence('look', says) : null,
      own
        ? sentence('tell', gettext('Measured for an earlier job on this machine: {lengths}. The templates are corrected by it.', {lengths: store.settings.measured}), ' ', forget())
        : null,
    ];
  }

  const forget = () =>
    el(
      'button.quiet.inline',
      {
        type: 'button',
        'data-key': 'forget-rulers',
        onclick: async () => {
          await keep(store, {rulers: null});
          update();
        },
      },
      gettext('Another printer: forget it'),
    );

  function fillPlan() {
    const {kept, state, revision} = ctx.plan;
    const isFresh = state === 'ok' && revision === store.revision;
    plan.hidden = !isFresh;
    if (!isFresh) return;
    const words = kept?.current
      ? sentence('good', kept.day ? gettext('Your plan is printed, as you kept it on {day}.', {day: kept.day}) : gettext('The plan kept in the job is printed.'))
      : sentence('tell', kept ? kept.says : gettext('No plan is kept yet. A pack made later may show another plan, unless you say on the page Rows that this one is yours.'));
    const rows = kept?.current ? null : el('div.foot', {}, el('button', {type: 'button', 'data-key': 'to-rows', onclick: () => ctx.go('rows')}, gettext('See the rows')));
    refill(plan, unseenWords(ctx), words, rows, doubtsOf(ctx.survey).map((doubt) => doubtWords(doubt, ctx)));
  }

  function fileRow({name, bytes, href}) {
    const [title, note] = NAMES[name] ?? [name, ''];
    const pdf = name.endsWith('.pdf');
    return el(
      'li',
      {},
      el('div', {}, el('b', {}, title), el('span', {}, `${name}, ${size(bytes)}`), note ? el('span.why', {}, note) : null),
      el(
        'a.button',
        {href, target: pdf ? '_blank' : null, rel: 'noopener', 'aria-label': pdf ? gettext('Open {name}', {name}) : gettext('Save {name}', {name})},
        glyph(pdf ? 'open' : 'load'),
        pdf ? gettext('Open') : gettext('Save'),
      ),
    );
  }

  function update() {
    if (refusal?.job !== store.job) refusal = null;
    fillPlan();
    fillRulers();
    refill(
      form,
      el('h2', {}, gettext('Paper in your printer')),
      el(
        'fieldset.picks',
        {},
        el('legend.hidden', {}, gettext('Paper')),
        papers.map(({key, label}) =>
          el(
            'label.pick',
            {},
            el('input', {
              type: 'radio',
              name: 'paper',
              value: key,
              checked: paper === key,
              'data-key': `paper-${key}`,
              onchange: () => {
                paper = key;
                keep(store, {paper});
                ctx.packed = null;
                update();
              },
            }),
            label,
          ),
        ),
      ),
      making ? working(gettext('Planning and drawing. This takes a few seconds.')) : null,
      refusal?.says.map((text) => sentence('look', text)),
    );
    ctx.drawOnward();
    files.hidden = !ctx.packed;
    if (!ctx.packed) return;
    const main = ctx.packed.files.filter((file) => !file.name.startsWith('templates/'));
    const order = Object.keys(NAMES);
    main.sort((a, b) => order.indexOf(a.name) - order.indexOf(b.name));
    const single = ctx.packed.files.length - main.length;
    refill(
      files,
      el('h2', {}, gettext('Ready')),
      fetched === ctx.packed ? el('a.button', {href: ctx.packed.zip, 'data-key': 'zip'}, glyph('load'), gettext('Download it again (zip)')) : null,
      el('ul.files', {}, main.map(fileRow)),
      single ? el('p.why', {}, ngettext('The zip also holds {count} template as a single drawing.', 'The zip also holds {count} templates as single drawings.', single)) : null,
    );
  }

  // One thing at a time: made, then taken away, then laid.
  function onward() {
    if (making) return {text: gettext('Making the pack'), key: 'make', isBusy: true};
    if (refusal?.isOfJob && !refusal.where.startsWith('rulers')) return mendIt(ctx, refusal.where);
    if (!ctx.packed) return {text: gettext('Make the pack'), key: 'make', act: make};
    if (fetched === ctx.packed) return undefined;
    return {text: gettext('Download everything'), key: 'zip', href: ctx.packed.zip, act: noteFetched};
  }

  // After the click has followed the link, which is drawn anew.
  function noteFetched() {
    const taken = ctx.packed;
    setTimeout(() => {
      fetched = taken;
      update();
    });
  }

  function open({make: isWished} = {}) {
    ctx.refreshPlan();
    if (isWished && !ctx.packed && !making) make();
  }

  return {element, update, onward, open};
}

function size(bytes) {
  return bytes < 1e6 ? `${Math.max(1, Math.round(bytes / 1e3))} kB` : `${localised((bytes / 1e6).toFixed(1))} MB`;
}
