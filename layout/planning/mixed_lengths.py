"""Boards of several lengths in a plan: rules that give way where they must, boards as placements, what the packs
must hold."""
from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil

from capture.language.messages import lazy_gettext
from layout.errors import LayoutError
from layout.search.beam_search import Begun, Laying, Leftover, Stock, lay_more, lay_packs, least_packs
from layout.search.core.model import Task
from layout.planning.pieces import Placement
from layout.room import OwnPiece

#: Layings kept for so many moves of the usual search, and the fewest and most.
MOVES_A_LAYING, FEWEST_KEPT, MOST_KEPT = 400, 4, 120
#: What is asked of stagger and of the shortest piece, step by step, where not all can be kept, mm (the order of
#: `layout.search.core.relaxation`).
STAGGER_STEPS_MM, SHORTEST_STEPS_MM = (200.0, 100.0, 0.0), (200.0, 100.0, 20.0)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Mixed:
    """A laying of boards of several lengths: packs it takes, the fewest whose wood is long enough, and whether every
    rule is kept."""

    laying: Laying
    packs: int
    least_packs: int
    eased: bool

    @property
    def joints(self) -> list[list[float]]:
        """Of each run, s in mm."""
        return [list(places) for places in self.laying.joints]


def lay_floor(task: Task, pack: Stock, *, moves: int, stock: Sequence[OwnPiece] = ()) -> Mixed:
    """The task laid with the fewest packs that a laying is found for; stock: pieces at hand, taken to be of the longest
    board. Raises LayoutError (no-laying) if none is found at all."""
    begun = at_hand(stock, max(length for length, _ in pack))
    beam = min(MOST_KEPT, max(FEWEST_KEPT, moves // MOVES_A_LAYING))
    for number, asked in enumerate(_eased(task)):
        found = lay_packs(asked, pack, beam=beam, begun=begun)
        if found is not None:
            packs = packs_of(pack, list(lengths_of(found[1]).values()))
            return Mixed(laying=found[1], packs=packs, least_packs=min(packs, least_packs(task, pack, begun)),
                         eased=number > 0)
    raise LayoutError("no-laying", lazy_gettext(
        "No way was found to lay this floor with boards of these lengths, even without the rules; check the lengths "
        "and how many of each a pack holds."), where="flooring.board.lengths")


def lay_rest_of_floor(task: Task, pack: Stock, left: Stock, begun: Begun, *, moves: int) -> tuple[Laying, bool] | None:
    """(a floor that is begun laid to its end, whether rules had to give way), with the boards left and fewest packs
    more; None if nothing is found."""
    beam = min(MOST_KEPT, max(FEWEST_KEPT, moves // MOVES_A_LAYING))
    for number, asked in enumerate(_eased(task)):
        laying = lay_more(asked, pack, left, beam=beam, begun=begun)
        if laying is not None:
            return laying, number > 0
    return None


def at_hand(stock: Sequence[OwnPiece], board_mm: float) -> Begun:
    """Pieces at hand as leftovers of boards -1, -2, ...; a whole board is cut from its left end."""
    return Begun(leftovers=tuple(Leftover(piece.length_mm, "left" if "left" in piece.keeps else "right", -k, board_mm)
                                 for k, piece in enumerate(stock, start=1)))


def lengths_of(laying: Laying) -> dict[int, float]:
    """The length of every board that is opened, by its number in the laying."""
    return {piece.board: piece.board_mm for piece in laying.pieces() if piece.board >= 0}


def packs_of(pack: Stock, lengths: Sequence[float]) -> int:
    """Packs that hold boards of these lengths."""
    return max(ceil(lengths.count(length) / count) for length, count in pack)


def fewest_boards(task: Task, pack: Stock, packs: int, stock: Sequence[OwnPiece] = ()) -> int:
    """Boards without which the wood is too short, if the longest of so many packs are taken first, and all pieces at
    hand."""
    need, count = sum(span.length_mm for span in task.spans) - sum(piece.length_mm for piece in stock), 0
    for length in sorted((length for length, boards in pack for _ in range(boards * packs)), reverse=True):
        if need <= 0:
            break
        need, count = need - length, count + 1
    return count


def placements_of(task: Task, laying: Laying) -> list[Placement]:
    """The pieces as boards in their rows, run by run from left to right. Board keys are those of the laying."""
    at = [span.left_mm for span in task.spans]
    found = []
    for piece in laying.pieces():
        lo = at[piece.run]
        at[piece.run] = hi = lo + piece.length_mm
        found.append(Placement(run=piece.run, lo_mm=lo, hi_mm=hi, s0_mm=lo - piece.from_mm, board=piece.board))
    return found


def _eased(task: Task) -> Iterator[Task]:
    """The task, then with rules that give way step by step: stagger to 200 mm, the shortest piece to 200 mm, then
    both further, then bars."""
    stagger = max((seam.stagger_mm for seam in task.seams), default=0.0)
    shortest = max(span.shortest_mm for span in task.spans)
    yield task
    steps = [(STAGGER_STEPS_MM[0], shortest), (STAGGER_STEPS_MM[0], SHORTEST_STEPS_MM[0]),
             (STAGGER_STEPS_MM[1], SHORTEST_STEPS_MM[0]), (STAGGER_STEPS_MM[2], SHORTEST_STEPS_MM[0]),
             (STAGGER_STEPS_MM[2], SHORTEST_STEPS_MM[1]), (STAGGER_STEPS_MM[2], SHORTEST_STEPS_MM[2])]
    for apart, least in steps:
        if apart < stagger or least < shortest:
            yield _with_rules(task, apart, least)
    yield replace(last := _with_rules(task, *steps[-1]), spans=tuple(replace(span, bars=()) for span in last.spans))


def _with_rules(task: Task, stagger_mm: float, shortest_mm: float) -> Task:
    return replace(
        task,
        spans=tuple(replace(span, shortest_mm=min(span.shortest_mm, shortest_mm)) for span in task.spans),
        seams=tuple(replace(seam, stagger_mm=min(seam.stagger_mm, stagger_mm)) for seam in task.seams),
    )
