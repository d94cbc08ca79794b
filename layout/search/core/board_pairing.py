"""Which pieces share a board.

A board gives at most one *start* (a piece that keeps the right end, at a run's left wall), one *end* (keeps the left
end, at a run's right wall) and any number of *slices* (runs of one piece, which need no factory end). They fit if their
lengths and the saw widths between them do. Which of two is cut first does not matter: whatever is laid first is cut
first, and what is left has the right end for the other.

Starts and ends fit together exactly when their sum is at most board - kerf, a nested relation: serving the longest ends
first, each with any start that fits, pairs as many as can be paired (greedy on a nested bipartite graph; the cover
{starts <= x} + {ends < board - kerf - x} proves it, see `fewest.demand_curve`). A slice whose place the search knows
(`circular_arcs`) asks for wood like a start and leaves some like an end, so it is paired with the others; slices
without one are put where they fit.
"""
from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from layout.search.core.model import SAME_MM, Span, Task, split_run

#: Length of an end piece or slice, mm, and its run.
_End = tuple[float, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shares:
    """Which runs (by index) each cut board serves: its end piece's run, its start piece's run (-1 none), its slices'
    runs."""

    end: int
    start: int
    slices: tuple[int, ...] = ()


#: Starts and ends paired: (task, starts, ends) to boards.
Pairing = Callable[[Task, list[_End], list[_End]], list[Shares]]
#: (length of its start, length of its end) of every run.
_Asked = list[tuple[float, float]]


def count_boards(task: Task, firsts: list[float], parts: Iterable[tuple[int, float]] | None = None) -> int:
    """Boards needed when run i starts with a piece of `firsts[i]`. parts: what `split_run` says of every run, where
    it is known."""
    parts = [split_run(span.length_mm, first, task.board_mm) for span, first in zip(task.spans,
                                                                                    firsts)] if parts is None else list(
        parts)
    whole, starts, ends, unplaced = _sorted_pieces(task, firsts, parts)
    if unplaced:
        return sum(max(0, count - 2) for count, _ in parts) + len(share_boards(task, firsts))
    ends.sort(reverse=True)
    starts.sort()
    room, paired = task.shared_mm + SAME_MM, 0
    for end in ends:
        if paired < len(starts) and starts[paired] + end <= room:
            paired += 1
    return whole + len(starts) + len(ends) - paired


def share_boards(task: Task, firsts: list[float], pair: Pairing | None = None) -> list[Shares]:
    """A fewest-boards sharing: exact fits first, then the run nearest in laying order; slices without a place into what
    is left over.

    Whole boards between joints are not listed. A slice with a place is paired like an end and a start at once. pair:
    another way to pair as many ends with starts (`layout.search.core.neat_pairing`).
    """
    whole_start: list[_End] = []
    whole_end: list[_End] = []
    starts: list[_End] = []
    ends: list[_End] = []
    slices: list[_End] = []
    alone, asked = _asked(task, firsts)
    almost_whole = task.board_mm - SAME_MM
    for run, (span, (first, last)) in enumerate(zip(task.spans, asked)):
        if alone[run] and span.place_mm is None:
            slices.append((span.length_mm, run))
            continue
        (whole_start if first > almost_whole else starts).append((first, run))
        (whole_end if last > almost_whole else ends).append((last, run))
    bins = [Shares(end=-1, start=run) for _, run in whole_start] + [Shares(end=run, start=-1) for _, run in whole_end]
    bins += _part_earlier(task, asked, (pair or _pair)(task, starts, ends))
    return _fit_slices(task, asked, _chained(bins, alone) if any(alone) else bins, slices)


def placed(task: Task, span: Span, place_mm: float) -> tuple[float, float]:
    """What a run of one piece with a place asks for as if it were a start, and what it leaves as if it were an end."""
    return place_mm, task.board_mm - (place_mm - span.length_mm)


def boards_taken(task: Task, firsts: list[float]) -> int:
    """Boards needed where pieces at hand are among the runs: two of them in one board save none, which
    `count_boards` does not know."""
    taken = count_boards(task, firsts)
    if all(span.row >= 0 for span in task.spans):
        return taken
    return taken + sum(_is_wasted(task, share) for share in share_boards(task, firsts))


def _sorted_pieces(
    task: Task, firsts: list[float], parts: list[tuple[int, float]]
) -> tuple[int, list[float], list[float], bool]:
    """(whole boards less those that one-piece runs save, starts, ends, whether a run of one piece has no place)."""
    whole, starts, ends, unplaced = 0, [], [], False
    for span, first, (count, last) in zip(task.spans, firsts, parts):
        if count == 1:
            if span.place_mm is None:
                unplaced = True
                continue
            first, last = placed(task, span, span.place_mm)
        whole += count - 2
        starts.append(first)
        ends.append(last)
    return whole, starts, ends, unplaced


def _pair(task: Task, starts: list[tuple[float, int]], ends: list[tuple[float, int]]) -> list[Shares]:
    """Pair ends with starts, longest end first: an exact fit if there is one, else the nearest run whose start fits."""
    free = sorted(starts)
    lengths, runs = [length for length, _ in free], [run for _, run in free]
    shares = []
    for length, run in sorted(ends, key=lambda end: (-end[0], end[1])):
        fit = bisect_right(lengths, task.shared_mm - length + SAME_MM)
        if not fit:
            shares.append(Shares(end=run, start=-1))
            continue
        exact = bisect_left(lengths, task.shared_mm - length - SAME_MM)
        at = exact if exact < fit else 0
        waits = [abs(start - run) + (start <= run) for start in runs[at:fit]]
        chosen = at + waits.index(min(waits))
        shares.append(Shares(end=run, start=runs[chosen]))
        del runs[chosen], lengths[chosen]
    return shares + [Shares(end=-1, start=run) for run in runs]


def _chained(bins: list[Shares], alone: list[bool]) -> list[Shares]:
    """Pairs joined where a run of one piece ends one and begins the next: what lies in one board, from its left end
    on."""
    after = {share.end: share.start for share in bins if share.end >= 0}
    chains = []
    for share in bins:
        if share.end >= 0 and alone[share.end]:
            continue
        start, slices = share.start, []
        while start >= 0 and alone[start]:
            slices.append(start)
            start = after[start]
        chains.append(Shares(end=share.end, start=start, slices=tuple(slices)))
    return chains


def _part_earlier(task: Task, asked: _Asked, shares: list[Shares]) -> list[Shares]:
    """Swap starts so that no board holds two pieces of an earlier floor, as far as lengths allow."""
    shares = list(shares)
    for i, share in enumerate(shares):
        if _is_wasted(task, share):
            for k, other in enumerate(shares):
                mine, theirs = Shares(end=share.end, start=other.start), Shares(end=other.end, start=share.start)
                if not _is_earlier(task, other) and _fits(task, asked, mine) and _fits(task, asked, theirs):
                    shares[i], shares[k] = mine, theirs
                    break
    return shares


def _is_wasted(task: Task, share: Shares) -> bool:
    return share.end >= 0 and share.start >= 0 and task.spans[share.end].row < 0 and task.spans[share.start].row < 0


def _is_earlier(task: Task, share: Shares) -> bool:
    """Whether a board holds anything of an earlier floor."""
    return any(run >= 0 and task.spans[run].row < 0 for run in (share.end, share.start))


def _fits(task: Task, asked: _Asked, share: Shares) -> bool:
    return _spare(task, asked, share) >= -task.kerf_mm - SAME_MM


def _fit_slices(task: Task, asked: _Asked, bins: list[Shares], slices: list[tuple[float, int]]) -> list[Shares]:
    """Put each slice, longest first, where least is left over; open a board where none has room."""
    if not slices:
        return bins
    spare = sorted((_spare(task, asked, share), k) for k, share in enumerate(bins))
    bins = list(bins)
    for length, run in sorted(slices, reverse=True):
        at = bisect_right(spare, (length - SAME_MM, len(bins)))
        left, k = spare.pop(at) if at < len(spare) else (task.board_mm, len(bins))
        if k == len(bins):
            bins.append(Shares(end=-1, start=-1))
        bins[k] = Shares(end=bins[k].end, start=bins[k].start, slices=(*bins[k].slices, run))
        insort(spare, (left - length - task.kerf_mm, k))
    return bins


def _spare(task: Task, asked: _Asked, share: Shares) -> float:
    """Length a slice may have in a board beside its end and start pieces and its slices, mm."""
    used = sum(task.spans[run].length_mm + task.kerf_mm for run in share.slices) if share.slices else 0.0
    if share.end >= 0:
        used += asked[share.end][1] + task.kerf_mm
    if share.start >= 0:
        used += asked[share.start][0] + task.kerf_mm
    return task.board_mm - used


def _asked(task: Task, firsts: list[float]) -> tuple[list[bool], _Asked]:
    """Of every run whether it is one piece, and what it asks for; one of one piece is start and end, as `placed`
    says."""
    alone, asked = [], []
    for span, first in zip(task.spans, firsts):
        count, last = split_run(span.length_mm, first, task.board_mm)
        alone.append(count == 1)
        asked.append(placed(task, span, span.place_mm) if count == 1 and span.place_mm is not None else (first, last))
    return alone, asked
