// The page a phone sends pictures from: one after the other, each with how it went.

import {gettext, ngettext} from './common/words.js';

const pick = document.getElementById('pick');
const list = document.getElementById('list');
const done = document.getElementById('done');
let queue = Promise.resolve();

pick.addEventListener('change', () => {
  const files = [...pick.files];
  pick.value = '';
  for (const file of files) {
    const line = document.createElement('li');
    line.textContent = gettext('{name}: waiting', {name: file.name});
    list.append(line);
    queue = queue.then(() => send(file, line));
  }
  queue = queue.then(finish);
});

async function send(file, line) {
  done.textContent = '';
  line.textContent = gettext('{name}: sending', {name: file.name});
  let says = gettext('it did not arrive. Is the desk still open, and the phone in the same network?');
  try {
    const answer = await fetch(`photo?name=${encodeURIComponent(file.name)}`, {
      method: 'POST',
      body: file,
      headers: {'Content-Type': 'application/octet-stream'},
    });
    says = answer.ok ? '' : (await answer.json()).says;
  } catch {
    // said above
  }
  line.className = says ? 'kept' : 'sent';
  line.textContent = says ? named(file.name, says) : gettext('{name}: sent', {name: file.name});
}

// Some refusals name the file themselves.
const named = (name, says) => (says.startsWith(name) ? says : gettext('{lead}: {text}', {lead: name, text: says}));

function finish() {
  const sent = list.querySelectorAll('.sent').length;
  const kept = list.querySelectorAll('.kept').length;
  done.textContent = kept ? withKept(sent, kept) : ngettext(
    '{count} photo is on the computer. Pick more, or put the phone away.',
    '{count} photos are on the computer. Pick more, or put the phone away.',
    sent,
  );
}

// Some of the photos, or all, did not arrive.
function withKept(sent, kept) {
  if (!sent) return gettext('No photo is on the computer, {kept} not. Pick more, or put the phone away.', {kept});
  return ngettext(
    '{count} photo is on the computer, {kept} not. Pick more, or put the phone away.',
    '{count} photos are on the computer, {kept} not. Pick more, or put the phone away.',
    sent,
    {kept},
  );
}
