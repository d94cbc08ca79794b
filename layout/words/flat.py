"""A flat in words: in which order it is laid, how each doorway is, the boards bought together, and the offcuts that go
from room to room."""
from __future__ import annotations

from collections.abc import Iterable, Sequence

from capture.language.messages import gettext, listed, marked, ngettext, worded
from layout.flat_plan import BoardKind, FlatPlan, LayingOrder, PassageChoice, Travel
from layout.plan import SPARE_BOARDS
from layout.words.lengths import Lengths

_FILE = "house.json"
#: What many makers ask, whatever we choose (trade sheet, section 2).
LEAFLET = marked("Many makers ask for a profile in every doorway: their leaflet decides.")


def order_words(order: LayingOrder, floors: Iterable[Sequence[str]]) -> str:
    """In which order the rooms are laid, and why. floors: the rooms of each floor, in the order of laying: those that
    boards run through are laid as one."""
    laid = [sorted(floor, key=order.rooms.index) for floor in floors]
    if len(laid) < 2:
        return ""
    rooms = gettext(", then ").join(listed(floor) for floor in laid)
    if order.named:
        return gettext("Lay {rooms}: the order that {file} asks for.", rooms=rooms, file=_FILE)
    return worded(_ORDER[order.rule], rooms=rooms, entrance=order.entrance, file=_FILE)


#: By the rule that told where one leaves.
_ORDER = {
    "named": marked("Lay {rooms}: from the farthest to {entrance}, the room that {file} says you leave by."),
    "outer-door": marked(
        "Lay {rooms}: from the farthest to {entrance}, the only room with a door that leads to none of the others. "
        'Write "entrance" in {file} if it is another.'),
    "most-doorways": marked(
        "Lay {rooms}: from the farthest to {entrance}, the room with most doorways, as nothing says where you leave. "
        'Write "entrance" in {file} if it is another.'),
}


def order_reason(order: LayingOrder) -> str:
    """Why the rooms are laid in this order, for paper that lists it: no file can be written there."""
    if order.named:
        return gettext("You put the rooms in this order.")
    return worded(_REASON[order.rule], room=order.entrance)


_REASON = {
    "named": marked("From the farthest room to {room}, which you leave by."),
    "outer-door": marked("From the farthest room to {room}, the only one with a door that leads to none of the "
                         "others."),
    "most-doorways": marked("From the farthest room to {room}, which has most doorways: nothing says by which room "
                            "you leave."),
}


def passage_words(choice: PassageChoice, show: str) -> str:
    """How a doorway is laid, and why."""
    units, (a, b) = Lengths(show), choice.rooms
    what = (gettext("Between {a} and {b} boards run through", a=a, b=b) if choice.through else
            gettext("Between {a} and {b} lay a profile", a=a, b=b))
    if choice.rule == "asked":
        return gettext("{what}: you chose it.", what=what)
    if choice.rule == "other-boards":
        return gettext("{what}: the rooms have different boards.", what=what)
    if choice.rule == "second-opening":
        return gettext("{what}: the rooms are one floor already by way of another doorway.", what=what)
    reach = {"what": what, "extent": units.metres(choice.extent_mm, 1), "longest": units.metres(choice.longest_mm, 1)}
    if choice.through:
        return gettext("{what}: together their floor reaches {extent}, no more than the {longest} a floor may run "
                       "without a profile.", **reach)
    return gettext("{what}: together their floor reaches {extent}, more than the {longest} a floor may run without a "
                   "profile.", **reach)


def kind_words(kind: BoardKind, show: str) -> str:
    """What is bought of one kind of board for the whole flat, beside what the rooms would take one by one."""
    board, size = kind.board, Lengths(show).by(kind.board.length_mm, kind.board.width_mm, kind.board.thickness_mm)
    said = [ngettext(
        "Boards {size} for {floors}: {boards} boards, {count} pack of {pack}, {spare} to spare (at least {least} for "
        "the whole flat, for a miscut and a repair).",
        "Boards {size} for {floors}: {boards} boards, {count} packs of {pack}, {spare} to spare (at least {least} for "
        "the whole flat, for a miscut and a repair).", kind.packs_to_buy, size=size, floors=listed(kind.floors),
        boards=kind.boards, pack=board.pack, spare=kind.spare, least=SPARE_BOARDS)]
    if kind.packs_alone > kind.packs_to_buy:
        said.append(ngettext("Bought room by room it would be {count} pack.",
                             "Bought room by room it would be {count} packs.", kind.packs_alone))
    if kind.boards < kind.alone:
        said.append(ngettext(
            "Offcuts carried from room to room save {count} board: print every room from the plan that is kept with "
            "the others.", "Offcuts carried from room to room save {count} boards: print every room from the plan that "
            "is kept with the others.", kind.alone - kind.boards))
    if kind.proven:
        said.append(gettext("No plan of these rows takes fewer boards."))
    return " ".join(said)


def travel_words(travel: Travel, show: str) -> str:
    """An offcut that goes to another room."""
    return gettext('From {origin}, sawn from piece {source}: {length}. Pencil "{label}" on it; it becomes piece '
                   "{piece} of {floor}.", origin=travel.from_floor, source=travel.cut_by,
                   length=Lengths(show).whole(travel.length_mm), label=travel.label, piece=travel.used_by,
                   floor=travel.to_floor)


def kinds_words(flat: FlatPlan) -> str:
    """What several kinds of boards mean for the spares; "" for one kind."""
    if len(flat.kinds) < 2:
        return ""
    return gettext("{kinds} kinds of boards are laid: spares are counted for each kind.", kinds=len(flat.kinds))
