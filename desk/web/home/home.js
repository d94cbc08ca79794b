// The flat's page: its rooms, how they lie together, and what they take.

import {ask} from '../common/api.js';
import {el} from '../common/dom.js';
import {Store} from '../common/store.js';
import {speakAmerican} from '../common/words.js';
import {drawHead, drawSaved, listenToHead} from '../head.js';
import {Rooms} from './rooms.js';
import {Doorways} from './doorways.js';
import {FlatPlan} from './flatplan.js';
import {Whole} from './whole.js';
import {Purchase} from './purchase.js';
import {keepFresh} from './fresh.js';
import {drawParts, drawWayOn} from './wayon.js';
import {setKey} from './edits.js';
import * as words from './words.js';

const main = document.getElementById('work');

async function start() {
  let opened;
  try {
    opened = await ask('GET', '/api/flat');
  } catch (error) {
    main.replaceChildren(el('h1', {}, words.unopened()), el('p.lead', {}, error.says ?? error.message));
    document.getElementById('saved').textContent = words.notOpen();
    return;
  }
  run(new Store(opened, '/api/flat'), opened.beside);
}

function run(store, beside) {
  const ctx = {store, beside, seen: null, bought: null, isLooking: true, changed: update};
  const refresh = keepFresh(ctx);
  ctx.refresh = refresh;
  const [rooms, plan, doorways, whole, purchase] = [new Rooms(ctx), new FlatPlan(ctx), new Doorways(ctx), new Whole(ctx), new Purchase(ctx)];
  ctx.purchase = purchase;
  const views = [rooms, plan, doorways, whole, purchase];
  main.replaceChildren(
    el('div.home', {}, el('div.home-rooms', {}, rooms.element, whole.element), el('div.home-plan', {}, plan.element, doorways.element)),
    purchase.element,
  );
  const title = document.getElementById('title');

  function update() {
    if (ctx.seen) speakAmerican(ctx.seen.show === 'imperial', store.choices.american);
    for (const view of views) view.update();
    drawParts(ctx);
    drawWayOn(ctx);
    drawHead(store);
    document.title = words.pageTitle(store.job.title || words.myFlat());
    title.readOnly = !store.job.rooms.length; // there is no file yet that could hold it
  }

  store.addEventListener('change', () => {
    purchase.forget();
    update();
  });
  store.addEventListener('state', () => drawSaved(store));
  store.addEventListener('saved', refresh);
  // A room may have been worked on in another window.
  document.addEventListener('visibilitychange', () => document.visibilityState === 'visible' && store.state === 'saved' && refresh());
  listenToHead(store, (name) => store.change(words.didRename(), (house) => setKey(house, 'title', name || words.myFlat())));
  drawSaved(store);
  update();
  refresh();
}

start();
