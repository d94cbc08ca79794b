"""A flat in words: in which order it is laid, how each doorway is, the boards bought together, and the offcuts that go
from room to room."""
from __future__ import annotations

from layout.flat_plan import BoardKind, FlatBars, FlatPlan, LayingOrder, PassageChoice, Travel
from layout.plan import SPARE_BOARDS
from layout.words.lengths import Lengths

_FILE = "house.json"
#: What many makers ask, whatever we choose (trade sheet, section 2).
LEAFLET = "Many makers ask for a profile in every doorway: their leaflet decides."


def order_words(order: LayingOrder) -> str:
    """In which order the rooms are laid, and why."""
    if len(order.rooms) < 2:
        return ""
    rooms = ", then ".join(order.rooms)
    if order.named:
        return f"Lay {rooms}: the order that {_FILE} asks for."
    how = {"named": f"the room that {_FILE} says you leave by",
           "outer-door": "the only room with a door that leads to none of the others",
           "most-doorways": "the room with most doorways, as nothing says where you leave"}[order.rule]
    say = "" if order.rule == "named" else f' Write "entrance" in {_FILE} if it is another.'
    return f"Lay {rooms}: from the farthest to {order.entrance}, {how}.{say}"


def passage_words(choice: PassageChoice, show: str) -> str:
    """How a doorway is laid, and why."""
    units, (a, b) = Lengths(show), choice.rooms
    what = f"Between {a} and {b} " + ("boards run through" if choice.through else "lay a profile")
    if choice.rule == "asked":
        return f"{what}: {_FILE} says so."
    if choice.rule == "other-boards":
        return f"{what}: the rooms have different boards."
    if choice.rule == "second-opening":
        return f"{what}: the rooms are one floor already by way of another doorway."
    how = "no more than" if choice.through else "more than"
    return (f"{what}: together their floor reaches {units.metres(choice.extent_mm, 1)}, {how} the "
            f"{units.metres(choice.longest_mm, 1)} a floor may run without a profile.")


def kind_words(kind: BoardKind, show: str) -> str:
    """What is bought of one kind of board for the whole flat, beside what the rooms would take one by one."""
    board, size = kind.board, Lengths(show).by(kind.board.length_mm, kind.board.width_mm, kind.board.thickness_mm)
    packs = f"{kind.packs_to_buy} pack{'s' * (kind.packs_to_buy != 1)} of {board.pack}"
    alone = kind.alone - kind.boards
    said = (f"Boards {size} for {_listed(kind.floors)}: {kind.boards} boards, {packs}, {kind.spare} to spare (at least "
            f"{SPARE_BOARDS} for the whole flat, for a miscut and a repair).")
    if kind.proven:
        said += " No plan of these rows takes fewer boards."
    elif kind.bound and not board.mix:
        said += f" No plan of these rows takes fewer than {kind.bound}."
    if len(kind.floors) > 1:
        fewer = f"{alone} board{'s' * (alone != 1)} fewer" if alone else "as many boards"
        said += f" That is {fewer} than room by room ({kind.alone}), which would take {kind.packs_alone} packs."
    return said


def travel_words(travel: Travel, show: str) -> str:
    """An offcut that goes to another room."""
    return (f"From {travel.from_floor}, sawn from piece {travel.cut_by}: {Lengths(show).whole(travel.length_mm)}. "
            f'Pencil "{travel.label}" on it; it becomes piece {travel.used_by} of {travel.to_floor}.')


def kinds_words(flat: FlatPlan) -> str:
    """What several kinds of boards mean for the offcuts; "" for one kind."""
    if len(flat.kinds) < 2:
        return ""
    return (f"{len(flat.kinds)} kinds of boards are laid: offcuts go from room to room only where both have the same "
            "board, and spares are counted for each kind.")


def bars_words(bars: FlatBars, show: str) -> str:
    """Bars of beading bought together, beside room by room."""
    return (f"Beading: {len(bars.bars)} bars of {Lengths(show).mm(bars.bar_mm)} sawn for all rooms together; room by "
            f"room it would be {bars.alone}.")


def _listed(names: tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
