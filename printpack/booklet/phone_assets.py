"""Style and script of the booklet's phone page. The script keeps ticks; without it the page still reads and ticks."""

STYLE = """
:root { color-scheme: light; --line: #777; --soft: #eee }
* { box-sizing: border-box }
html { font: 20px/1.4 system-ui, 'DejaVu Sans', sans-serif; color: #000; background: #fff; -webkit-text-size-adjust: 100% }
body { margin: 0 auto; max-width: 34rem; padding: 0 .8rem 5rem }
h1 { font-size: 1.6rem; margin: .8rem 0 .3rem }
h2 { font-size: 1.7rem; margin: 0; padding: .5rem 0; position: sticky; top: 0; background: #fff; border-bottom: 3px solid #000; z-index: 1; display: flex; gap: .5rem; align-items: baseline }
h2 small { font-size: .9rem; font-weight: normal }
h2 a { margin-left: auto; font-size: 1rem; padding: .3rem .2rem; min-height: 44px }
h3 { font-size: 1.2rem; margin: 1.4rem 0 .4rem }
a { color: #000 }
section { margin-top: 2.2rem }
p, ul, ol { margin: .4rem 0 }
ul { padding: 0; list-style: none }
svg { clear: both; display: block; width: 100%; height: auto; margin: .5rem 0; font-family: 'DejaVu Sans Condensed', 'DejaVu Sans', sans-serif }
.map { clear: none; width: 45%; float: right; margin: 0 0 .4rem .6rem }
.large { font-size: 1.15rem }
.bold { font-weight: bold }
.piece, .line { border-top: 1px solid var(--line); padding: .5rem 0; clear: both }
.id { font-size: 1.35rem; font-weight: bold }
label { display: flex; gap: .7rem; align-items: flex-start; min-height: 44px; cursor: pointer }
input { appearance: none; flex: none; width: 2rem; height: 2rem; margin: .1rem 0; border: 3px solid #000; border-radius: 4px; background: #fff; display: grid; place-content: center }
input:checked::after { content: '\\2713'; font-size: 1.7rem; line-height: 1; font-weight: bold }
input:focus-visible, a:focus-visible, button:focus-visible { outline: 4px solid #000; outline-offset: 3px }
nav ol { display: flex; flex-wrap: wrap; gap: .4rem; padding: 0; list-style: none }
nav ol a { display: inline-block; min-width: 48px; padding: .45rem .3rem; text-align: center; border: 2px solid #000; border-radius: 4px; text-decoration: none }
nav .done a { background: #000; color: #fff }
button { font: inherit; font-weight: bold; padding: .6rem 1rem; border: 3px solid #000; border-radius: 4px; background: #fff; color: #000 }
.kept { border-left: 6px solid #000; padding-left: .6rem }
dl { display: grid; grid-template-columns: auto 1fr; gap: .2rem .8rem; margin: .5rem 0 }
dd { margin: 0; font-weight: bold }
@media print { h2 { position: static } nav, button { display: none } }
"""

SCRIPT = """
(() => {
  const name = document.body.dataset.name, boxes = [...document.querySelectorAll('input')], note = document.querySelector('.kept');
  let kept = {};
  const blocked = () => { note.hidden = false; };
  try { kept = JSON.parse(localStorage.getItem(name) || '{}'); } catch { blocked(); }
  const save = () => { try { localStorage.setItem(name, JSON.stringify(kept)); } catch { blocked(); } };
  const show = () => document.querySelectorAll('nav li').forEach((item) => {
    const mine = [...document.getElementById(item.dataset.of).querySelectorAll('input')];
    const done = mine.length > 0 && mine.every((box) => box.checked);
    item.classList.toggle('done', done);
    item.firstChild.setAttribute('aria-label', item.firstChild.textContent + (done ? ', done' : ''));
  });
  for (const box of boxes) {
    box.checked = Boolean(kept[box.id]);
    box.addEventListener('change', () => { if (box.checked) kept[box.id] = 1; else delete kept[box.id]; save(); show(); });
  }
  const on = document.querySelector('button');
  on.hidden = false;
  on.addEventListener('click', () => {
    const next = document.querySelector('.row input:not(:checked)');
    if (next) { next.closest('.piece, .line').scrollIntoView({block: 'center'}); next.focus({preventScroll: true}); }
  });
  save();
  show();
})();
"""
