// Which corner a tap places next, where nobody has chosen one: people go round the room, one way or the other.

// ring: the corners in order; here: those marked in this photo, in the order they were; isLikely(name): it should be seen here.
// A corner that is not marked here, or null where none is left.
export function nextCorner(ring, here, isLikely) {
  const missing = ring.filter((name) => !here.includes(name));
  const likely = missing.filter(isLikely);
  const on = roundFrom(ring, here).find((name) => missing.includes(name));
  if (on && (isLikely(on) || !likely.length)) return on;
  return likely[0] ?? on ?? missing[0] ?? null;
}

// The corners after the last marked one, in the direction the last two were gone in: A, B then C; C, B then A.
function roundFrom(ring, here) {
  const marked = here.filter((name) => ring.includes(name));
  if (!marked.length) return [];
  const at = ring.indexOf(marked.at(-1));
  const before = marked.length > 1 ? ring.indexOf(marked.at(-2)) : -1;
  const step = before === (at + 1) % ring.length ? ring.length - 1 : 1;
  return ring.slice(1).map((_, i) => ring[(at + (i + 1) * step) % ring.length]);
}
