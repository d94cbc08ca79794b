"""What to buy, each line with the rule its number comes from (section 3, 4, 7 habits of trade; common practice unless said)."""
from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from layout.plan import BeadingPiece, Item
from layout.room import Board, Room, Underlay, Wishes

BEADING_ALLOWANCE = 0.10
WISE_SPARES = 2
SPACER_EVERY_MM = 600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """What the plan uses: boards and packs, floor area and cover area (m2), rows, row ends."""

    boards: int
    packs: int
    floor_m2: float
    wall_mm: float
    row_ends: int


def packs_for(boards: int, board: Board) -> int:
    """Whole packs that hold so many boards."""
    return ceil(boards / board.pack)

#: Floor area to film area: laps of 200 mm on sheets some 2 m wide, and the turn-ups (arithmetic for an ordinary room).
FILM_LAPS = 1.15


def shopping_list(room: Room, board: Board, wishes: Wishes, need: Need, beading: tuple[BeadingPiece, ...]) -> tuple[Item, ...]:
    """The shopping list, boards first."""
    items = [_packs(board, need), _underlay(wishes.underlay, need), _film(need), _spacers(need), _beading(beading)]
    items += [Item(what=f"threshold profile for door {door.name}", quantity=1, unit="piece",
                   why=f"The opening is {door.width_mm:g} mm wide; each floor stops the gap short of the profile, and the profile is fixed to "
                       "the subfloor only.") for door in room.doors]
    if room.pipes:
        names = ", ".join(pipe.name for pipe in room.pipes)
        widest = max(pipe.diameter_mm + 2 * wishes.gap_mm for pipe in room.pipes)
        items.append(Item(what="pipe collars", quantity=len(room.pipes), unit="pieces",
                          why=f"One for each pipe ({names}); a collar must be at least 10 mm wider than its hole, so {widest + 10:.0f} mm across."))
    return tuple(items)


def _packs(board: Board, need: Need) -> Item:
    spare = need.packs * board.pack - need.boards
    why = f"The plan uses {need.boards} boards and a pack holds {board.pack}: {spare} spare."
    if spare < WISE_SPARES:
        why += (f" We advise one pack more: {WISE_SPARES} spare boards cover a miscut and a repair years from now.")
    return Item(what=f"boards {board.length_mm:g} x {board.width_mm:g} x {board.thickness_mm:g} mm", quantity=need.packs, unit="packs", why=why)


def _underlay(underlay: Underlay | None, need: Need) -> Item:
    if underlay is None:
        return Item(what="underlay", quantity=round(need.floor_m2 + 0.05, 1), unit="m2",
                    why="The whole floor; sheets butt and do not lap, one layer only. Ask the board maker which kind.")
    area = underlay.roll_length_mm * underlay.roll_width_mm / 1e6
    return Item(what=f"underlay {underlay.thickness_mm:g} mm, rolls of {area:g} m2", quantity=ceil(need.floor_m2 / area - 1e-9), unit="rolls",
                why=f"{need.floor_m2:.2f} m2 of floor, counted by area; sheets butt and do not lap, one layer only.")


def _film(need: Need) -> Item:
    return Item(what="polythene film 0.2 mm, ONLY if the subfloor is mineral (screed, concrete, tiles)", quantity=ceil(need.floor_m2 * FILM_LAPS),
                unit="m2", why="The floor and 15 % for laps of 200 mm, taped, and for turning it up at the walls. None on a timber floor: it traps damp.")


def _spacers(need: Need) -> Item:
    return Item(what="wall spacers as thick as the gap", quantity=ceil(need.wall_mm / SPACER_EVERY_MM) + need.row_ends, unit="pieces",
                why="About two a board along the walls and one at each row end; taken out when the floor is down.")


def _beading(beading: tuple[BeadingPiece, ...]) -> Item:
    total = sum(piece.length_mm for piece in beading) / 1000.0
    return Item(what="skirting or beading", quantity=ceil(total * (1 + BEADING_ALLOWANCE) * 10) / 10, unit="m",
                why=f"{total:.2f} m of wall and island edges and 10 % for mitres. Fix it to the wall, never to the floor.")
