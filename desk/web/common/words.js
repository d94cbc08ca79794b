// Sentences in the reader's language: an English one with named gaps is looked up in the desk's catalogue, then filled. `gettext` and `ngettext`
// are called with sentences written out, as in the desk's own code, so that the same extractor finds them.

import {decimal, plural, sentences, tag} from '../catalogue.js';

export const language = tag;

let swapped = []; // [British words, American ones]
let british = /(?!)/; // any of the British ones

// Whether English is American, as read by people who measure in inches. pairs: words and what stands in their place; none in another language.
export function speakAmerican(isAmerican, pairs) {
  swapped = isAmerican ? pairs : [];
  british = swapped.length ? new RegExp(`\\b(?:${swapped.map(([word]) => word).join('|')})\\b`, 'gi') : /(?!)/;
}

// A sentence in the reader's words for the trade.
export const inTerms = (text) => (swapped.length ? text.replace(british, american) : text);

function american(word) {
  const other = swapped.find(([one]) => one.toLowerCase() === word.toLowerCase())[1];
  return word[0] === word[0].toLowerCase() ? other : raised(other);
}

const filled = (text, gaps) => inTerms(text).replace(/\{(\w+)\}/g, (gap, name) => gaps[name] ?? gap);

export const gettext = (text, gaps = {}) => filled(sentences[text]?.[0] ?? text, gaps);

// The sentence for so many; {count} is the number.
export function ngettext(one, many, count, gaps = {}) {
  const said = sentences[one]?.[plural(count)] ?? (count === 1 ? one : many);
  return filled(said, {count, ...gaps});
}

// A sentence with elements in its gaps, as what `el` takes.
export const gettextNodes = (text, nodes) =>
  inTerms(sentences[text]?.[0] ?? text)
    .split(/(\{\w+\})/)
    .map((part) => (part.startsWith('{') ? nodes[part.slice(1, -1)] : part));

// Figures with the reader's decimal mark.
export const localised = (figures) => String(figures).replace('.', decimal);

// "A", "A and B", "A, B and C"; at least one.
export function listed(names) {
  return names.length === 1 ? names[0] : gettext('{names} and {name}', {names: names.slice(0, -1).join(', '), name: names.at(-1)});
}

// Parts that hold commas themselves: "A; B; C".
export const apart = (parts) => parts.reduce((said, part) => gettext('{parts}; {part}', {parts: said, part}));

// A heading's words in the middle of a line: small in English; other languages may write nouns large, so theirs stay.
export const lowered = (text) => (tag === 'en' ? text.toLowerCase() : text);

export const raised = (text) => text.charAt(0).toUpperCase() + text.slice(1);
