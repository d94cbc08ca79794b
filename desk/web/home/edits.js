// What the page changes in house.json; each is given a draft of it, as `Store.change` has it.

export const sameSide = ([room, door], [other, far]) => room === other && door === far;

// The two sides of a doorway, [room, door] each.
export const sidesOf = ({rooms, doors}) => rooms.map((room, i) => [room, doors[i]]);

export const keyOf = (doorway) => JSON.stringify(sidesOf(doorway));

// One opening, seen from two rooms; what either door led to before is forgotten.
export function joinDoors(house, one, other) {
  part(house, one);
  part(house, other);
  house.doorways.push({rooms: [one[0], other[0]], doors: [one[1], other[1]], laid: 'auto'});
}

// The doorway on one side of which a door is, is none any more.
export function part(house, side) {
  house.doorways = (house.doorways ?? []).filter((doorway) => !sidesOf(doorway).some((own) => sameSide(own, side)));
}

export function alterDoorway(house, doorway, change) {
  Object.assign(house.doorways.find((other) => keyOf(other) === keyOf(doorway)), change);
}

// Every room is listed in the order that somebody chose.
export function moveRoom(house, order, name, steps) {
  const at = order.indexOf(name);
  house.order = [...order];
  house.order.splice(at, 1);
  house.order.splice(at + steps, 0, name);
}

export function takeIn(house, name) {
  house.rooms.push(name);
  if (house.order?.length) house.order.unshift(name); // the last one laid stays the room that people leave by
}

export function takeOut(house, name) {
  house.rooms = house.rooms.filter((room) => room !== name);
  house.doorways = (house.doorways ?? []).filter(({rooms}) => !rooms.includes(name));
  if (house.order) house.order = house.order.filter((room) => room !== name);
  if (house.entrance === name) delete house.entrance;
  if (house.direction?.room === name) delete house.direction;
}

// value: undefined takes the key out.
export function setKey(house, key, value) {
  if (value === undefined) delete house[key];
  else house[key] = value;
}
