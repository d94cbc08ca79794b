// Pictures of the job as object addresses, each fetched once, and the strip of small ones.

import {el, refill} from './dom.js';
import {fetchPicture} from './api.js';
import {gettext, ngettext} from './words.js';

const fetched = new Map();

// Where the desk has a photo of the job.
export const pathOf = (file) => `/api/${file.split('/').map(encodeURIComponent).join('/')}`;

// Resolves to {href, size} of the upright picture, small or large enough to mark.
export function picture(file, small = false) {
  const key = `${file}${small ? '?small' : ''}`;
  if (!fetched.has(key)) {
    const coming = fetchPicture(`${pathOf(file)}${small ? '?small=1' : ''}`);
    coming.catch(() => fetched.delete(key));
    fetched.set(key, coming);
  }
  return fetched.get(key);
}

export function thumb(file, alt) {
  const image = el('img', {alt, width: 88, height: 66});
  picture(file, true).then(
    ({href}) => {
      image.src = href;
    },
    () => {
      image.alt = gettext('{photo} cannot be shown', {photo: alt});
    },
  );
  return image;
}

const kept = new Map();

export function strip(container, job, current, choose) {
  refill(
    container,
    (job.photos ?? []).map((entry, i) => {
      if (!kept.has(entry.file)) kept.set(entry.file, thumb(entry.file, ''));
      const count = (entry.marks ?? []).length;
      return el(
        'button.thumb',
        {
          type: 'button',
          'aria-pressed': String(entry.file === current),
          'data-key': `photo-${entry.file}`,
          'aria-label': ngettext('Photo {number}, {count} marked', 'Photo {number}, {count} marked', count, {number: i + 1}),
          onclick: () => choose(entry.file),
        },
        kept.get(entry.file),
        el('span', {}, `${i + 1}`),
        el('small', {}, count ? ngettext('{count} marked', '{count} marked', count) : gettext('none yet')),
      );
    }),
  );
}
