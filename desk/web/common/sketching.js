// What is known of the floor from the first tap on: asked of the desk after every change and every survey, the latest question wins.

import {ask} from './api.js';

export class Sketching {
  told = null; // see `show_sketch` of the desk; null before the first answer
  #turn = 0;
  #fresh = []; // corners just named, until the desk has told where they come round the room
  #isMine = false; // the person has put the corners in order by hand: nothing but new ones is moved

  constructor(ctx) {
    this.ctx = ctx;
  }

  // Corners were named: the photos tell where they come round the room.
  name(names) {
    this.#fresh.push(...names);
  }

  keepOrder() {
    this.#isMine = true;
    this.#fresh = [];
  }

  async refresh() {
    const {store} = this.ctx;
    const turn = (this.#turn += 1);
    const {job} = store;
    const fresh = this.#fresh.filter((name) => job.outline?.includes(name));
    if (!job.outline?.length || job.floor) {
      this.told = null;
      return;
    }
    try {
      const told = await ask('POST', '/api/sketch', {json: {job, fresh, free: !this.#isMine}});
      if (turn !== this.#turn) return;
      this.#fresh = this.#fresh.filter((name) => !fresh.includes(name));
      this.told = told;
      if (fresh.length && String(told.outline) !== String(job.outline)) {
        store.amend((draft) => {
          draft.outline = told.outline;
        });
      } else this.ctx.changed();
    } catch {
      // the save tells what is wrong with the job, and whether the desk is gone
    }
  }

  // What the desk told, while it is of the corners as they are now.
  get now() {
    const {outline = []} = this.ctx.store.job;
    return this.told && String(this.told.outline) === String(outline) ? this.told : null;
  }
}
