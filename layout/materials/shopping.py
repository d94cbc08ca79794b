"""What to buy, each line with what its number comes from (trade sheet, sections 3, 4, 6, 7; common practice unless
said)."""
from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from shapely.geometry.base import BaseGeometry

from layout.facts import purchases
from layout.plan import SPARE_BOARDS, Bars, Item, Profile
from layout.room import Board, OwnPiece, Room, Settled, Underlay
from layout.materials.underlay_sheets import FILM_WIDTH_MM, Sheets, film_sheets, rolls_for, underlay_sheets

SPACER_EVERY_MM = 600.0
#: So many spacers do for any room: they are moved along with the rows.
MOST_SPACERS = 30
#: Tape for joints as it is sold, mm.
TAPE_ROLL_MM = 25_000.0
#: A collar must be wider than its hole by this much, mm.
COLLAR_LAP_MM = 10.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Need:
    """What the plan uses: boards (and their lengths, where they differ) and packs to buy, pieces owned that it takes,
    the floor (row frame, mm), row ends, beading, profiles."""

    boards: int
    lengths: tuple[float, ...]
    packs: int
    owned: tuple[OwnPiece, ...]
    floor_rf: BaseGeometry
    row_ends: int
    bars: Bars
    beading_least_mm: float
    profiles: tuple[Profile, ...]


def packs_for(boards: int, board: Board) -> int:
    """Whole packs that hold so many boards."""
    return ceil(boards / board.pack)


def shopping_list(room: Room, board: Board, wishes: Settled, need: Need) -> tuple[Item, ...]:
    """The shopping list, boards first."""
    under = None if wishes.underlay is None else underlay_sheets(need.floor_rf, wishes.underlay)
    film = None if wishes.subfloor == "timber" else film_sheets(need.floor_rf)
    items = [_packs(board, need), _underlay(wishes.underlay, under, need.floor_rf), *_film(film, wishes.subfloor),
             _tape(under, film, wishes.subfloor), _spacers(need), _beading(need), *_profiles(need)]
    items += [Item(purchase=purchases.Threshold(door=door.name, width_mm=door.width_mm), quantity=1)
              for door in room.doors]
    return (*items, *_collars(room, wishes))


def _packs(board: Board, need: Need) -> Item:
    """A pack more where they would leave fewer than `SPARE_BOARDS` over."""
    more = need.packs * board.pack - need.boards < SPARE_BOARDS
    packs = need.packs + more
    spare = packs * board.pack - need.boards
    if board.mix:
        lengths = tuple((length, need.lengths.count(length), count * packs) for length, count in board.mix)
        return Item(purchase=purchases.MixedBoards(face_mm=(board.width_mm, board.thickness_mm), lengths=lengths,
                                                   spare=spare, pack_more=more), quantity=packs)
    used = tuple(piece.label for piece in need.owned if piece.board)
    size = (board.length_mm, board.width_mm, board.thickness_mm)
    return Item(purchase=purchases.Boards(size_mm=size, boards=need.boards, pack=board.pack, spare=spare,
                                          pack_more=more, owned=used), quantity=packs)


def _underlay(underlay: Underlay | None, sheets: Sheets | None, floor: BaseGeometry) -> Item:
    if underlay is None or sheets is None:
        return Item(purchase=purchases.Underlay(), quantity=round(floor.area / 1e6 + 0.05, 1))
    rolls = purchases.UnderlayRolls(thickness_mm=underlay.thickness_mm, floor_m2=floor.area / 1e6, sheets=sheets.strips,
                                    roll_mm=(underlay.roll_length_mm, underlay.roll_width_mm),
                                    laid_mm=sheets.length_mm)
    return Item(purchase=rolls, quantity=rolls_for(sheets, underlay))


def _film(sheets: Sheets | None, subfloor: str) -> list[Item]:
    if sheets is None:
        return []
    film = purchases.Film(sheets=sheets.strips, wide_mm=FILM_WIDTH_MM, laid_mm=sheets.length_mm,
                          sure=subfloor == "mineral")
    return [Item(purchase=film, quantity=ceil(sheets.length_mm * FILM_WIDTH_MM / 1e6))]


def _tape(under: Sheets | None, film: Sheets | None, subfloor: str) -> Item:
    joints = (under.joint_mm if under else 0.0) + (film.joint_mm if film and subfloor == "mineral" else 0.0)
    if under is None and subfloor != "mineral":
        return Item(purchase=purchases.TapeRoll(), quantity=1)
    tape = purchases.JointTape(joints_mm=joints, roll_mm=TAPE_ROLL_MM, underlay=under is not None,
                               film=subfloor == "mineral")
    return Item(purchase=tape, quantity=ceil(joints * 1.1 / TAPE_ROLL_MM))


def _spacers(need: Need) -> Item:
    every = ceil(need.floor_rf.length / SPACER_EVERY_MM) + need.row_ends
    return Item(purchase=purchases.Spacers(), quantity=min(every, MOST_SPACERS))


def _beading(need: Need) -> Item:
    bars = need.bars
    sawn = sum(piece.length_mm for bar in bars.bars for piece in bar)
    return Item(purchase=purchases.BeadingBars(bar_mm=bars.bar_mm, sawn_mm=sawn, kerf_mm=bars.kerf_mm, bound=bars.bound,
                                           bars=len(bars.bars), least_mm=need.beading_least_mm),
                quantity=len(bars.bars))


def _profiles(need: Need) -> list[Item]:
    lengths = tuple(sum((a - b) ** 2 for a, b in zip(*profile.ends)) ** 0.5 for profile in need.profiles)
    if not lengths:
        return []
    return [Item(purchase=purchases.ExpansionProfiles(lengths_mm=lengths), quantity=ceil(sum(lengths) / 100) / 10)]


def _collars(room: Room, wishes: Settled) -> list[Item]:
    if not room.pipes:
        return []
    widest = max(pipe.diameter_mm + 2 * wishes.gap_mm for pipe in room.pipes)
    return [Item(purchase=purchases.Collars(pipes=tuple(pipe.name for pipe in room.pipes),
                                        across_mm=widest + COLLAR_LAP_MM), quantity=len(room.pipes))]
