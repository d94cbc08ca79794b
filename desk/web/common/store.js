// The job as this window knows it: changes, undo, and saving after every change.

import {ask, Refused} from './api.js';

const REMEMBERED = 200;

export class Store extends EventTarget {
  #past = [];
  #future = [];
  #saving = false;
  #unsaved = false;
  #path;

  // path: where what was opened is saved.
  constructor(opened, path = '/api/job') {
    super();
    this.#path = path;
    this.job = opened.job;
    this.revision = opened.revision;
    this.folder = opened.folder;
    this.defaults = opened.defaults;
    this.usual = opened.usual;
    this.choices = opened.choices;
    this.settings = opened.settings;
    this.flat = opened.flat; // the title of the flat that the room belongs to, if it does
    this.inFlat = opened.in_flat; // what the flat's plan gives this room, as the desk told it last
    this.problems = []; // what is wrong with what was typed: {where, says}
    this.state = 'saved';
    addEventListener('pagehide', () => {
      if (this.#unsaved) this.#put(true).catch(() => {});
    });
  }

  // `edit` is given a copy of the job to alter; `label` says in words what was done.
  change(label, edit) {
    const draft = structuredClone(this.job);
    edit(draft);
    this.#past.push({label, job: this.job});
    if (this.#past.length > REMEMBERED) this.#past.shift();
    this.#future = [];
    this.#become(draft);
  }

  // The last change goes on: what `edit` alters is undone together with it.
  amend(edit) {
    const draft = structuredClone(this.job);
    edit(draft);
    this.#become(draft);
  }

  get undoable() {
    return this.#past.at(-1)?.label;
  }
  get redoable() {
    return this.#future.at(-1)?.label;
  }

  undo() {
    return this.#step(this.#past, this.#future);
  }
  redo() {
    return this.#step(this.#future, this.#past);
  }

  #step(from, to) {
    const step = from.pop();
    if (!step) return undefined;
    to.push({label: step.label, job: this.job});
    this.#become(step.job);
    return step.label;
  }

  #become(job) {
    this.job = job;
    this.#unsaved = true;
    if (this.state === 'saved') this.state = 'saving';
    this.dispatchEvent(new Event('change'));
    this.#save();
  }

  async #save() {
    if (this.#saving || this.state === 'conflict') return;
    this.#saving = true;
    while (this.#unsaved) {
      this.#unsaved = false;
      this.#tell('saving');
      try {
        this.revision = (await this.#put(false)).revision;
      } catch (error) {
        if (this.#stopped(error)) break;
        await new Promise((resolve) => {
          setTimeout(resolve, 1500);
        });
        this.#unsaved = true;
      }
    }
    this.#saving = false;
    if (this.state === 'saving') this.#tell('saved');
  }

  #put(keepalive) {
    return ask('PUT', this.#path, {json: this.job, headers: {'If-Match': `"${this.revision}"`}, keepalive});
  }

  // True when trying again would not help: a desk that is silent may answer again, a folder that is gone (503) be put back.
  #stopped(error) {
    this.trouble = error.says ?? error.message;
    const refused = error instanceof Refused && error.status !== 503;
    this.#tell(refused ? (error.status === 409 ? 'conflict' : 'refused') : 'silent');
    return refused;
  }

  #tell(state) {
    this.state = state;
    this.dispatchEvent(new Event('state'));
    if (state === 'saved') this.dispatchEvent(new Event('saved'));
  }
}
