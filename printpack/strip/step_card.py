"""One saw step as a drawing: the wood, the saw line, each figure with an arrow from the side it is measured from, what
comes off hatched and named.

The drawing is not to scale: what is small is enlarged (`axis`), so that every figure stands where it is measured. The
wall edge is at the top, as the board lies in the room.
"""
from __future__ import annotations

from collections.abc import Iterable

from capture.language.messages import gettext
from layout.plan import Ring
from printpack.drawing.hatch import hatch
from printpack.drawing.metrics import ASCENT, CAP, text_width
from printpack.drawing.page_layout import BODY, FIGURE, SMALL
from printpack.drawing.sheet import FINE, HAIR, NONE, Item, Line, Pen, Poly, Text, moved
from printpack.strip.axis import axis
from printpack.strip.card_figures import (
    along_line, bored, diameters, joint_figures, level_arrows, levels_of, upright_arrows)
from printpack.strip.card_parts import (
    HOLE, IN_ARROW, Bench, Density, Panel, beyond, bore_words, in_a_line, lanes, on_white, wide_of)
from printpack.strip.step import Pencil, Step, is_plain
from printpack.units import NO_BREAK, Units

_SAW = Pen(1.2, 0.0, (2.6, 1.3))
_KEPT = Pen(0.9)


def least_width(step: Step, units: Units, density: Density) -> float:
    """How wide a card must be for its figures, mm."""
    names = sum(text_width(name, SMALL) + 3.0 for name in step.pieces) if step.joints else 0.0
    if in_a_line(step):
        return (len(step.tapes) + 0.6) * (max(wide_of(tape, units, density) for tape in step.tapes) + 2.0) + 2.0
    # Where neighbours share one figure, their names are what takes room.
    left, right = _margins(step, units, density)
    level = max((sum(wide_of(tape, units, density) + IN_ARROW for tape in level) for lane in ("above", "below")
                 for level in levels_of(step, units, density, lane)), default=18.0)
    level -= IN_ARROW if is_plain(step) else 0.0
    rests = sum(_pencil_width(pencil, BODY) + 3.0 for pencil in step.pencils)
    beside = sum(wide_of(tape, units, density) + 9.0 for tape in step.tapes if tape.lane == "by")
    bores = sum(text_width(bore_words(bore, units), FIGURE, bold=True) + 10.0 for bore in step.bores)
    heading = text_width(step.pieces[0], 6.4, bold=True) + 24.0
    inside = level + 5.0 + rests + (beside + 6.0 if beside else 0.0)
    return max(left + right + max(inside, bores + 8.0, names, 20.0), heading, _taped(step, units)[1] + 1.0)


def step_card(step: Step, units: Units, width: float, density: Density, heading: str = "") -> Panel:
    """The step drawn as wide as `width`. heading: words behind the pieces' names."""
    left, right = _margins(step, units, density)
    plain = is_plain(step)
    over, under = beyond(step)
    tall = max(density.board, density.digits + 3.0) if plain else density.board
    tall += 4.0 if step.kind not in ("length", "fit") else 0.0
    tall += 0.6 * density.digits if lanes(step, "by") else 0.0
    levels = {lane: levels_of(step, units, density, lane) for lane in ("above", "below")}
    above = over + (density.arrow if plain else len(levels["above"]) * density.lane + 1.6)
    below = under + len(levels["below"]) * density.lane + (2.6 if step.kind == "length" else 1.2)
    if in_a_line(step):
        below += density.lane
    top = density.heading + above
    sheet = _placed(step, units, (left, top, width - right, top + tall), density)
    items = [*_wood(step, sheet), *_pencilled(step, sheet)]
    for lane, tapes in levels.items():
        items += level_arrows(step, units, sheet, lane, tapes, density)
    items += upright_arrows(step, units, sheet, (density.heading, top + tall + below), density)
    items += joint_figures(step, units, sheet, density)
    items += [item for bore in step.bores for item in bored(bore, sheet)]
    items += diameters(step, sheet, units)
    more, foot = _heading(step, heading, units, width, density, top + tall + below)
    return Panel(width_mm=width, height_mm=foot, items=(*items, *more))


def _margins(step: Step, units: Units, density: Density) -> tuple[float, float]:
    """Room at the two ends of the wood for upright arrows and their figures."""
    wide = [max((wide_of(tape, units, density) for tape in step.tapes if tape.lane == lane), default=-1.0)
            for lane in ("left", "right")]
    return tuple(2.0 if w < 0 else w + 6.5 for w in wide)  # type: ignore[return-value]


def _placed(step: Step, units: Units, box: tuple[float, float, float, float], density: Density) -> Bench:
    """The wood in its box, what is small enlarged."""
    left, top, right, bottom = box
    corners = [*step.wood, *(place for ring in (*step.lines, *step.off) for place in ring),
               *(tape.end for tape in step.tapes if tape.lane not in ("joint", "under")),
               *((x, 0.0) for x in step.joints)]
    corners += [(bore.centre[0] + i * bore.diameter / 2, bore.centre[1]) for bore in step.bores for i in (-1, 0, 1)]
    low, high = min(x for x, _ in step.wood), max(x for x, _ in step.wood)
    near, far = min(y for _, y in step.wood), max(y for _, y in step.wood)
    wider = {_span(pencil, low, high): _pencil_width(pencil, BODY) + 3.0 for pencil in step.pencils}
    for bore in step.bores:
        wider[bore.centre[0] - bore.diameter / 2, bore.centre[0] + bore.diameter / 2] = 2 * HOLE + 1.0
    if is_plain(step):
        ends = sorted((step.tapes[0].start[0], step.tapes[0].end[0]))
        wider[ends[0], ends[1]] = wide_of(step.tapes[0], units, density) + 4.0
    for tape in (tape for tape in step.tapes if tape.lane in ("above", "below") and not is_plain(step)):
        ends = sorted((tape.start[0], tape.end[0]))
        wider[ends[0], ends[1]] = wide_of(tape, units, density) + IN_ARROW
    beside: dict[tuple[float, float], float] = {}
    for tape in (tape for tape in step.tapes if tape.lane == "by"):
        stretch = sorted((tape.end[0], along_line(step, tape)))
        between = stretch[0], stretch[1]
        beside[between] = beside.get(between, 0.0) + wide_of(tape, units, density) + 7.5
    wider |= {between: max(need, wider.get(between, 0.0)) for between, need in beside.items()}
    wider |= {(a, b): text_width(name, SMALL) + 2.6 for a, b, name in zip(step.joints, step.joints[1:], step.pieces)}
    if in_a_line(step):
        most, last = max(wide_of(tape, units, density) for tape in step.tapes), len(step.joints) - 2
        wider |= {(a, b): (1.5 if k in (0, last) and lanes(step, "joint") else 1.0) * most + 2.0
                  for k, (a, b) in enumerate(zip(step.joints, step.joints[1:]))}
    x = axis((x for x, _ in corners if low - 0.1 <= x <= high + 0.1), left, right - left,
             least=_least(x for x, _ in corners), wider=wider)
    deep = {(min(tape.start[1], tape.end[1]), max(tape.start[1], tape.end[1])): density.digits + 2.6
            for tape in step.tapes if tape.lane == "by"}
    y = axis((y for _, y in corners if near - 0.1 <= y <= far + 0.1), top, bottom - top,
             least=_least(y for _, y in corners), wider=deep)
    return Bench(x, y, box)


def _least(places: Iterable[float]) -> float:
    """The narrowest a stretch between two places is drawn: less where there are many, mm."""
    return 12.0 / max(len({round(place) for place in places}), 4)


def _span(pencil: Pencil, low: float, high: float) -> tuple[float, float]:
    """The rest from saw line to end: the width of the saw cut counts with it."""
    return (low, pencil.right + 10.0) if pencil.left <= low + 0.1 else (pencil.left - 10.0, high)


def _heading(step: Step, words: str, units: Units, width: float, density: Density,
             foot: float) -> tuple[list[Item], float]:
    """(the pieces' names, what they are made of, what is taped in place and the template; the card's height). The last
    two stand at the right of the heading if there is room, else at the foot."""
    size = density.heading * 0.74
    base = ASCENT * size + 0.2
    first, last = step.pieces[0], step.pieces[-1]
    name = Text((0.5, base), first if first == last else f"{first} – {last}", size, bold=True, layer="name")
    behind = Text((0.5 + text_width(name.text, size, bold=True) + 2.4, base), words, BODY, grey=0.2)
    used = behind.at[0] + text_width(words, BODY)
    more, wide = _taped(step, units)
    if not more:
        return [name, behind], foot
    if used + 4.0 + wide <= width:
        return [name, behind, *(moved(item, width - wide, base) for item in more)], foot
    base = foot + CAP * FIGURE + 1.2
    return [name, behind, *(moved(item, max(0.0, min(2.0, width - wide)), base) for item in more)], base + 1.6


def _taped(step: Step, units: Units) -> tuple[list[Item], float]:
    """(between which lengths a place may come out, or how far several figures may be off, and the templates' names;
    how wide that is), from (0, 0) on its baseline."""
    reach = list(dict.fromkeys(tape.reach_mm for tape in step.tapes if tape.reach_mm))
    said = _between(*reach[0], units) if len(reach) == 1 else ""
    off = (reach[0][1] - reach[0][0]) / 2 if reach else step.pm_mm
    if not said and off:
        said = units.spread(off).removesuffix(f"{NO_BREAK}mm").replace(f"±{NO_BREAK}", "±")
    items: list[Item] = []
    x = 0.0
    if said:
        items += [Line((0.0, -1.7), (4.6, -1.7), FINE, "taped"), Line((0.0, -3.6), (0.0, 0.2), FINE, "taped"),
                  Line((4.6, -3.6), (4.6, 0.2), FINE, "taped"), Text((6.2, 0.0), said, FIGURE, layer="reach")]
        x = 6.2 + text_width(said, FIGURE)
    if step.template:
        x += 2.5 if said else 0.0
        items.append(Text((x, 0.0), " ".join(step.template), FIGURE, bold=True, layer="template"))
        x += text_width(" ".join(step.template), FIGURE, bold=True)
    return items, x


def _between(least_mm: float, most_mm: float, units: Units) -> str:
    least, most = units.bare(least_mm), units.bare(most_mm)
    return f"{least}–{most}" if units.show == "metric" else gettext("{least} to {most}", least=least, most=most)


def _wood(step: Step, sheet: Bench) -> list[Item]:
    """The wood as it lies on the bench: what comes off hatched, what stays with a strong outline, the saw line."""
    items: list[Item] = [Poly(sheet.ring(step.wood), _KEPT, 1.0, True, "wood")]
    for ring in step.off:
        items.append(Poly(sheet.ring(ring), NONE, 1.0, True, "off"))
        items += hatch((sheet.ring(ring),), spacing_mm=1.9, pen=Pen(0.15, 0.45))
        items.append(Poly(sheet.ring(ring), HAIR, None, True, "outer"))
    for line in step.lines:
        items += _saw(sheet.ring(line), straight=step.kind in ("length", "width"))
    return items


def _saw(line: Ring, *, straight: bool) -> list[Item]:
    """The saw line, a little longer than the wood where the saw runs through."""
    if not straight:
        return [Line(a, b, Pen(1.2), "saw") for a, b in zip(line, line[1:])]
    (x0, y0), (x1, y1) = line[0], line[-1]
    long = max(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5, 1e-9)
    out = 2.2 if abs(y1 - y0) > abs(x1 - x0) else 1.4
    dx, dy = out * (x1 - x0) / long, out * (y1 - y0) / long
    return [Line((x0 - dx, y0 - dy), (x1 + dx, y1 + dy), _SAW, "saw")]


def _pencil_width(pencil: Pencil, size: float) -> float:
    return text_width(_pencil_words(pencil), size, bold=True)


def _pencil_words(pencil: Pencil) -> str:
    """The name and, towards the end that stays, an arrow."""
    name = pencil.to or gettext("spare")
    return {"left": f"← {name}", "right": f"{name} →"}.get(pencil.stays, name)


def _pencilled(step: Step, sheet: Bench) -> list[Item]:
    items: list[Item] = []
    low, high = min(x for x, _ in step.wood), max(x for x, _ in step.wood)
    for pencil in step.pencils:
        a, b = (sheet.x.at(x) for x in _span(pencil, low, high))
        a, b = max(a, sheet.box[0]), min(b, sheet.box[2])
        size = next((size for size in (6.0, FIGURE) if _pencil_width(pencil, size) + 3.0 <= b - a), BODY)
        items += on_white(Text(((a + b) / 2, (sheet.box[1] + sheet.box[3]) / 2 + CAP * size / 2),
                               _pencil_words(pencil), size, "middle", True, layer="pencil"))
    return items
