// The page a phone sends pictures from: one after the other, each with how it went.

const pick = document.getElementById('pick');
const list = document.getElementById('list');
const done = document.getElementById('done');
let queue = Promise.resolve();

pick.addEventListener('change', () => {
  const files = [...pick.files];
  pick.value = '';
  for (const file of files) {
    const line = document.createElement('li');
    line.textContent = `${file.name}: waiting`;
    list.append(line);
    queue = queue.then(() => send(file, line));
  }
  queue = queue.then(finish);
});

async function send(file, line) {
  done.textContent = '';
  line.textContent = `${file.name}: sending`;
  let says = 'it did not arrive. Is the desk still open, and the phone in the same network?';
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
  const named = `${file.name}: `; // some refusals name the file themselves
  line.textContent = says.startsWith(named) ? says : named + (says || 'sent');
}

function finish() {
  const sent = list.querySelectorAll('.sent').length;
  const kept = list.querySelectorAll('.kept').length;
  done.textContent = `${sent || 'No'} ${sent > 1 ? 'photos are' : 'photo is'} on the computer${kept ? `, ${kept} not` : ''}. Pick more, or put the phone away.`;
}
