// How the rooms lie together and what they take, asked of the desk at the start and after every change; the latest question wins.

import {Refused, work} from '../common/api.js';
import {inPageWords} from '../common/names.js';

// ctx: {store, seen, bought, changed}; `seen` and `bought` are set here. seen: what the desk saw, with the house it was of. bought: {state,
// stage, ...}, of the house `of`.
export function keepFresh(ctx) {
  const {store} = ctx;
  let turn = 0;

  async function refresh() {
    const mine = (turn += 1);
    const house = store.job;
    const isOld = () => mine !== turn || store.job !== house;
    ctx.isLooking = true;
    ctx.changed();
    const seen = await answerOf('look');
    if (isOld() || !seen) return;
    ctx.isLooking = false;
    ctx.seen = {...seen, house};
    ctx.changed();
    if (!isBuyable(seen)) {
      ctx.bought = null;
      ctx.changed();
      return;
    }
    for (const effort of ['preview', 'usual']) {
      ctx.bought = {...ctx.bought, working: true};
      ctx.changed();
      const bought = await answerOf('buy', {effort});
      if (isOld()) return;
      if (!bought) break;
      ctx.bought = {...bought, stage: effort, working: effort === 'preview' && bought.state === 'ok' && !bought.kept};
      ctx.changed();
      if (bought.state !== 'ok' || bought.kept) break;
    }
  }

  return refresh;
}

const FLOORS = ['floor', 'kept', 'out-of-date', 'damaged', 'begun'];
export const hasFloor = (room) => FLOORS.includes(room?.state);

// Whether a room has a floor and boards.
const isBuyable = ({rooms, boardless}) => Object.entries(rooms ?? {}).some(([name, room]) => hasFloor(room) && !boardless.includes(name));

async function answerOf(step, options) {
  try {
    return {state: 'ok', ...inPageWords({}, await work(step, options))};
  } catch (error) {
    if (error.slug === 'replaced') return null;
    return {state: error instanceof Refused ? 'no' : 'failed', says: error.says ?? error.message};
  }
}
