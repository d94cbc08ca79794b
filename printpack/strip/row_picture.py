"""The whole picture of a row, arranged for a width: the strip, and a card for each saw step. Pure computation.

`RowPicture` is what paper, phone and page draw. It holds no sentence: figures, names and lines only.
"""
from __future__ import annotations

from dataclasses import dataclass

from capture.language.messages import gettext
from layout.plan import Piece, Row
from printpack.drawing.sheet import Item, Pen, moved, rectangle
from printpack.job import PackJob
from printpack.strip.axis import shared_out
from printpack.strip.row_strip import BAND, LOW_BAND, Look, RowFacts, row_strips, run_ends
from printpack.strip.card_parts import GRAND, TIGHT, USUAL, Density, Panel
from printpack.strip.neighbours import neighbours, side_by_side
from printpack.strip.step import Step, alike
from printpack.strip.step_card import least_width, step_card
from printpack.strip.steps import saw_steps
from printpack.units import Units
from printpack.words.cut_phrases import came_from, is_own
from printpack.words.in_place import in_place, start_gap_mm
from printpack.words.tolerances import Fit

#: Between cards, and between a card's frame and its drawing, mm.
_APART, _PAD = 4.0, 2.0
_FRAME = Pen(0.25, 0.6)
#: A card is not wider than this: beyond it a board looks no better.
_WIDEST = 140.0
#: As wide as a card is made where there is room, and the space between two lines of cards and below a strip, mm.
_HANDY, _BETWEEN, _BELOW = 86.0, 2.6, 2.0


_LENGTHS = ("length", "fit")


@dataclass(frozen=True, slots=True, kw_only=True)
class RowPicture:
    """Strips and cards in their places: mm, origin at the top left. steps: in the order of their cards; start_gap_mm:
    that of `RowFacts`."""

    width_mm: float
    height_mm: float
    items: tuple[Item, ...]
    steps: tuple[Step, ...]
    start_gap_mm: float = 0.0


def row_steps(job: PackJob, row: Row, fit: Fit, templates: dict[str, tuple[str, ...]]) -> dict[str, tuple[Step, ...]]:
    """The saw steps of every piece of a row, () for those laid as they are."""
    return {piece.id: saw_steps(job.plan, piece, in_place(job, row, piece, fit), templates.get(piece.id, ()))
            for piece in row.pieces}


def row_facts(job: PackJob, row: Row, fit: Fit, templates: dict[str, tuple[str, ...]]) -> RowFacts:
    """What the picture of a row shows."""
    return RowFacts(plan=job.plan, row=row, steps=row_steps(job, row, fit, templates), ends=run_ends(job, row, fit),
                    start_gap_mm=start_gap_mm(job, row, fit))


def row_picture(facts: RowFacts, units: Units, width: float, room: float = float("inf"), *,
                ticks: bool = True, settings: tuple[Density, ...] = USUAL) -> RowPicture | None:
    """The picture as wide as `width`, in the first of the settings whose height is at most `room` mm; None if it goes
    in none."""
    steps = _drawn(facts, units, width)
    for look in (Look(BAND, ticks), Look(LOW_BAND, ticks), Look(LOW_BAND, ticks, figures=False)):
        items, y = _stacked(row_strips(facts, units, width, look))
        cards = _cards(facts, steps, units, width, room - y, settings) if steps else ((), 0.0)
        if cards is not None and y + cards[1] <= room:
            return RowPicture(width_mm=width, height_mm=y + cards[1], steps=tuple(steps),
                              items=(*items, *(moved(item, 0.0, y) for item in cards[0])),
                              start_gap_mm=facts.start_gap_mm)
    return None


def _drawn(facts: RowFacts, units: Units, width: float) -> list[Step]:
    """The steps as they are drawn, in laying order; where widths of neighbours are drawn in one, all lengths first and
    cut-outs last."""
    widths: list[Step] = []
    for run in facts.row.runs:
        mine = [step for piece in run.pieces for step in facts.steps[piece.id] if step.kind == "width"]
        for group in (group for part in _unbroken(facts, mine) for group in neighbours(part)):
            widths += _together(group, units, width)
    joined = [step for step in widths if step.joints]
    if not joined:
        return alike([step for piece in laid(facts) for step in facts.steps[piece.id]])
    own = [step for piece in laid(facts) for step in facts.steps[piece.id] if step.kind != "width"]
    return [*alike([step for step in own if step.kind in _LENGTHS]), *widths,
            *(step for step in own if step.kind not in _LENGTHS)]


def _together(group: list[Step], units: Units, width: float) -> list[Step]:
    """Neighbours in one drawing, or in as few as the width allows."""
    if len(group) == 1:
        return group
    joined = side_by_side(group)
    if least_width(joined, units, TIGHT) + 2 * _PAD <= width:
        return [joined]
    half = (len(group) + 1) // 2
    return [*_together(group[:half], units, width), *_together(group[half:], units, width)]


def _unbroken(facts: RowFacts, steps: list[Step]) -> list[list[Step]]:
    """The steps parted where a piece between them has none."""
    place = {piece.id: k for k, piece in enumerate(facts.row.pieces)}
    parted: list[list[Step]] = []
    last = -9
    for step in steps:
        if place[step.pieces[0]] != last + 1:
            parted.append([])
        parted[-1].append(step)
        last = place[step.pieces[0]]
    return parted


def _stacked(strips: tuple[Panel, ...]) -> tuple[list[Item], float]:
    items: list[Item] = []
    y = 0.0
    for panel in strips:
        items += [moved(item, 0.0, y) for item in panel.items]
        y += panel.height_mm + _BELOW
    return items, y


def laid(facts: RowFacts) -> tuple[Piece, ...]:
    """The pieces in laying order."""
    pieces = facts.row.pieces
    return pieces if facts.plan.lay == "left-to-right" else pieces[::-1]


def _cards(facts: RowFacts, steps: list[Step], units: Units, width: float, room: float,
           settings: tuple[Density, ...]) -> tuple[tuple[Item, ...], float] | None:
    """Cards in the first setting that goes into the room, in as many lines as make them wide; None if none does."""
    for density in settings:
        needs = [least_width(step, units, density) + 2 * _PAD for step in steps]
        wide = _lines([max(need, min(_HANDY, width)) for need in needs], width)
        least = _lines(needs, width)
        fewest = len(wide) if density is GRAND else len(least)
        for count in range(len(wide), fewest - 1, -1):
            placed = _set(facts, steps, units, width, _even(needs, width, count), needs, density)
            if placed[1] <= room and max(needs) <= width + 0.01:
                return placed
    return None


def _lines(needs: list[float], width: float) -> list[int]:
    """How many cards go in each line if as many as can are put there."""
    counts: list[int] = []
    used = float("inf")
    for need in needs:
        if used + _APART + need > width + 0.01:
            counts.append(0)
            used = -_APART
        counts[-1] += 1
        used += _APART + need
    return counts


def _even(needs: list[float], width: float, count: int) -> list[int]:
    """Cards shared out over so many lines, about alike where they fit so, else as tight as they must."""
    each = -(-len(needs) // count)
    counts = [min(each, len(needs) - k) for k in range(0, len(needs), each)]
    starts = [sum(counts[:k]) for k in range(len(counts))]
    fits = all(sum(needs[a:a + n]) + _APART * (n - 1) <= width + 0.01 for a, n in zip(starts, counts))
    return counts if fits else _lines(needs, width)


def _set(facts: RowFacts, steps: list[Step], units: Units, width: float, counts: list[int], needs: list[float],
         density: Density) -> tuple[tuple[Item, ...], float]:
    """(the cards in lines of so many each, their height); cards of a line share its width by what they need."""
    items: list[Item] = []
    y, k = 0.0, 0
    for count in counts:
        mine, x = steps[k:k + count], 0.0
        widths = shared_out([1.0] * count, needs[k:k + count], width - _APART * (count - 1))
        widths = tuple(wide if step.joints else min(wide, max(_WIDEST, need))
                       for wide, step, need in zip(widths, mine, needs[k:k + count]))
        panels = [step_card(step, units, wide - 2 * _PAD, density, _taken(facts, step, units))
                  for step, wide in zip(mine, widths)]
        tall = max(panel.height_mm for panel in panels) + 2 * _PAD - 1.0
        for panel, wide in zip(panels, widths):
            items.append(rectangle(x, y, wide, tall, pen=_FRAME, layer="card"))
            items += [moved(item, x + _PAD, y + _PAD - 1.0) for item in panel.items]
            x += wide + _APART
        y, k = y + tall + _BETWEEN, k + count
    return tuple(items), y - _BETWEEN


def _taken(facts: RowFacts, step: Step, units: Units) -> str:
    """What a step starts from."""
    if not step.first:
        return gettext("widths") if step.joints else gettext("then")
    if step.takes and came_from(step.takes, facts.plan) is not None:
        return gettext("offcut {piece}", piece=step.takes)  # a line of the page says which room left it
    if step.takes:
        return gettext("your own {label}", label=step.takes) if is_own(step.takes, facts.plan) else gettext("offcut")
    if facts.plan.board.mix:
        return gettext("new board {length}", length=units.bare(max(x for x, _ in step.wood)))
    if step.kind == "fit":
        return gettext("whole board")
    return gettext("new board") if len(step.pieces) == 1 else gettext("new boards")
