"""Boards of several lengths from one pack: which board goes where, row by row, when the number of each length is known.

A run begins with a whole board (a little less where the wall slants), or with an offcut that keeps its right end (or,
where neither keeps the rules, with a board sawn at its left end), goes on with whole boards, and ends with a piece that
keeps its left end. Runs are laid in order; a beam keeps the layings that are best so far: least wood lost, that is
board opened less what the offcuts at hand are still good for, and, as long as the packs last, few joints that look
alike two rows apart or climb like stairs, and few saw cuts. An offcut shorter than the shortest piece is good for
nothing. Same arguments, same answer; the budget is the number of layings kept.

No plan opens less wood than the runs are long in all (`least_packs`); the beam proves nothing more.
"""
from __future__ import annotations

from bisect import insort
from dataclasses import dataclass
from math import ceil
from typing import NamedTuple

from layout.search.core.model import SAME_MM, Span, Task

#: Lengths of board with how many of each there are.
Stock = tuple[tuple[float, int], ...]

#: Ways kept to lay one run after each laying kept, beyond as many as layings are kept, and at most; of runs begun three
#: times as many.
MORE_WAYS, MOST_WAYS = 8, 40
#: An offcut may find no place, so it is worth less than its length.
OFFCUT_WORTH = 0.95
#: Sizes to which a board may be sawn at its left end are tried this far apart, mm.
TRIM_STEP_MM = 50.0
#: So much is sawn off a board that begins a run at a wall that is not square to it: a wedge of a millimetre or two is
#: hard to saw off. Given up where it would cost a pack.
WEDGE_MM = 15.0
#: So many packs more than wood alone asks for are tried.
PACKS_MORE = 6
#: Where even so many times the packs do not help, it is a rule that cannot be kept.
PLENTY = 10
#: What a joint nearer than this to one two rows up, one that goes on by the same step as the last two rows, and a saw
#: cut may cost in wood as long as the packs last, mm.
ALIKE_MM, ALIKE_COST_MM = 100.0, 150.0
STAIR_MM, STAIR_COST_MM = 25.0, 100.0
CUT_COST_MM = 10.0


class Leftover(NamedTuple):
    """Wood left of a board: its length, the factory end it keeps ("left" or "right"), the number of its board and
    how long that was."""

    length_mm: float
    keeps: str
    board: int
    board_mm: float


class Begun(NamedTuple):
    """A floor begun: joints of the runs that lie, the first of the task (s, mm), and wood on hand. The boards of that
    have numbers below 0."""

    joints: tuple[tuple[float, ...], ...] = ()
    leftovers: tuple[Leftover, ...] = ()


NOTHING_LIES = Begun()


class MixedPiece(NamedTuple):
    """A piece as laid: its run, length, the board's number and full length, and where its left end lies in the
    board."""

    run: int
    length_mm: float
    board: int
    board_mm: float
    from_mm: float


class Laying(NamedTuple):
    """What lies after some runs: boards left of each length, leftovers in order, boards opened and their length in all,
    joints of each run (s, mm), saw cuts, what its looks cost in wood, the last piece, and the laying before it was put
    down (None: nothing lies).

    A chain, since a beam holds thousands that differ in their last pieces only.
    """

    left: Stock
    leftovers: tuple[Leftover, ...] = ()
    boards: int = 0
    opened_mm: float = 0.0
    joints: tuple[tuple[float, ...], ...] = ()
    cuts: int = 0
    looks_mm: float = 0.0
    piece: MixedPiece | None = None
    before: Laying | None = None

    def pieces(self) -> list[MixedPiece]:
        """Every piece in the order it was put down."""
        found: list[MixedPiece] = []
        laying: Laying | None = self
        while laying is not None:
            found += [laying.piece] if laying.piece is not None else []
            laying = laying.before
        return found[::-1]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Here:
    """The run to be laid: joints it must keep its distance from as (lo, hi, least distance, place), joints one and two
    rows up, what an offcut must measure to be good for something, how many runs are still to come, and what looks may
    cost."""

    kerf_mm: float
    run: int
    span: Span
    near: tuple[tuple[float, float, float, float], ...]
    before: tuple[float, ...]
    above: tuple[float, ...]
    shortest_mm: float
    to_come: int
    looks: float
    wedge_mm: float
    ways: int


class _Way(NamedTuple):
    """A run begun: the laying as it stands, where the last piece ends, the joints so far."""

    laying: Laying
    at_mm: float
    joints: tuple[float, ...] = ()


def least_packs(task: Task, pack: Stock, begun: Begun = NOTHING_LIES) -> int:
    """Packs whose wood is at least as long as all runs together, less what is on hand; pack: (length, boards of it in a
    pack)."""
    need = sum(span.length_mm for span in task.spans) - sum(left.length_mm for left in begun.leftovers)
    return max(1, ceil(need / sum(length * count for length, count in pack) - SAME_MM))


def lay_more(task: Task, pack: Stock, left: Stock, *, beam: int, begun: Begun) -> Laying | None:
    """The rest of a floor laid with the boards that are left, and fewest packs more; None as for `lay_packs`."""
    for packs in range(PACKS_MORE + 1):
        stock = tuple((length, count + dict(left).get(length, 0)) for length, count in _held(pack, packs))
        for looks, wedge in ((1.0, WEDGE_MM), (0.0, 0.0)):
            laying = lay_mixed(task, stock, beam=beam, looks=looks, wedge_mm=wedge, begun=begun)
            if laying is not None:
                return laying
    return None


def lay_packs(task: Task, pack: Stock, *, beam: int, begun: Begun = NOTHING_LIES) -> tuple[int, Laying] | None:
    """(packs, the laying) for the fewest packs that one is found for; None: not even with PACKS_MORE over
    `least_packs`."""
    least = least_packs(task, pack, begun)
    for packs in range(least, least + PACKS_MORE + 1):
        for looks, wedge in ((1.0, WEDGE_MM), (0.0, 0.0)):
            laying = lay_mixed(task, _held(pack, packs), beam=beam, looks=looks, wedge_mm=wedge, begun=begun)
            if laying is not None:
                return packs, laying
        if packs == least and lay_mixed(task, _held(pack, least * PLENTY), beam=1, begun=begun) is None:
            return None
    return None


def _held(pack: Stock, packs: int) -> Stock:
    """What so many packs hold."""
    return tuple((length, count * packs) for length, count in pack)


def lay_mixed(task: Task, stock: Stock, *, beam: int, looks: float = 0.0, wedge_mm: float = 0.0,
              begun: Begun = NOTHING_LIES) -> Laying | None:
    """The best laying found with `stock`; None: none found. looks: how much of ALIKE_COST_MM and CUT_COST_MM counts;
    wedge_mm: see WEDGE_MM; begun: what lies already."""
    shortest = min((min(span.shortest_mm, span.length_mm) for span in task.spans[len(begun.joints):]), default=0.0)
    kept = [Laying(left=tuple(sorted(stock)), joints=begun.joints,
                   leftovers=tuple(sorted(left for left in begun.leftovers if left.length_mm >= shortest - SAME_MM)))]
    for run, span in list(enumerate(task.spans))[len(begun.joints):]:
        ways: list[Laying] = []
        for laying in kept:
            here = _Here(kerf_mm=task.kerf_mm, run=run, span=span, near=_near(task, run, laying),
                         before=_above(task, run, laying, 1), above=_above(task, run, laying, 2), shortest_mm=shortest,
                         to_come=len(task.spans) - run - 1, looks=looks, wedge_mm=wedge_mm,
                         ways=min(MOST_WAYS, beam + MORE_WAYS))
            ways += _ways(here, laying)
        kept = _best(ways, shortest, len(task.spans) - run - 1, looks, beam)
        if not kept:
            return None
    return kept[0]


def price_mm(laying: Laying, shortest_mm: float, runs: int, looks: float) -> float:
    """Wood opened less what the leftovers are still good for in `runs` runs more - one at each end of each -, and
    what looks and cuts cost."""
    useful, places = 0.0, {"left": runs, "right": runs}
    for left in reversed(laying.leftovers):
        if left.length_mm < shortest_mm:
            break
        if places[left.keeps]:
            places[left.keeps] -= 1
            useful += left.length_mm
    return laying.opened_mm - OFFCUT_WORTH * useful + looks * (laying.looks_mm + CUT_COST_MM * laying.cuts)


def _near(task: Task, run: int, laying: Laying) -> tuple[tuple[float, float, float, float], ...]:
    """(seam from, seam to, least distance, where the joint across lies) of every joint of laid runs that shares a
    seam with this one."""
    return tuple((seam.lo_mm, seam.hi_mm, seam.stagger_mm, s) for seam in task.seams
                 if run == max(seam.upper, seam.lower) for s in laying.joints[min(seam.upper, seam.lower)]
                 if seam.lo_mm - SAME_MM <= s <= seam.hi_mm + SAME_MM)


def _above(task: Task, run: int, laying: Laying, rows: int) -> tuple[float, ...]:
    """Joints of the runs so many rows up that this one lies under."""
    span = task.spans[run]
    over = [k for k in range(run) if task.spans[k].row == span.row - rows and task.spans[k].left_mm < span.right_mm
            and task.spans[k].right_mm > span.left_mm]
    return tuple(s for k in over for s in laying.joints[k])


def _best(layings: list[Laying], shortest_mm: float, runs: int, looks: float, count: int) -> list[Laying]:
    """The `count` best that differ in their boards left, leftovers or last joints."""
    found: dict[object, Laying] = {}
    order = sorted((round(price_mm(one, shortest_mm, runs, looks), 3), one.cuts, one.joints[-1], one.leftovers, k)
                   for k, one in enumerate(layings))
    for *_, k in order:
        laying = layings[k]
        found.setdefault((laying.left, tuple(round(left.length_mm) for left in laying.leftovers), laying.joints[-1]),
                         laying)
        if len(found) == count:
            break
    return list(found.values())


def _ways(here: _Here, laying: Laying) -> list[Laying]:
    """The best ways to lay one run after a laying; boards are sawn at their left end only if there is no other way."""
    for trim in (False, True):
        open_ways, done = _begun(here, laying, trim), _in_one(here, laying)
        while open_ways:
            grown: list[_Way] = []
            for way in open_ways:
                if _free(here, way.at_mm):
                    joined = way._replace(joints=(*way.joints, way.at_mm))
                    done += _ended(here, joined)
                    grown += _grown(here, joined)
            open_ways = _thinned(here, grown)
        if done:
            return _best(done, here.shortest_mm, here.to_come, here.looks, here.ways)
    return []


def _thinned(here: _Here, ways: list[_Way]) -> list[_Way]:
    ways.sort(key=lambda way: (round(price_mm(way.laying, here.shortest_mm, here.to_come, here.looks) - way.at_mm, 3),
                               way.joints))
    seen: dict[object, _Way] = {}
    for way in ways:
        seen.setdefault((way.laying.left, way.joints), way)
    return list(seen.values())[:3 * here.ways]


def _free(here: _Here, s_mm: float) -> bool:
    """Whether a joint at s keeps its distance from joints across the seams and lies on no bar."""
    if any(bar.stops(s_mm) for bar in here.span.bars):
        return False
    return not any(lo - SAME_MM <= s_mm <= hi + SAME_MM and abs(other - s_mm) < least - SAME_MM
                   for lo, hi, least, other in here.near)


def _closed(here: _Here, laying: Laying, joints: tuple[float, ...]) -> Laying:
    """The laying with the run's joints written down."""
    alike = sum(any(abs(s - other) < ALIKE_MM for other in here.above) for s in joints)
    stairs = sum(any(abs(s - 2 * last + other) < STAIR_MM for last in here.before for other in here.above)
                 for s in joints)
    return laying._replace(joints=(*laying.joints, joints), looks_mm=laying.looks_mm + ALIKE_COST_MM * alike
                           + STAIR_COST_MM * stairs)


def _put(here: _Here, laying: Laying, piece: MixedPiece, *, rest: Leftover | None = None, taken: Leftover | None = None,
         cuts: int = 0) -> Laying:
    """The laying with a piece more: `rest` stays over if it is good for something, `taken` is used up."""
    leftovers = list(laying.leftovers)
    if taken is not None:
        leftovers.remove(taken)
    if rest is not None and rest.length_mm >= here.shortest_mm - SAME_MM:
        insort(leftovers, rest)
    return laying._replace(piece=piece, before=laying, leftovers=tuple(leftovers), cuts=laying.cuts + cuts)


def _cut(here: _Here, laying: Laying, length_mm: float, side: str) -> list[Laying]:
    """A piece that keeps its `side` end ("": either may be sawn) out of each leftover or board it fits; a fit to the
    hair needs no cut."""
    found = [_from_leftover(here, laying, length_mm, left, side) for left in laying.leftovers
             if left.length_mm >= length_mm - SAME_MM and side in ("", left.keeps)]
    return found + [_from_board(here, laying, length_mm, board_mm, side) for board_mm, count in laying.left
                    if count and board_mm >= length_mm - SAME_MM]


def _from_board(here: _Here, laying: Laying, length_mm: float, board_mm: float, side: str) -> Laying:
    """A piece out of a board as bought."""
    opened, number = _open(laying, board_mm)
    start = board_mm - length_mm if side == "right" else 0.0
    piece = MixedPiece(run=here.run, length_mm=length_mm, board=number, board_mm=board_mm, from_mm=start)
    rest = Leftover(board_mm - length_mm - here.kerf_mm, "left" if side == "right" else "right", number, board_mm)
    return _put(here, opened, piece, rest=rest, cuts=int(board_mm > length_mm + SAME_MM))


def _from_leftover(here: _Here, laying: Laying, length_mm: float, left: Leftover, side: str) -> Laying:
    """A piece out of a leftover; one that needs no factory end is sawn from the raw end, so that the rest keeps its
    own."""
    spare = left.length_mm - length_mm
    at_raw_end, begins = side == "", 0.0 if left.keeps == "left" else left.board_mm - left.length_mm
    start = begins + (spare if at_raw_end == (left.keeps == "left") else 0.0)
    rest = Leftover(spare - here.kerf_mm, left.keeps, left.board, left.board_mm) if at_raw_end else None
    piece = MixedPiece(run=here.run, length_mm=length_mm, board=left.board, board_mm=left.board_mm, from_mm=start)
    return _put(here, laying, piece, rest=rest, taken=left, cuts=int(spare > SAME_MM))


def _open(laying: Laying, length_mm: float) -> tuple[Laying, int]:
    """(the laying with a board of that length opened, the board's number)."""
    left = tuple((length, count - (length == length_mm)) for length, count in laying.left)
    return laying._replace(left=left, boards=laying.boards + 1, opened_mm=laying.opened_mm + length_mm), laying.boards


def _in_one(here: _Here, laying: Laying) -> list[Laying]:
    """A run of one piece; it needs no factory end."""
    return [_closed(here, one, ()) for one in _cut(here, laying, here.span.length_mm, "")]


def _begun(here: _Here, laying: Laying, trim: bool) -> list[_Way]:
    """First pieces: leftovers and whole boards as they are, or a little less at a slanted wall; with `trim`, sawn to
    any size."""
    span, shortest = here.span, here.span.shortest_mm
    less, boards = 0.0 if span.square_left else here.wedge_mm, [length for length, count in laying.left if count]
    most = span.length_mm - shortest + SAME_MM
    found = [_from_leftover(here, laying, left.length_mm - less, left, "right") for left in laying.leftovers
             if left.keeps == "right" and shortest - SAME_MM <= left.length_mm - less <= most]
    found += [_from_board(here, laying, length - less, length, "right") for length in boards
              if shortest - SAME_MM <= length - less <= most]
    if trim and boards:
        steps = int((min(max(boards), most) - shortest) // TRIM_STEP_MM)
        found += [one for k in range(steps + 1) for one in _cut(here, laying, shortest + k * TRIM_STEP_MM, "right")]
    return [_Way(laying=one, at_mm=span.left_mm + one.piece.length_mm) for one in found if one.piece is not None]


def _grown(here: _Here, way: _Way) -> list[_Way]:
    """One whole board more, with room for an end piece behind it."""
    found, room = [], here.span.right_mm - here.span.shortest_mm - way.at_mm + SAME_MM
    for length in (length for length, count in way.laying.left if count and length <= room):
        opened, number = _open(way.laying, length)
        piece = MixedPiece(run=here.run, length_mm=length, board=number, board_mm=length, from_mm=0.0)
        found.append(_Way(_put(here, opened, piece), way.at_mm + length, way.joints))
    return found


def _ended(here: _Here, way: _Way) -> list[Laying]:
    """The run closed with a piece that keeps its left end."""
    length = here.span.right_mm - way.at_mm
    if length < here.span.shortest_mm - SAME_MM:
        return []
    return [_closed(here, one, way.joints) for one in _cut(here, way.laying, length, "left")]
