"""What to buy, each line with the rule its number comes from (trade sheet, sections 3, 4, 6, 7; common practice
unless said)."""
from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from shapely.geometry.base import BaseGeometry

from layout.plan import Bars, Item, Owned, Profile
from layout.room import Board, Room, Settled, Underlay
from layout.materials.underlay_sheets import FILM_WIDTH_MM, Sheets, film_sheets, rolls_for, underlay_sheets

#: Boards to spare: for a miscut, and for a repair years from now (common practice, no source).
WISE_SPARES = 2
SPACER_EVERY_MM = 600.0
#: A collar must be wider than its hole by this much, mm.
COLLAR_LAP_MM = 10.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Need:
    """What the plan uses: boards (and their lengths, where they differ) and packs to buy, pieces owned that it takes,
    the floor (row frame, mm), row ends, beading, profiles."""

    boards: int
    lengths: tuple[float, ...]
    packs: int
    owned: tuple[Owned, ...]
    floor_rf: BaseGeometry
    row_ends: int
    bars: Bars
    beading_least_mm: float
    profiles: tuple[Profile, ...]


def packs_for(boards: int, board: Board) -> int:
    """Whole packs that hold so many boards and two to spare; none where nothing is bought."""
    return ceil((boards + WISE_SPARES) / board.pack) if boards else 0


def shopping_list(room: Room, board: Board, wishes: Settled, need: Need) -> tuple[Item, ...]:
    """The shopping list, boards first."""
    under = None if wishes.underlay is None else underlay_sheets(need.floor_rf, wishes.underlay)
    film = None if wishes.subfloor == "timber" else film_sheets(need.floor_rf)
    items = [_packs(board, need), _underlay(wishes.underlay, under, need.floor_rf), *_film(film, wishes.subfloor),
             _tape(under, film, wishes.subfloor), _spacers(need), _beading(need), *_profiles(need)]
    items += [Item(what=f"threshold profile for door {door.name}", quantity=1, unit="piece",
                   why=f"The opening is {door.width_mm:g} mm wide; each floor stops the gap short of the profile, and "
                       "the profile is fixed to "
                       "the subfloor only.") for door in room.doors]
    return (*items, *_collars(room, wishes))


def _packs(board: Board, need: Need) -> Item:
    if board.mix:
        return _mixed_packs(board, need)
    spare = need.packs * board.pack - need.boards
    used = [piece for piece in need.owned if piece.board]
    why = (f"The plan uses {need.boards} {'new ' if used else ''}boards and a pack holds "
           f"{board.pack}: {spare} to spare, for a miscut and a repair years from now.")
    if used:
        pieces = "1 piece you have already is" if len(used) == 1 else f"{len(used)} pieces you have already are"
        why += f" {pieces} used first ({', '.join(piece.label for piece in used)})."
    return Item(what=f"boards {board.length_mm:g} x {board.width_mm:g} x {board.thickness_mm:g} mm",
                quantity=need.packs, unit="packs", why=why)


def _mixed_packs(board: Board, need: Need) -> Item:
    """Packs of several lengths: how many of each length they hold and the plan uses."""
    lengths = ", ".join(f"{need.lengths.count(length)} of {count * need.packs} boards of {length:g} mm"
                        for length, count in board.mix)
    spare = need.packs * board.pack - need.boards
    why = (f"The plan uses {lengths}: {spare} spare. Open the packs and count the lengths before you saw: if they hold "
           "others, type what they hold.")
    return Item(
        what=f"boards {board.mix[0][0]:g} to {board.length_mm:g} x {board.width_mm:g} x {board.thickness_mm:g} mm",
        quantity=need.packs, unit="packs", why=why)


def _underlay(underlay: Underlay | None, sheets: Sheets | None, floor: BaseGeometry) -> Item:
    area = floor.area / 1e6
    if underlay is None or sheets is None:
        return Item(what="underlay", quantity=round(area + 0.05, 1), unit="m2",
                    why="The whole floor; sheets butt and do not lap, one layer only. Ask the board maker which kind.")
    size = underlay.roll_length_mm * underlay.roll_width_mm / 1e6
    return Item(
        what=f"underlay {underlay.thickness_mm:g} mm, rolls of {size:g} m2",
        quantity=rolls_for(sheets, underlay),
        unit="rolls",
        why=f"{area:.2f} m2 of floor: {sheets.strips} sheets {underlay.roll_width_mm:g} mm wide across the rows, "
        f"{sheets.length_mm / 1000:.1f} m in all; what is left of one goes on in the next. They butt and do not lap, "
        "one layer only.",
    )


def _film(sheets: Sheets | None, subfloor: str) -> list[Item]:
    if sheets is None:
        return []
    sure = subfloor == "mineral"
    when = " for the mineral subfloor" if sure else ", ONLY if the subfloor is mineral (screed, concrete, tiles)"
    amount = f"{sheets.strips} sheets {FILM_WIDTH_MM / 1000:g} m wide, {sheets.length_mm / 1000:.1f} m in all"
    return [Item(what=f"polythene film 0.2 mm{when}", quantity=ceil(sheets.length_mm * FILM_WIDTH_MM / 1e6), unit="m2",
                 why=f"{amount}, lapped 200 mm and turned up at the walls."
                 + ("" if sure else " None on a timber floor: it traps damp."))]


def _tape(under: Sheets | None, film: Sheets | None, subfloor: str) -> Item:
    joints = (under.joint_mm if under else 0.0) + (film.joint_mm if film and subfloor == "mineral" else 0.0)
    if under is None and subfloor != "mineral":
        return Item(what="tape for the joints of the underlay (and of a film)", quantity=1, unit="roll",
                    why="How much depends on the width of the sheets: add up the joints between them.")
    return Item(what="tape for the joints of "
                + " and ".join(["underlay"] * (under is not None) + ["film"] * (subfloor == "mineral")),
                quantity=ceil(joints / 1000 * 1.1), unit="m",
                why=f"{joints / 1000:.1f} m of joints between sheets and a tenth more.")


def _spacers(need: Need) -> Item:
    return Item(what="wall spacers as thick as the gap", quantity=ceil(need.floor_rf.length / SPACER_EVERY_MM)
                + need.row_ends, unit="pieces",
                why="About two a board along the walls and one at each row end; taken out when the floor is down.")


def _beading(need: Need) -> Item:
    bars = need.bars
    total, count = sum(piece.length_mm for bar in bars.bars for piece in bar) / 1000.0, len(bars.bars)
    sure = "no fewer can do" if count == bars.bound else f"at least {bars.bound} are needed"
    return Item(what=f"skirting or beading, bars of {bars.bar_mm:g} mm", quantity=count, unit="bars",
                why=f"{total:.2f} m with its mitres and a saw cut of {bars.kerf_mm:g} mm between pieces; {sure} (the "
                    "cut list shows each bar), and "
                    f"a miscut costs one more. It must cover at least {ceil(need.beading_least_mm)} mm of floor: "
                    "widest gap, winter shrinkage and "
                    "2 mm. Fix it to the wall, never to the floor.")


def _profiles(need: Need) -> list[Item]:
    lengths = [sum((a - b) ** 2 for a, b in zip(*profile.ends)) ** 0.5 / 1000.0 for profile in need.profiles]
    if not lengths:
        return []
    metres = " + ".join(f"{length:.2f}" for length in lengths)
    return [Item(what="expansion profile", quantity=ceil(sum(lengths) * 10) / 10, unit="m",
                 why=f"{metres} m; wide enough to cover the gap on both sides of its web, fixed to the subfloor only.")]


def _collars(room: Room, wishes: Settled) -> list[Item]:
    if not room.pipes:
        return []
    widest = max(pipe.diameter_mm + 2 * wishes.gap_mm for pipe in room.pipes)
    return [Item(what="pipe collars", quantity=len(room.pipes), unit="pieces",
                 why=f"One for each pipe ({', '.join(pipe.name for pipe in room.pipes)}); a collar must be at least 10 "
                     "mm wider than its hole, so "
                     f"{widest + COLLAR_LAP_MM:.0f} mm across.")]
