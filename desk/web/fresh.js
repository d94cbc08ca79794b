// Survey and plan kept fresh: asked of the desk after every change, and dropped when a newer change has overtaken them.

import {work, Refused} from './common/api.js';
import {inPageWords, ring} from './common/names.js';

// Nothing changed for so long: time for the rows, ms.
const QUIET_MS = 300;

// ctx: {store, survey, plan, changed}; `survey` and `plan` are set here, and `changed` is called whenever they are.
export function keepFresh(ctx) {
  const {store} = ctx;
  let planning = null; // the revision a plan is being made of
  let isBegun = false; // what was known when the job was opened has been asked for
  let glance = null; // a preview on its way: {revision, told}

  async function refreshTyped() {
    try {
      const {problems} = await work('typed');
      if (JSON.stringify(problems) === JSON.stringify(store.problems)) return;
      store.problems = problems;
      ctx.changed();
    } catch {
      // a newer request takes this one's place; a desk that is gone is told by the save
    }
  }

  // Survey after every save, and a preview of the rows in the first quiet moment there can be one, so that it is there when they are opened;
  // a survey never waits for it. The plan that is searched for only when somebody looks at it.
  async function refreshSurvey() {
    if (!(ring(store.job).length >= 3)) {
      ctx.survey = {state: 'none'};
      ctx.changed();
      return;
    }
    if (!isBegun) await refreshLast();
    const surveyed = await refresh('survey');
    if (surveyed) ctx.sketch.refresh();
    if (surveyed?.state !== 'ok' || !store.job.flooring?.board) return;
    const {revision} = store;
    await new Promise((resolve) => setTimeout(resolve, QUIET_MS));
    // While a change is being saved, the desk still holds the job before it.
    if (store.revision === revision && store.state === 'saved') await preview();
  }

  // What was worked out when the job was open last is drawn at once, and worked out anew behind it.
  async function refreshLast() {
    isBegun = true;
    const {revision} = store;
    const last = await work('last').catch(() => ({}));
    if (store.revision !== revision) return;
    for (const kind of ['survey', 'plan']) {
      if (last[kind]) ctx[kind] = inPageWords(store.job, {state: 'ok', revision, ...last[kind]});
    }
    ctx.changed();
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
    ctx[kind] = {...ctx[kind], working: true, doing: undefined};
    ctx.changed();
    const hear = (doing) => {
      if (store.revision !== revision || ctx[kind].doing === doing) return;
      ctx[kind] = {...ctx[kind], doing};
      ctx.changed();
    };
    const told = await answerOf(step, options, revision, hear);
    if (!told || store.revision !== revision) return undefined;
    ctx[kind] = inPageWords(store.job, told);
    ctx.changed();
    return told;
  }

  return {refreshTyped, refreshSurvey, refreshPlan};
}

async function answerOf(step, options, revision, hear) {
  try {
    return {state: 'ok', revision, ...(await work(step, options, hear))};
  } catch (error) {
    if (error.slug === 'replaced') return undefined;
    const state = error instanceof Refused ? 'no' : 'failed';
    const {mends, where, slug = ''} = error;
    return {state, revision, says: error.says ?? error.message, more: error.more ?? [], mends, where, slug};
  }
}
