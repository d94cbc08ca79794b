// Talking to the desk. The key comes in the address after "#", is taken out of sight, and goes along with every request.

import {gettext} from './words.js';

const KEPT = 'desk-token';

function takeToken() {
  const found = /[#&]token=([\w-]+)/.exec(location.hash);
  if (found) {
    sessionStorage.setItem(KEPT, found[1]);
    history.replaceState(null, '', location.pathname + location.search);
  }
  return sessionStorage.getItem(KEPT) ?? '';
}

const token = takeToken();
// The room of a flat that this page is of: the address names it, and every request says it.
const room = new URLSearchParams(location.search).get('room');
const ROOM = room ? {'X-Desk-Room': encodeURIComponent(room)} : {};

// The desk said no: `says` is its sentence.
export class Refused extends Error {
  constructor(status, told) {
    super(told.says);
    this.status = status;
    this.says = told.says;
    this.slug = told.slug ?? '';
    this.where = told.where ?? '';
    this.more = told.more ?? [];
    this.mends = told.mends ?? [];
  }
}

// The desk did not answer at all.
class Silent extends Error {
  constructor() {
    super(gettext('The desk is not answering. Is it still running in its window?'));
    this.says = this.message;
  }
}

async function send(method, path, {json, body, headers = {}, keepalive = false} = {}) {
  const all = {'X-Desk-Token': token, ...ROOM, ...headers};
  if (json !== undefined) all['Content-Type'] = 'application/json';
  let answer;
  try {
    answer = await fetch(path, {method, headers: all, body: json === undefined ? body : JSON.stringify(json), keepalive, cache: 'no-store'});
  } catch {
    throw new Silent();
  }
  if (answer.ok) return answer;
  const told = await answer.json().catch(() => ({says: gettext('The desk answered {status} without a word.', {status: answer.status})}));
  throw new Refused(answer.status, told);
}

export async function ask(method, path, options) {
  return (await send(method, path, options)).json();
}

// A picture: its address for this window and the size of the upright original, px.
export async function fetchPicture(path) {
  const answer = await send('GET', path);
  return {size: answer.headers.get('X-Photo-Size').split(' ').map(Number), href: URL.createObjectURL(await answer.blob())};
}

// Long work: start it, then ask until it is done. onDoing(words) hears what it does meanwhile, "" for nothing out of the ordinary.
export async function work(kind, options = {}, onDoing = null) {
  let told = await ask('POST', `/api/${kind}`, {json: options});
  while (!told.done) {
    onDoing?.(told.doing);
    told = await ask('GET', `/api/tasks/${told.task}`);
  }
  if (told.refused) throw new Refused(422, told.refused);
  return told.result;
}
