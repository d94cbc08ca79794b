// The page: opens the job, shows one step at a time, keeps survey and plan fresh.

import {ask, work, Refused} from './api.js';
import {Store} from './store.js';
import {el, refill, say} from './dom.js';
import {inPageWords, ring} from './names.js';
import * as photos from './photos.js';
import * as corners from './corners.js';
import * as tape from './tape.js';
import * as room from './room.js';
import * as closeups from './closeups.js';
import * as boards from './boards.js';
import * as rows from './rows.js';
import * as pack from './pack.js';
import * as day from './day.js';

// Nothing changed for so long: time for the rows, ms.
const QUIET_MS = 300;
const main = document.getElementById('work');
const STEPS = [
  {key: 'photos', name: 'Photos', make: photos, done: ({job}) => job.photos?.length > 0},
  {key: 'corners', name: 'Corners', make: corners, done: ({job}) => ring(job).length > 2},
  {key: 'tape', name: 'Tape', make: tape, done: ({survey}) => survey.state === 'ok'},
  {key: 'room', name: 'Room', make: room, done: ({job}) => Boolean(job.doors?.length || job.pipes?.length)},
  {key: 'closeups', name: 'Close-ups', make: closeups, within: 'room', done: () => false},
  {key: 'boards', name: 'Boards', make: boards, done: ({job}) => Boolean(job.flooring?.board)},
  {key: 'rows', name: 'Rows', make: rows, done: ({plan, revision}) => plan.state === 'ok' && plan.revision === revision && plan.stage !== 'preview'},
  {key: 'pack', name: 'Pack', make: pack, done: ({packed}) => Boolean(packed)},
  {key: 'day', name: 'Day', make: day, done: () => false},
];

async function start() {
  let opened;
  try {
    opened = await ask('GET', '/api/job');
  } catch (error) {
    main.replaceChildren(el('h1', {}, 'The job cannot be opened'), el('p.lead', {}, error.says ?? error.message));
    document.getElementById('saved').textContent = 'Not open';
    return;
  }
  run(new Store(opened));
}

function run(store) {
  const ctx = {store, go, extraNames: new Set(), survey: {state: 'none'}, plan: {state: 'none'}, packed: null, refreshPlan, changed: () => update()};
  const views = new Map();
  let step = null;
  let planning = null; // the revision a plan is being made of
  let glance = null; // a preview on its way: {revision, told}

  function state() {
    return {job: store.job, revision: store.revision, survey: ctx.survey, plan: ctx.plan, packed: ctx.packed};
  }

  function go(key, options) {
    step = STEPS.find((other) => other.key === key) ?? STEPS[0];
    if (location.hash !== `#${step.key}`) history.pushState(null, '', `#${step.key}`);
    if (!views.has(step.key)) views.set(step.key, step.make.create(ctx));
    const view = views.get(step.key);
    main.replaceChildren(view.element);
    main.dataset.step = step.key;
    document.title = `${step.name}: ${store.job.title || 'My room'}`;
    say('');
    view.update();
    view.open?.(options);
    drawSteps();
    main.focus({preventScroll: true});
    scrollTo(0, 0);
  }

  function update() {
    views.get(step?.key)?.update();
    drawSteps();
    const [undo, redo] = ['undo', 'redo'].map((id) => document.getElementById(id));
    const held = [undo, redo].find((button) => button === document.activeElement);
    undo.disabled = !store.undoable;
    redo.disabled = !store.redoable;
    if (held?.disabled) main.focus({preventScroll: true});
    undo.title = store.undoable ? `Undo: ${store.undoable}` : 'Nothing to undo';
    redo.title = store.redoable ? `Redo: ${store.redoable}` : 'Nothing to redo';
    const title = document.getElementById('title');
    if (document.activeElement !== title) title.value = store.job.title ?? '';
    title.title = store.job.title ?? '';
  }

  function drawSteps() {
    refill(
      document.getElementById('steps'),
      STEPS.filter(({within}) => !within).map((other, i) => {
        const done = other.done(state());
        return el(
          'li',
          {},
          el(
            `a${done ? '.done' : ''}`,
            {href: `#${other.key}`, 'aria-current': other.key === (step.within ?? step.key) ? 'step' : null, 'data-key': `step-${other.key}`},
            el('span.dot', {'aria-hidden': 'true'}, done ? '✓' : String(i + 1)),
            el('span', {}, other.name),
            done ? el('span.hidden', {}, ', done') : null,
          ),
        );
      }),
    );
  }

  async function refreshTyped() {
    try {
      const {problems} = await work('typed');
      if (JSON.stringify(problems) === JSON.stringify(store.problems)) return;
      store.problems = problems;
      update();
    } catch {
      // a newer request takes this one's place; a desk that is gone is told by the save
    }
  }

  // Survey after every save, and a preview of the rows in the first quiet moment there can be one, so that it is there when they are opened;
  // a survey never waits for it. The plan that is searched for only when somebody looks at it.
  async function refreshSurvey() {
    if (!(ring(store.job).length >= 3)) {
      ctx.survey = {state: 'none'};
      update();
      return;
    }
    const surveyed = await refresh('survey');
    if (surveyed?.state !== 'ok' || !store.job.flooring?.board) return;
    const {revision} = store;
    await new Promise((resolve) => setTimeout(resolve, QUIET_MS));
    if (store.revision === revision) await preview();
  }

  // What is known of this revision's plan, or a first one in a moment.
  async function preview() {
    const {revision} = store;
    if (ctx.plan.revision === revision && ['ok', 'no'].includes(ctx.plan.state)) return ctx.plan;
    if (glance?.revision !== revision) glance = {revision, told: refresh('plan', 'preview')};
    const {told} = glance;
    const plan = await told;
    if (glance?.told === told) glance = null;
    return plan;
  }

  // A preview at once, then the plan that was searched for. effort: "long" to search again, longer.
  async function refreshPlan(effort) {
    const {revision} = store;
    const isKnown = ctx.plan.revision === revision && ctx.plan.stage !== 'preview' && ctx.plan.state !== 'failed';
    if (effort ? !isKnown : isKnown || planning === revision) return;
    planning = revision;
    const first = effort ? null : await preview();
    if (effort || (first?.state === 'ok' && first.stage === 'preview')) await refresh('plan', 'plan', effort ? {effort} : {});
    if (planning === revision) planning = null;
  }

  // Resolves to what was told, or undefined if the job has changed meanwhile.
  async function refresh(kind, step = kind, options = {}) {
    const {revision} = store;
    ctx[kind] = {...ctx[kind], working: true};
    update();
    let told;
    try {
      told = {state: 'ok', revision, ...(await work(step, options))};
    } catch (error) {
      if (error.slug === 'replaced') return undefined;
      told = {
        state: error instanceof Refused ? 'no' : 'failed',
        revision,
        says: error.says ?? error.message,
        more: error.more ?? [],
        where: error.where,
      };
    }
    if (store.revision !== revision) return undefined;
    ctx[kind] = inPageWords(store.job, told);
    update();
    return told;
  }

  function drawState() {
    const saved = document.getElementById('saved');
    saved.textContent = {saved: 'Saved', saving: 'Saving', conflict: 'Not saved', refused: 'Not saved', silent: 'Not saved'}[store.state];
    saved.classList.toggle('worry', !['saved', 'saving'].includes(store.state));
    const notice = document.getElementById('notice');
    notice.hidden = ['saved', 'saving'].includes(store.state);
    if (notice.hidden) return;
    notice.replaceChildren(
      el('span', {}, store.trouble),
      store.state === 'conflict' ? el('button', {type: 'button', onclick: () => location.reload()}, 'Load the newer one') : '',
      el('button', {type: 'button', onclick: () => keepCopy(store)}, 'Download a copy of mine'),
    );
  }

  store.addEventListener('change', () => {
    ctx.packed = null;
    update();
  });
  store.addEventListener('state', drawState);
  store.addEventListener('saved', () => {
    refreshSurvey();
    refreshTyped();
    if (['rows', 'pack'].includes(step.key)) refreshPlan();
  });
  addEventListener('hashchange', () => go(location.hash.slice(1)));
  document.getElementById('title').addEventListener('change', (event) => {
    const title = event.target.value.trim() || 'My room';
    if (title !== store.job.title)
      store.change('renamed the room', (job) => {
        job.title = title;
      });
  });
  for (const [id, word] of [
    ['undo', 'Undone'],
    ['redo', 'Done again'],
  ]) {
    document.getElementById(id).addEventListener('click', () => {
      const label = store[id]();
      if (label) say(`${word}: ${label}.`);
    });
  }
  addEventListener('keydown', (event) => {
    if (!(event.ctrlKey || event.metaKey) || /^(INPUT|SELECT|TEXTAREA)$/.test(event.target.tagName)) return;
    const key = event.key.toLowerCase();
    const way = key === 'z' ? (event.shiftKey ? 'redo' : 'undo') : key === 'y' ? 'redo' : '';
    if (!way) return;
    event.preventDefault();
    document.getElementById(way).click();
  });
  drawState();
  go(location.hash.slice(1) || firstOpen(state()));
  update();
  refreshSurvey();
  refreshTyped();
}

// Where a job is taken up again: the first step of the main way that is not done.
function firstOpen(now) {
  const open = STEPS.find((step) => ['photos', 'corners', 'tape'].includes(step.key) && !step.done(now));
  return open?.key ?? 'tape';
}

function keepCopy(store) {
  const href = URL.createObjectURL(new Blob([JSON.stringify(store.job, null, 1)], {type: 'application/json'}));
  el('a', {href, download: 'job-copy.json'}).click();
  setTimeout(() => URL.revokeObjectURL(href), 10000);
}

start();
