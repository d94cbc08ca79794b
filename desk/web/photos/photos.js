// Step "Photos": bring the pictures in, and see what makes a good one.

import {el, refill, say, sentence, glyph, iconButton} from '../common/dom.js';
import {ask} from '../common/api.js';
import {advice} from './goodphoto.js';
import {picture, thumb} from '../common/pictures.js';
import {Papers} from './papers.js';
import {Phone} from './phone.js';
import {Targets} from './targets.js';
import {gettext, ngettext} from '../common/words.js';

const LARGEST = 60e6;

export function create(ctx) {
  const {store} = ctx;
  const told = el('div', {'aria-live': 'polite'});
  const list = el('ul.shots');
  const input = el('input.hidden', {
    type: 'file',
    id: 'pick',
    accept: 'image/jpeg,image/png,image/heic,image/heif,.heic,.heif',
    multiple: true,
    onchange: () => {
      take([...input.files]);
      input.value = '';
    },
  });
  const drop = el(
    'label.drop',
    {for: 'pick'},
    glyph('plus'),
    el('span', {}, el('b', {}, gettext('Add photos')), el('small', {}, gettext('Pick them, or drop them here. JPEG, HEIC or PNG, up to 60 MB each.'))),
  );
  const next = el('div.foot');
  const targets = new Targets(ctx, () => update());
  const phone = new Phone(fromPhone);
  const papers = new Papers(ctx);
  const element = el(
    'div',
    {},
    el('h1', {}, gettext('Photos of the room')),
    el('p.lead', {}, gettext('Three or four are enough. They stay on this machine, as they are.')),
    el(
      'div.two',
      {},
      el('div', {}, input, drop, told, list, next, phone.element),
      el('div', {}, el('section.card', {}, el('h2', {}, gettext('What makes a good photo')), advice()), targets.element, papers.element),
    ),
  );

  // A file let go beside the box must not make the browser leave the page for it, so the whole window takes files.
  const hasFiles = (event) => [...(event.dataTransfer?.types ?? [])].includes('Files');
  for (const type of ['dragover', 'dragenter', 'dragleave', 'drop'])
    addEventListener(type, (event) => {
      if (!hasFiles(event)) return;
      event.preventDefault();
      drop.classList.toggle('over', type === 'dragover' || type === 'dragenter');
    });
  addEventListener('drop', (event) => {
    if (!hasFiles(event)) return;
    if (!element.isConnected) ctx.go('photos');
    take([...event.dataTransfer.files]);
  });

  async function take(files) {
    told.replaceChildren();
    const before = (store.job.photos ?? []).length;
    for (const [i, file] of files.entries()) {
      drop.classList.add('busy');
      say(files.length > 1 ? gettext('Taking in photo {number} of {count}.', {number: i + 1, count: files.length}) : gettext('Taking in the photo.'));
      try {
        if (file.size > LARGEST) throw new Error(gettext("{name} is larger than 60 MB; take it with the phone's ordinary setting.", {name: file.name}));
        await takeOne(file);
      } catch (error) {
        told.append(sentence('look', error.says ?? error.message));
      }
    }
    drop.classList.remove('busy');
    const more = (store.job.photos ?? []).length - before;
    say(more > 0 ? ngettext('One photo added.', '{count} photos added.', more) : gettext('No photo added.'));
  }

  async function takeOne(file) {
    const noted = await ask('POST', `/api/photos?name=${encodeURIComponent(file.name)}`, {
      body: file,
      headers: {'Content-Type': 'application/octet-stream'},
    });
    if (!note(noted)) {
      const at = store.job.photos.findIndex((entry) => entry.file === noted.file);
      told.append(sentence('tell', gettext('{name} is here already, as photo {number}.', {name: file.name, number: at + 1})));
    }
  }

  // A picture that lies in the job's folder joins the job; false if it is part of it already.
  function note(noted) {
    if ((store.job.photos ?? []).some((entry) => entry.file === noted.file)) return false;
    store.change(gettext('added a photo'), (job) => {
      job.photos = [...(job.photos ?? []), {file: noted.file, size: noted.size, marks: []}];
    });
    if (noted.says) told.append(sentence('tell', noted.says));
    picture(noted.file);
    return true;
  }

  const sent = new Set(); // once taken out here, a picture of the phone does not come back
  function fromPhone(noted) {
    if (sent.has(noted.file)) return;
    sent.add(noted.file);
    if (note(noted)) say(gettext('{name} came from the phone.', {name: noted.name}));
  }

  function remove(file) {
    store.change(gettext('removed a photo'), (job) => {
      job.photos = job.photos.filter((entry) => entry.file !== file);
    });
    say(gettext('Photo taken out of the job. Undo brings it back; the picture itself stays in the folder.'));
  }

  const kept = new Map();
  function shot(entry, i) {
    if (!kept.has(entry.file)) kept.set(entry.file, thumb(entry.file, gettext('Photo {number}', {number: i + 1})));
    const count = (entry.marks ?? []).length;
    const words = [count ? ngettext('{count} marked', '{count} marked', count) : gettext('none marked'), targets.words(entry.file)].filter(Boolean).join(', ');
    return el(
      'li',
      {},
      kept.get(entry.file),
      el('div', {}, el('b', {}, gettext('Photo {number}', {number: i + 1})), el('span', {}, words)),
      el('button', {type: 'button', 'data-key': `mark-${entry.file}`, onclick: () => ctx.go('corners', {file: entry.file})}, gettext('Mark')),
      iconButton('bin', gettext('Take photo {number} out', {number: i + 1}), () => remove(entry.file), {'data-key': `out-${entry.file}`}),
    );
  }

  function update() {
    targets.update();
    papers.update();
    refill(list, (store.job.photos ?? []).map(shot));
    refill(
      next,
      store.job.photos?.length
        ? null
        : el('button', {type: 'button', 'data-key': 'on', onclick: () => ctx.go('corners')}, gettext('I have a tape only')),
    );
  }

  const onward = () => (store.job.photos?.length ? undefined : {text: gettext('Add photos'), act: () => input.click()});

  return {element, update, onward};
}
