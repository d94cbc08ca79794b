// Step "Pack": choose the paper, make the pack, take it away.

import {el, refill, say, sentence, glyph, working} from '../common/dom.js';
import {doubtsOf, doubtWords} from '../common/mends.js';
import {unseenWords} from '../common/unseen.js';
import {keep, ownRulers} from '../common/kept.js';
import {lengthField} from '../fields/lengthfield.js';
import {mendIt} from '../rows/rows.js';
import {work} from '../common/api.js';

const NAMES = {
  'booklet.pdf': ['The booklet', 'One page to a row, with what to cut and where each piece comes from.'],
  'booklet.html': ['The booklet for your phone', 'One page that works without a network and keeps your ticks.'],
  'templates.pdf': ['The templates', 'True to size. Print at 100 %, and measure the check line before you saw.'],
  'traced.pdf': ['The casings from your close-ups', 'Cut out the first page and try it against the casing before you saw.'],
  'plan.svg': ['The plan', 'As a drawing.'],
  'cuts.csv': ['The cut list', 'As a table.'],
  'plan.dxf': ['The plan', 'For drawing programs.'],
  'templates.dxf': ['The templates', 'For drawing programs and machines.'],
  'plan.json': ['The plan', 'For other programs.'],
};

export function create(ctx) {
  const {papers} = ctx.store.choices;
  let paper = ctx.store.settings.paper ?? papers.find(({usual}) => usual === (ctx.store.job.show ?? 'metric')).key;
  let making = false;
  let refusal = null; // why there is no pack of the job as it is
  let fetched = null; // the pack that was downloaded
  const {store} = ctx;
  const read = {}; // what one ruler measures, until both are known
  const form = el('section.card', {'aria-label': 'Paper'});
  const rulers = el('section.card', {'aria-label': 'My rulers measure'});
  const plan = el('section.card', {'aria-label': 'Which plan is printed'});
  const files = el('section.card', {'aria-label': 'Files', hidden: true});
  const element = el(
    'div',
    {},
    el('h1', {}, 'The pack'),
    el('p.lead', {}, 'A booklet to lay the floor by, and templates to saw by.'),
    el('div.two', {}, el('div', {}, plan, form, rulers), files),
  );

  async function make() {
    making = true;
    refusal = null;
    update();
    say('Making the pack.');
    try {
      ctx.packed = await work('pack', {paper});
      say('The pack is ready.');
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
      store.change('typed what the rulers measure', (job) => Object.assign(job, {rulers: both}));
    } else if (store.job.rulers) store.change('took the rulers out', (job) => delete job.rulers);
    else update();
  }

  function fillRulers() {
    const isHalf = Boolean(read.across) !== Boolean(read.down) && !store.job.rulers;
    refill(
      rulers,
      el('h2', {}, 'My rulers measure'),
      el(
        'p',
        {},
        'Print the templates once at 100 % and measure both long rulers of the first sheet with your tape. If they are off, type what they measure: ',
        'every template is then corrected for your printer.',
      ),
      el('div.fields', {}, ruler('across', 'Ruler across'), ruler('down', 'Ruler down')),
      fromEarlier(),
      isHalf ? sentence('tell', 'The other ruler is needed as well: a printer may err differently each way.') : null,
    );
  }

  // Measured for an earlier job on this machine: they hold here too, until they are forgotten.
  function fromEarlier() {
    const own = ownRulers(store);
    const {says} = store.settings;
    return [
      says ? sentence('look', says) : null,
      own
        ? sentence('tell', `Measured for an earlier job on this machine: ${store.settings.measured}. The templates are corrected by it. `, forget())
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
      'Another printer: forget it',
    );

  function fillPlan() {
    const {kept, state, revision} = ctx.plan;
    const isFresh = state === 'ok' && revision === store.revision;
    plan.hidden = !isFresh;
    if (!isFresh) return;
    const words = kept?.current
      ? sentence('good', kept.day ? `Your plan is printed, as you kept it on ${kept.day}.` : 'The plan kept in the job is printed.')
      : sentence('tell', kept ? kept.says : 'No plan is kept yet. A pack made later may show another plan, unless you say on the page Rows that this one is yours.');
    const rows = kept?.current ? null : el('div.foot', {}, el('button', {type: 'button', 'data-key': 'to-rows', onclick: () => ctx.go('rows')}, 'See the rows'));
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
        {href, target: pdf ? '_blank' : null, rel: 'noopener', 'aria-label': `${pdf ? 'Open' : 'Save'} ${name}`},
        glyph(pdf ? 'open' : 'load'),
        pdf ? 'Open' : 'Save',
      ),
    );
  }

  function update() {
    if (refusal?.job !== store.job) refusal = null;
    fillPlan();
    fillRulers();
    refill(
      form,
      el('h2', {}, 'Paper in your printer'),
      el(
        'fieldset.picks',
        {},
        el('legend.hidden', {}, 'Paper'),
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
      making ? working('Planning and drawing. This takes a few seconds.') : null,
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
      el('h2', {}, 'Ready'),
      fetched === ctx.packed ? el('a.button', {href: ctx.packed.zip, 'data-key': 'zip'}, glyph('load'), 'Download it again (zip)') : null,
      el('ul.files', {}, main.map(fileRow)),
      single ? el('p.why', {}, `The zip also holds ${single} templates as single drawings.`) : null,
    );
  }

  // One thing at a time: made, then taken away, then laid.
  function onward() {
    if (making) return {text: 'Making the pack', key: 'make', isBusy: true};
    if (refusal?.isOfJob && !refusal.where.startsWith('rulers')) return mendIt(ctx, refusal.where);
    if (!ctx.packed) return {text: 'Make the pack', key: 'make', act: make};
    if (fetched === ctx.packed) return undefined;
    return {text: 'Download everything', key: 'zip', href: ctx.packed.zip, act: noteFetched};
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
  return bytes < 1e6 ? `${Math.max(1, Math.round(bytes / 1e3))} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}
