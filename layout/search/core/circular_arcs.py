"""How runs share boards, seen as arcs on a circle: what the search for fewest boards works on.

Write a run's length as q * L + r with 0 < r <= L (L the board, k the saw, C = L - k). Laid by itself it takes q + 1
boards, wherever its joints fall. If it starts with a piece of length a, it asks for nothing where an offcut of length y
is concerned for every y on the arc from a to a + C - r of the circle of length L: either its own end leaves more than
its start takes, or it starts with so much that a board less is cut. In the words of `fewest.demand_curve`, its share of
the curve D(y) is q + 1 less one on that arc. So

    boards = sum of (q + 1) - least number of arcs over any y in (0, C]

and fewest boards means: turn arcs of given lengths, each within its rules, until every place of the circle is covered
often enough. A run laid in one piece of length l is an arc of C - l like the others. Its place a says where in a board
it is cut: the wood it is cut from measures a, the rest a - l - k (or nothing), so a may be anything from l to L, and no
seam cares.

Places are whole picometres (1e-9 mm), so that sums are exact and the same on every machine.
"""
from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from layout.search.core.model import SAME_MM, Span, Task, first_pieces
from layout.search.core.forest_dp import Ints

PER_MM = 10 ** 9
#: Joints nearer than the stagger by less than this still keep it.
SLACK = round(SAME_MM * PER_MM / 5)

Stretch = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """A seam as one of its two runs sees it: the other run, the stretch and the stagger."""

    other: int
    lo: int
    hi: int
    stagger: int


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Arcs:
    """A task in picometres. For every run: boards it takes alone, length of its arc, left end, length, where its place
    may be with a joint and (None: never) in one piece, and its seams."""

    task: Task
    board: int
    shared: int
    alone: Ints
    surplus: Ints
    left: tuple[int, ...]
    length: tuple[int, ...]
    jointed: tuple[tuple[Stretch, ...], ...]
    single: tuple[Stretch | None, ...]
    contacts: tuple[tuple[Contact, ...], ...]


@dataclass(slots=True, eq=False, kw_only=True)
class Lie:
    """Where every run's arc begins, and whether the run is laid in one piece."""

    places: list[int]
    whole: list[bool]

    def copy(self) -> Lie:
        """Another one, to be changed by itself."""
        return Lie(places=list(self.places), whole=list(self.whole))


def to_pm(mm: float) -> int:
    """Whole picometres."""
    return round(mm * PER_MM)


def arcs_of(task: Task) -> Arcs:
    """The arcs of a task's runs."""
    board, shared = to_pm(task.board_mm), to_pm(task.board_mm) - to_pm(task.kerf_mm)
    lengths = [to_pm(span.length_mm) for span in task.spans]
    full = [-(-length // board) - 1 for length in lengths]
    contacts: list[list[Contact]] = [[] for _ in task.spans]
    for seam in task.seams:
        for run, other in ((seam.upper, seam.lower), (seam.lower, seam.upper)):
            contacts[run].append(Contact(other=other, lo=to_pm(seam.lo_mm), hi=to_pm(seam.hi_mm),
                                         stagger=to_pm(seam.stagger_mm)))
    return Arcs(task=task, board=board, shared=shared, alone=np.array(full, dtype=np.int64) + 1,
                surplus=np.array([shared - (length - q * board) for length, q in zip(lengths, full)], dtype=np.int64),
                left=tuple(to_pm(span.left_mm) for span in task.spans), length=tuple(lengths),
                jointed=tuple(_jointed(span, task.board_mm) for span in task.spans),
                single=tuple(_single(span, length, board) if _fits_one(span, task.board_mm) else None
                             for span, length in zip(task.spans, lengths)), contacts=tuple(map(tuple, contacts)))


def lie_of(arcs: Arcs, firsts: list[float]) -> Lie:
    """The arcs as given first pieces turn them; runs of one piece come out of a new board unless their span says
    from where."""
    lies = [lie_of_run(arcs, run, first) for run, first in enumerate(firsts)]
    return Lie(places=[place for place, _ in lies], whole=[whole for _, whole in lies])


def lie_of_run(arcs: Arcs, run: int, first: float) -> tuple[int, bool]:
    """(where a run's arc begins, whether the run is laid in one piece) for a first piece, mm."""
    span = arcs.task.spans[run]
    if arcs.single[run] is None or first < span.length_mm - SAME_MM:
        return to_pm(first), False
    return arcs.board if span.place_mm is None else to_pm(span.place_mm), True


def firsts_of(arcs: Arcs, lie: Lie) -> tuple[Task, list[float]]:
    """(the task with the places of its one-piece runs noted, first pieces)."""
    spans = tuple(replace(span, place_mm=place / PER_MM if one else None)
                  for span, place, one in zip(arcs.task.spans, lie.places, lie.whole))
    firsts = [span.length_mm if one else place / PER_MM for span, place, one in zip(spans, lie.places, lie.whole)]
    return replace(arcs.task, spans=spans), firsts


def cover_of(arcs: Arcs, starts: Ints, surplus: Ints) -> tuple[Ints, Ints]:
    """(stops on 0..C, how many arcs cover each stretch between them). starts: where arcs begin, in 0..L."""
    ends = starts + surplus
    folded = ends % arcs.board
    stops = np.concatenate([starts, folded, [0, arcs.shared]])
    stops = stops[stops <= arcs.shared]
    stops.sort()
    folded.sort()
    around = int(np.count_nonzero(ends >= arcs.board)) - int(np.count_nonzero(ends < 0))
    begun = np.sort(starts).searchsorted(stops[:-1], side="right")
    return stops, around + begun - folded.searchsorted(stops[:-1], side="right")


def boards_of(arcs: Arcs, lie: Lie) -> int:
    """Boards needed."""
    stops, cover = cover_of(arcs, np.array(lie.places, dtype=np.int64) % arcs.board, arcs.surplus)
    return int(arcs.alone.sum()) - int(cover[stops[1:] - stops[:-1] > SLACK].min())


def joints_on(arcs: Arcs, run: int, place: int, contact: Contact) -> Stretch | None:
    """First and last joint of a run on a seam's stretch; None if it has none there."""
    joint = arcs.left[run] + place
    first = joint + arcs.board * max(0, -((joint - contact.lo) // arcs.board))
    last = min(contact.hi, arcs.left[run] + arcs.length[run] - SLACK)
    return None if first > last else (first, first + (last - first) // arcs.board * arcs.board)


def barred(arcs: Arcs, run: int, contact: Contact, place: int) -> Stretch | None:
    """(start, width): the places of a run that come too near the joints of the neighbour lying at `place`; round the
    circle."""
    joints = joints_on(arcs, contact.other, place, contact)
    if joints is None:
        return None
    reach = contact.stagger - SLACK
    lo, hi = joints[0] - reach, joints[1] + reach
    if joints[0] == joints[1]:
        lo, hi = max(lo, contact.lo), min(hi, contact.hi)
    else:
        hi = joints[0] + reach
    return None if hi <= lo else ((lo - arcs.left[run]) % arcs.board, hi - lo)


def _fits_one(span: Span, board_mm: float) -> bool:
    """Whether a run may be laid in one piece; one that is held must be held so, from a known place in its board."""
    held = span.pinned_mm is None or (span.place_mm is not None and span.pinned_mm > span.length_mm - SAME_MM)
    return held and span.length_mm <= board_mm + SAME_MM


def _single(span: Span, length: int, board: int) -> Stretch:
    """Where the place of a run of one piece may be."""
    if span.pinned_mm is None or span.place_mm is None:
        return min(length, board), board
    return to_pm(span.place_mm), to_pm(span.place_mm)


def _jointed(span: Span, board_mm: float) -> tuple[Stretch, ...]:
    intervals = first_pieces(span, board_mm)
    return tuple((to_pm(lo), to_pm(hi)) for lo, hi in (intervals[:-1] if _fits_one(span, board_mm) else intervals))
