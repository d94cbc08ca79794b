// Every sentence of the flat's page, whole, with named gaps.

import {gettext, ngettext} from '../common/words.js';

export {listed} from '../common/words.js';

export const unopened = () => gettext('The flat cannot be opened');
export const notOpen = () => gettext('Not open');
export const pageTitle = (title) => gettext('All rooms: {title}', {title});

// Rooms
export const roomsHead = () => gettext('Rooms');
export const roomsLead = () => gettext('In the order they are laid. A room opens into its photos, tape and boards.');
export const noRoomsLead = () => gettext('Give the first room a name. It opens into its photos, tape and boards.');
export const roomName = () => gettext('Name of the new room');
export const roomExample = () => gettext('such as Kitchen');
export const newRoom = () => gettext('New room');
export const firstRoom = () => gettext('Begin the first room');
export const unnamed = () => gettext('Type a name for the room first.');
export const besideIs = (name) => gettext('The folder {name} holds a room that is not in this flat.', {name});
export const takeIn = () => gettext('Take it in');
export const laidAs = (number) => gettext('Laid as number {number}', {number});
export const earlier = (room) => gettext('Lay {room} earlier', {room});
export const later = (room) => gettext('Lay {room} later', {room});
export const movedTo = (room, number) => gettext('{room} is laid as number {number} now.', {room, number});
export const takeOut = (room) => gettext('Take {room} out of the flat; its folder stays', {room});
export const takenOut = (room) => gettext('{room} is out of the flat; its folder stays where it is.', {room});
export const sketchOf = (room) => gettext('Sketch of {room}', {room});

const STATES = {
  empty: () => gettext('No floor yet: mark its corners in photos, or draw it.'),
  open: () => gettext('Its floor is not known yet.'),
  unread: () => gettext('Its job cannot be read.'),
  floor: ({area}) => gettext('The floor is known: {area}. No plan is kept yet.', {area}),
  kept: ({area}) => gettext('{area}, and its plan is kept.', {area}),
  'out-of-date': ({area, kept}) => gettext('{area}. {kept}', {area, kept}),
  damaged: ({area, kept}) => gettext('{area}. {kept}', {area, kept}),
  begun: ({area}) => gettext('{area}. It is being laid.', {area}),
};
export const stateOf = (room) => STATES[room.state](room);
export const rowsAndPack = () => gettext('Its rows, pack and day');
export const lookingAt = () => gettext('Looking at the rooms.');

// Doorways
export const planHead = () => gettext('The flat');
export const planHint = () =>
  gettext('Drag a door to the door it leads to, or press one after the other. Rooms that no doorway joins lie apart.');
export const planWaits = () => gettext('The rooms are drawn here once they have a floor.');
export const doorwaysHead = () => gettext('Doorways');
export const noDoorways = () => gettext('No doorway joins two rooms yet.');
export const doorIn = (door, room) => gettext('{door} of {room}', {door, room});
export const doorway = (a, b) => gettext('{a} to {b}', {a, b});
export const doorwayDoors = (a, b) => gettext('{a} is {b}', {a, b});
export const freeDoor = (door) => gettext('Door {door}: leads nowhere yet. Press to choose it.', {door});
export const chosenDoor = (door) => gettext('Door {door}: chosen. Press the door it leads to; Escape lets it go.', {door});
export const partnerDoor = (door, other) => gettext('Door {door}: press to join it with {other}.', {door, other});
export const joinedDoor = (door, other) => gettext('Door {door} is joined with {other}.', {door, other});
export const nowPartner = (door) => gettext('{door} is chosen. Now press the door it leads to.', {door});
export const letGo = () => gettext('Let go: no door is chosen.');
export const joined = (a, b) => gettext('{a} and {b} are one doorway now.', {a, b});
export const freeHead = () => gettext('Doors that lead nowhere yet');
export const freeHint = () => gettext('Leave out those that lead out of the flat, or to a room with another floor.');
export const leadsTo = (door) => gettext('{door} leads to', {door});
export const joinTo = (door) => gettext('Join: {door} leads to …', {door});
export const join = () => gettext('Join');
export const part = (a, b) => gettext('Part {a} and {b}', {a, b});
export const parted = (a, b) => gettext('{a} and {b} are parted.', {a, b});
export const howLaid = () => gettext('In this doorway');
export const LAID = () => [
  ['auto', gettext('What the lengths ask for')],
  ['through', gettext('Boards run through')],
  ['profile', gettext('A profile')],
];
export const wallThick = () => gettext('Thickness of the wall there');
export const thickAsked = (a, b) => gettext('How thick is the wall between {a} and {b}? Measure it in the doorway.', {a, b});
export const waitsForFloors = () => gettext('The rooms are joined here once both have a floor.');
export const doesNotFit = () => gettext('These two doors do not fit together as measured, so the rooms lie apart.');

const RESULTS = {
  through: () => gettext('Boards run through.'),
  profile: () => gettext('A profile lies here.'),
};
const RULES = {
  asked: () => gettext('You chose it.'),
  'other-boards': () => gettext('The two rooms have different boards.'),
  'second-opening': () => gettext('The two rooms are one floor already by way of another doorway.'),
  'longest-run': ({laid, reach, longest}) =>
    laid === 'through'
      ? gettext('Together the floor reaches {reach}, no more than the {longest} it may run without a profile.', {reach, longest})
      : gettext('Together the floor would reach {reach}, more than the {longest} it may run without a profile.', {reach, longest}),
};
export const laidWords = (told) => `${RESULTS[told.laid]()} ${RULES[told.rule](told)}`;
export const leaflet = () => gettext('Many makers ask for a profile in every doorway: their leaflet decides.');

// For the whole flat
export const wholeHead = () => gettext('For the whole flat');
export const rowsAlong = () => gettext('All rows run along');
export const longestWall = () => gettext('the longest wall');
export const wallIn = (wall, room) => gettext('{wall} in {room}', {wall, room});
export const leaveBy = () => gettext('You leave the flat by');
export const leaveAuto = () => gettext('the room the doors tell');
export const ownOrder = () => gettext('You put the rooms in this order.');
export const orderAnew = () => gettext('Let the doors tell the order');
const ORDERS = {
  named: (room) => gettext('From the farthest room to {room}, which you leave by.', {room}),
  'outer-door': (room) => gettext('From the farthest room to {room}, the only one with a door that leads to none of the others.', {room}),
  'most-doorways': (room) => gettext('From the farthest room to {room}, which has most doorways: nothing says by which room you leave.', {room}),
};
export const orderWords = ({rule, entrance}) => ORDERS[rule](entrance);
export const boardsFor = () => gettext('Boards');
export const ownBoards = () => gettext('each room its own');
export const boardsOf = (boards, rooms) => gettext('{boards}, as in {rooms}', {boards, rooms});
export const flatBoards = () => gettext('one for the whole flat');
export const boardless = (rooms) => gettext('No boards are named for {rooms}: take those of another room here, or open the room.', {rooms});

// What to buy
export const buyHead = () => gettext('What to buy');
export const buyWaits = () => gettext('Boards for all rooms are counted here once a room has a floor and boards.');
export const counting = () => gettext('Planning all rooms together.');
export const countingOn = () => gettext('A first count. Looking for fewer boards.');
export const packsName = () => gettext('Packs');
export const packsNote = (pack, spare) => gettext('of {pack}, {spare} boards to spare', {pack, spare});
export const boardsName = () => gettext('Boards cut');
export const boardsNote = (bound) => gettext('no plan takes fewer than {bound}', {bound});
export const aloneName = () => gettext('Room by room');
export const aloneNote = () => gettext('packs, each with its own spares');
export const oneByOne = () => gettext('Floor by floor');
export const floorBoards = (rooms, count) => ngettext('{rooms}: {count} board', '{rooms}: {count} boards', count, {rooms});
export const shoppingHead = () => gettext('Everything to buy');
export const travelHead = (count) => ngettext('{count} offcut that goes from room to room', '{count} offcuts that go from room to room', count);

export const keptWords = () => gettext('The plans of all floors are kept. This is what they take.');
export const keepPlans = () => gettext('These are my plans');
export const keepAgain = () => gettext('Keep the plans again');
export const keepAgainNote = () => gettext('Rooms that are not begun are planned with what really was left; plans that still fit stay.');
export const keeping = () => gettext('Keeping the plans.');
export const makePack = () => gettext('Make the booklet');
export const making = () => gettext('Making the booklet.');
export const madePack = () => gettext('The booklet is ready.');
export const fetchPack = () => gettext('Download it');
export const packOf = () => gettext('The booklet');
export const PACKS = () => [
  ['', gettext('One for the whole flat')],
  ['each', gettext('One a room')],
];

// The way on, and what undo names
export const goOn = (room) => gettext('Go on with {room}', {room});
export const joinRooms = () => gettext('Join the rooms');
export const mendDoorway = () => gettext('Look at the doorways');
export const chooseBoards = () => gettext('Choose the boards');
export const toDay = (room) => gettext('Lay {room}', {room});
export const didJoin = (a, b) => gettext('joined {a} and {b}', {a, b});
export const didPart = (a, b) => gettext('parted {a} and {b}', {a, b});
export const didChooseLaid = () => gettext('chose how a doorway is laid');
export const didThickness = () => gettext('typed how thick a wall is');
export const didMove = (room) => gettext('moved {room} in the order', {room});
export const didFreeOrder = () => gettext('let the doors tell the order');
export const didTakeIn = (room) => gettext('took in {room}', {room});
export const didTakeOut = (room) => gettext('took {room} out', {room});
export const didDirection = () => gettext('chose where the rows run');
export const didEntrance = () => gettext('chose where you leave');
export const didBoards = () => gettext('chose the boards');
export const didRename = () => gettext('renamed the flat');
export const myFlat = () => gettext('My flat');
