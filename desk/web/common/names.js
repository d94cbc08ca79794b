// Names of floor points: which are in use, which comes next, and what hangs on one.

import {gettext, inTerms} from './words.js';

const LETTERS = [...'ABCDEFGHIJKLMNOPQRSTUVWXYZ'];
const ALL = [...LETTERS, ...LETTERS.flatMap((a) => LETTERS.map((b) => a + b))];

export function nextName(taken) {
  return ALL.find((name) => !taken.has(name));
}

export function nextNumbered(prefix, taken) {
  for (let i = 1; ; i += 1) if (!taken.has(prefix + i)) return prefix + i;
}

// Every point name of the job, corners in order first.
export function pointNames(job) {
  const names = new Set(ring(job));
  for (const island of job.islands ?? []) island.corners.forEach((name) => names.add(name));
  for (const pipe of job.pipes ?? []) names.add(pipe.name);
  for (const sheet of job.papers ?? []) sheet.corners.forEach((name) => names.add(name));
  for (const photo of job.photos ?? []) (photo.marks ?? []).forEach((mark) => names.add(mark.point));
  for (const entry of job.tape ?? []) [...(entry.between ?? []), ...(entry.point ? [entry.point] : [])].forEach((name) => names.add(name));
  for (const entry of job.on_wall ?? []) names.add(entry.point);
  return [...names];
}

// Names of the floor's corners in order; a floor given as coordinates names its own A, B, C.
export function ring(job) {
  const given = job.outline ?? [];
  return given.length || !job.floor ? given : ALL.slice(0, job.floor.outline.length);
}

export function walls(job) {
  const names = ring(job);
  return names.length < 3 ? [] : names.map((name, i) => [name, names[(i + 1) % names.length]]);
}

export function samePair(a, b) {
  return (a[0] === b[0] && a[1] === b[1]) || (a[0] === b[1] && a[1] === b[0]);
}

// The desk's sentences name a photo by its file; on the page it has a number. They write m2, the page m², and British English. Whatever is no sentence stays as it is.
export function inPageWords(job, told) {
  if (Array.isArray(told)) return told.map((part) => inPageWords(job, part));
  if (told && typeof told === 'object') return Object.fromEntries(Object.entries(told).map(([key, part]) => [key, inPageWords(job, part)]));
  if (typeof told !== 'string' || !told.includes(' ')) return told;
  const sentence = told.replace(/(^|[ /])([cm]?m)([23])(?![\w.])/g, (_, before, unit, power) => `${before}${unit}${power === '2' ? '²' : '³'}`);
  return (job.photos ?? []).reduce((text, {file}, i) => text.replaceAll(file, gettext('photo {number}', {number: i + 1})), inTerms(sentence));
}

// A wall by its two ends, in words.
export const wallName = ([from, to]) => gettext('{from} to {to}', {from, to});

// A wall as the value of a choice, and back.
export const wallKey = (wall) => JSON.stringify(wall);
export const wallOf = (key) => JSON.parse(key);

// The walls to choose from, and those the job names the other way round.
export function wallOptions(job, named = []) {
  const own = walls(job);
  const turned = named.filter((wall) => !own.some(([a, b]) => a === wall[0] && b === wall[1]));
  return [...own, ...turned].map((wall) => [wallKey(wall), wallName(wall)]);
}

// Take a point out of the job with everything that speaks of it; returns how many readings went with it.
export function removePoint(job, name) {
  let gone = 0;
  const without = (list, speaks) => {
    const kept = (list ?? []).filter((entry) => !speaks(entry));
    gone += (list ?? []).length - kept.length;
    return kept;
  };
  job.outline = (job.outline ?? []).filter((corner) => corner !== name);
  for (const photo of job.photos ?? []) {
    photo.marks = without(photo.marks, (mark) => mark.point === name);
    if (photo.edges) photo.edges = without(photo.edges, (edge) => edge.wall.includes(name));
  }
  job.tape = without(job.tape, (entry) => [...(entry.between ?? []), entry.point, ...(entry.wall ?? [])].includes(name));
  if (job.sketch) delete job.sketch[name];
  if (job.square) job.square = job.square.filter((corner) => corner !== name);
  if (job.on_wall) job.on_wall = without(job.on_wall, (entry) => [entry.point, ...entry.wall].includes(name));
  if (job.doors) job.doors = without(job.doors, (door) => door.wall.includes(name));
  if (job.pipes) job.pipes = job.pipes.filter((pipe) => pipe.name !== name);
  if (job.papers) job.papers = without(job.papers, (sheet) => sheet.corners.includes(name));
  if (job.islands) job.islands = without(job.islands, (island) => island.corners.includes(name));
  return gone;
}
