// How plans lie on the screen: in quarter turns, the same in every step. What the first photo looks at lies ahead, as it does in the photo;
// where there is none, the floor lies as it was drawn.

const STAYS = 65; // degrees: nothing is turned for less, once it is drawn
let quarters = 0; // clockwise

const apart = (a, b) => Math.abs(((a - b + 540) % 360) - 180);

// ahead: degrees anticlockwise from plan x, or null. Returns whether the drawings have to be made anew.
export function turnTowards(ahead) {
  if (ahead === null || ahead === undefined || apart(ahead, 90 + 90 * quarters) <= STAYS) return false;
  const next = ((Math.round((ahead - 90) / 90) % 4) + 4) % 4;
  const isOther = next !== quarters;
  quarters = next;
  return isOther;
}

export const turnedBy = () => 90 * quarters;

// Plan to screen, and back: x right and y up become x right and y down, then so many quarters clockwise.
export function flip([x, y]) {
  let spot = [x, -y];
  for (let i = 0; i < quarters; i += 1) spot = [-spot[1], spot[0]];
  return spot;
}

export function unflip([x, y]) {
  let spot = [x, y];
  for (let i = 0; i < quarters; i += 1) spot = [spot[1], -spot[0]];
  return [spot[0], -spot[1]];
}
