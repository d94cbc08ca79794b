// Photos sent straight from the phone: a link over the local network, opened on request, shown as a code to scan.

import {el, refill, sentence, svg, glyph} from '../common/dom.js';
import {ask} from '../common/api.js';
import {gettext, gettextNodes, ngettext} from '../common/words.js';

const EVERY = 1500; // ms between two looks at what has arrived

export class Phone {
  #told = {open: false, arrived: []};
  #refusal = '';
  #looking = 0;

  // onArrived(noted): a picture lies in the job's folder
  constructor(onArrived) {
    this.onArrived = onArrived;
    this.element = el('section.card.from-phone', {'aria-label': gettext('Send from the phone')});
    this.#look();
  }

  async #turn(open) {
    await this.#ask('POST', {json: {open}});
  }

  async #look() {
    await this.#ask('GET');
  }

  async #ask(method, options) {
    clearTimeout(this.#looking);
    try {
      this.#told = await ask(method, '/api/link', options);
      this.#refusal = '';
    } catch (error) {
      this.#told = {open: false, arrived: []};
      this.#refusal = method === 'POST' ? (error.says ?? error.message) : '';
    }
    for (const noted of this.#told.arrived) this.onArrived(noted);
    if (this.#told.open) this.#looking = setTimeout(() => this.#look(), EVERY);
    this.update();
  }

  update() {
    refill(this.element, el('h2', {}, gettext('Send from your phone')), this.#told.open ? this.#opened() : this.#closed(), this.#refusal ? sentence('look', this.#refusal) : null);
  }

  #closed() {
    return [
      el('p', {}, gettext('The phone and this computer in one network: scan a code, pick the photos, done. Nothing to install.')),
      el('p.why', {}, gettext('Until you ask, only this computer can reach the desk. The link takes pictures in and shows nothing of the job.')),
      el('button', {type: 'button', 'data-key': 'link-open', onclick: () => this.#turn(true)}, glyph('phone'), gettext('Show the code')),
    ];
  }

  #opened() {
    const {href, code, left_s: left} = this.#told;
    return [
      el('div.code', {}, qr(code)),
      el(
        'ol.tips',
        {},
        [gettext('Scan this code with the phone’s camera and open the link.'), gettext('Pick the photos. They appear here, one by one.')].map((text) => el('li', {}, text)),
      ),
      el('p.why.link', {}, gettextNodes('Or type this address: {address}', {address: el('span', {}, href)})),
      el(
        'p.why',
        {},
        ngettext(
          'For one phone only. Unencrypted (plain HTTP) over your own network: fine at home. Closes by itself after {count} minute without use.',
          'For one phone only. Unencrypted (plain HTTP) over your own network: fine at home. Closes by itself after {count} minutes without use.',
          Math.ceil(left / 60),
        ),
      ),
      el('button', {type: 'button', 'data-key': 'link-close', onclick: () => this.#turn(false)}, gettext('Close the link')),
    ];
  }
}

// Always dark on light: many phones do not read a code the other way round.
function qr(rows) {
  const d = rows.flatMap((row, y) => [...row].map((module, x) => (module === '1' ? `M${x} ${y}h1v1h-1z` : ''))).join('');
  return svg(
    'svg.qr',
    {viewBox: `0 0 ${rows.length} ${rows.length}`, role: 'img', 'aria-label': gettext('Code with the address for the phone'), 'shape-rendering': 'crispEdges'},
    svg('rect', {width: rows.length, height: rows.length, fill: '#fff'}),
    svg('path', {d, fill: '#000'}),
  );
}
