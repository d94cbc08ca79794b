"""Style and script of the booklet's phone page. The script shows one screen at a time, keeps ticks and reads aloud;
without it the page still reads and ticks."""
from __future__ import annotations

import json

from capture.language.messages import gettext

STYLE = """
:root { color-scheme: light; --line: #777; --soft: #eee }
* { box-sizing: border-box }
html { font: 20px/1.4 system-ui, 'DejaVu Sans', sans-serif; color: #000; background: #fff; -webkit-text-size-adjust: 100% }
body { margin: 0 auto; max-width: 34rem; padding: 0 .6rem 6rem }
.one .screen:not(.now) { display: none }
h1 { font-size: 1.6rem; margin: .8rem 0 .3rem }
h2 { font-size: 2rem; margin: 0; padding: .4rem 0; display: flex; gap: .5rem; align-items: baseline }
h1:focus, h2:focus { outline: none }
h2 small { font-size: 1rem; font-weight: normal }
h3 { font-size: 1.15rem; margin: 1.2rem 0 .3rem }
a { color: #000 }
section { margin-top: 1rem; overflow-wrap: anywhere }
p, ul, ol { margin: .4rem 0 }
ul { padding: 0; list-style: none }
svg { clear: both; display: block; width: 100%; height: auto; margin: .4rem 0; font-family: 'DejaVu Sans Condensed', 'DejaVu Sans', sans-serif }
.map { clear: none; width: 28%; float: right; margin: -3.2rem 0 .4rem .6rem }
.bold { font-weight: bold }
.special { background: var(--soft); padding: .2rem .6rem; clear: both }
.line { border-top: 1px solid var(--line); padding: .5rem 0; clear: both }
.boxes { display: flex; flex-wrap: wrap; gap: .5rem .9rem; margin: .6rem 0 }
.boxes label { align-items: center; font-size: 1.2rem; font-weight: bold; gap: .4rem }
label { display: flex; gap: .7rem; align-items: flex-start; min-height: 44px; cursor: pointer }
input { appearance: none; flex: none; width: 2rem; height: 2rem; margin: .1rem 0; border: 3px solid #000; border-radius: 4px; background: #fff; display: grid; place-content: center }
input:checked::after { content: '\\2713'; font-size: 1.7rem; line-height: 1; font-weight: bold }
input:focus-visible, a:focus-visible, button:focus-visible { outline: 4px solid #000; outline-offset: 3px }
nav ol { display: flex; flex-wrap: wrap; gap: .4rem; padding: 0; list-style: none }
nav ol a { display: inline-block; min-width: 48px; padding: .45rem .3rem; text-align: center; border: 2px solid #000; border-radius: 4px; text-decoration: none }
nav .done a { background: #000; color: #fff }
.pages a, .lines + p a, section > p > a { display: inline-block; padding: .45rem 0; min-height: 44px }
button, .bar a { font: inherit; font-weight: bold; padding: .6rem 1rem; min-height: 52px; border: 3px solid #000; border-radius: 4px; background: #fff; color: #000 }
.bar { position: fixed; left: 0; right: 0; bottom: 0; display: flex; gap: .5rem; padding: .5rem .6rem; background: #fff; border-top: 2px solid #000; justify-content: center }
.bar[hidden] { display: none }
.bar a { text-decoration: none }
.bar .next { flex: 1; background: #000; color: #fff; font-size: 1.3rem; max-width: 22rem }
.kept { border-left: 6px solid #000; padding-left: .6rem }
dl { display: grid; grid-template-columns: auto 1fr; gap: .2rem .8rem; margin: .5rem 0 }
dd { margin: 0; font-weight: bold }
@media print { .one .screen:not(.now) { display: block } .bar, button { display: none } }
"""

_SCRIPT = """
(() => {
  const name = document.body.dataset.name, all = (what) => [...document.querySelectorAll(what)];
  const boxes = all('input'), screens = all('.screen'), note = document.querySelector('.kept'), bar = document.querySelector('.bar');
  let kept = {};
  const blocked = () => { note.hidden = false; };
  try { kept = JSON.parse(localStorage.getItem(name) || '{}'); } catch { blocked(); }
  const save = () => { try { localStorage.setItem(name, JSON.stringify(kept)); } catch { blocked(); } };
  const mark = () => all('nav [data-of]').forEach((item) => {
    const mine = [...document.getElementById(item.dataset.of).querySelectorAll('input')];
    const done = mine.length > 0 && mine.every((box) => box.checked);
    item.classList.toggle('done', done);
    item.firstChild.setAttribute('aria-label', ROW_BEFORE + item.firstChild.textContent + (done ? ROW_DONE : ROW_LAST));
  });
  for (const box of boxes) {
    box.checked = Boolean(kept[box.id]);
    box.addEventListener('change', () => { if (box.checked) kept[box.id] = 1; else delete kept[box.id]; save(); mark(); });
  }
  const quiet = () => { if (window.speechSynthesis) speechSynthesis.cancel(); };
  let at = -1;
  const open = (id, focus) => {
    const k = Math.max(0, screens.findIndex((screen) => screen.id === id));
    if (k === at) return;
    at = k;
    quiet();
    screens.forEach((screen, i) => screen.classList.toggle('now', i === at));
    if (screens[at].classList.contains('row')) { kept.at = screens[at].id; save(); }
    bar.hidden = at === 0;
    bar.querySelector('.next').hidden = at === screens.length - 1;
    scrollTo(0, 0);
    if (focus) screens[at].querySelector('h1, h2').focus({preventScroll: true});
  };
  const go = (step) => { const there = screens[at + step]; if (there) location.hash = there.id; };
  addEventListener('hashchange', () => open(location.hash.slice(1), true));
  bar.querySelector('.next').addEventListener('click', () => go(1));
  bar.querySelector('.back').addEventListener('click', () => go(-1));
  addEventListener('keydown', (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === 'ArrowRight') go(1); else if (event.key === 'ArrowLeft') go(-1);
  });
  const on = document.querySelector('.on');
  on.hidden = false;
  on.addEventListener('click', () => {
    const next = document.querySelector('.row input:not(:checked)');
    const there = kept.at || (next ? next.closest('.screen').id : 'end');
    const left = document.querySelector('#' + there + ' input:not(:checked)');
    location.hash = left || !next ? there : next.closest('.screen').id;
  });
  if (window.speechSynthesis && window.SpeechSynthesisUtterance) for (const say of all('.say')) {
    say.hidden = false;
    say.addEventListener('click', () => {
      if (speechSynthesis.speaking) return quiet();
      const words = new SpeechSynthesisUtterance(say.dataset.say);
      words.lang = document.documentElement.lang;
      speechSynthesis.speak(words);
    });
  }
  document.documentElement.classList.add('one');
  save();
  mark();
  open(location.hash.slice(1), false);
})();
"""


def script() -> str:
    """The script with its words in the reader's language: a row's name, and that it is done."""
    before, _, after = gettext("Row {row}", row="\n").partition("\n")
    done = gettext("{row}, done", row=after)
    return (_SCRIPT.replace("ROW_BEFORE", _quoted(before)).replace("ROW_DONE", _quoted(done))
            .replace("ROW_LAST", _quoted(after)))


def _quoted(text: str) -> str:
    """A text as the script writes one, harmless within a page."""
    inner = json.dumps(text, ensure_ascii=False)[1:-1].replace("'", "\\'").replace("<", "\\u003c")
    return f"'{inner}'"
