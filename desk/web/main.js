// The page: opens the job, shows one step at a time, keeps survey and plan fresh.

import {ask} from './common/api.js';
import {el, say} from './common/dom.js';
import {Store} from './common/store.js';
import {Sketching} from './common/sketching.js';
import {turnTowards} from './common/turning.js';
import {keepFresh} from './fresh.js';
import {Help} from './help/help.js';
import {drawHead, drawSaved, listenToHead} from './head.js';
import {drawOnward} from './onward.js';
import {drawSteps, firstOpen, showStep, stepBefore, stepNamed} from './steps.js';
import {gettext, speakAmerican} from './common/words.js';

const main = document.getElementById('work');

async function start() {
  let opened;
  try {
    opened = await ask('GET', '/api/job');
  } catch (error) {
    main.replaceChildren(el('h1', {}, gettext('The job cannot be opened')), el('p.lead', {}, error.says ?? error.message));
    document.getElementById('saved').textContent = gettext('Not open');
    return;
  }
  run(new Store(opened));
}

function run(store) {
  const speak = () => speakAmerican(store.job.show === 'imperial', store.choices.american);
  speak();
  const ctx = {store, go, extraNames: new Set(), survey: {state: 'none'}, plan: {state: 'none'}, packed: null, changed: update};
  ctx.sketch = new Sketching(ctx);
  const {refreshTyped, refreshSurvey, refreshPlan} = keepFresh(ctx);
  ctx.refreshPlan = refreshPlan;
  const views = new Map();
  const help = new Help(store);
  let step = null;
  // The way on, drawn anew: a view whose next step is another one calls it.
  ctx.drawOnward = () => {
    const view = views.get(step?.key);
    if (view) drawOnward({step, before: stepBefore(step), view, ctx});
  };

  function state() {
    return {job: store.job, revision: store.revision, survey: ctx.survey, plan: ctx.plan, packed: ctx.packed};
  }

  function go(key, options) {
    step = stepNamed(key);
    if (location.hash !== `#${step.key}`) history.pushState(null, '', `#${step.key}`);
    if (!views.has(step.key)) views.set(step.key, step.make.create(ctx));
    show(step, views.get(step.key), options);
  }

  function show(shown, view, options) {
    main.replaceChildren(view.element);
    main.dataset.step = shown.key;
    document.title = gettext('{lead}: {text}', {lead: shown.name, text: store.job.title || gettext('My room')});
    say('');
    view.update();
    view.open?.(options);
    drawSteps(step, state());
    ctx.drawOnward();
    main.focus({preventScroll: true});
    help.at(shown);
    showStep();
    scrollTo(0, 0);
  }

  function update() {
    turnTowards(ctx.sketch.told?.ahead);
    views.get(step?.key)?.update();
    drawSteps(step, state());
    ctx.drawOnward();
    drawHead(store);
  }

  store.addEventListener('change', () => {
    speak();
    ctx.packed = null;
    ctx.sketch.refresh();
    update();
  });
  store.addEventListener('state', () => drawSaved(store));
  store.addEventListener('saved', () => {
    refreshSurvey();
    refreshTyped();
    if (['rows', 'pack'].includes(step.key)) refreshPlan();
  });
  addEventListener('hashchange', () => go(location.hash.slice(1)));
  listenToHead(store);
  drawSaved(store);
  go(location.hash.slice(1) || firstOpen(state()));
  update();
  ctx.sketch.refresh();
  refreshSurvey();
  refreshTyped();
}

start();
