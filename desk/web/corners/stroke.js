// A stroke of a finger along a wall's foot: the desk finds the floor line under it in the full-size picture.

import {ask} from '../common/api.js';
import {say, whole} from '../common/dom.js';
import {pathOf} from '../common/pictures.js';
import {wallName} from '../common/names.js';
import {putAlong} from './marks.js';
import {gettext, ngettext} from '../common/words.js';

const MOST = 400; // places that are sent

// here(): {file, entry(job)} of the photo on the stage. Returns why no line was found, or nothing.
export async function followStroke(places, wall, {store, here}) {
  const {file} = here();
  const step = Math.ceil(places.length / MOST);
  let found;
  try {
    found = await ask('POST', `${pathOf(file)}/stroke`, {json: {places: places.filter((_, i) => i % step === 0).map(({x, y}) => ({x, y}))}});
  } catch (error) {
    const says = error.says ?? error.message;
    say(whole(says));
    return says;
  }
  if (here().file !== file) return '';
  store.change(gettext('drew along wall {wall}', {wall: wallName(wall)}), (job) => {
    for (const [x, y] of found.points) putAlong(here().entry(job), wall, x, y);
  });
  say(
    ngettext(
      '{count} place along wall {wall} found under your stroke. Look whether it lies at the skirting’s foot.',
      '{count} places along wall {wall} found under your stroke. Look whether they lie at the skirting’s foot.',
      found.points.length,
      {wall: wallName(wall)},
    ),
  );
  return '';
}
