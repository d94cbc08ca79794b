"""One saw step as a drawing: the wood, the saw line, each figure with an arrow from the side it is measured from, what
comes off hatched and named.

The drawing is not to scale: what is small is enlarged (`axis`), so that every figure stands where it is measured. The
wall edge is at the top, as the board lies in the room.
"""
from __future__ import annotations

from dataclasses import dataclass

from layout.plan import Point, Ring
from printpack.drawing.hatch import hatch
from printpack.drawing.metrics import ASCENT, CAP, text_width
from printpack.drawing.page_layout import BODY, FIGURE
from printpack.drawing.sheet import FINE, HAIR, NONE, Circle, Item, Line, Pen, Poly, Text, rectangle
from printpack.strip.axis import Axis, axis
from printpack.strip.steps import Bore, Pencil, Step, Tape, is_plain
from printpack.units import Units

#: Digits of a main figure stand this high, mm, and the size of type that gives it.
DIGITS_MM = 8.0
MAIN = DIGITS_MM / CAP
SAW = Pen(1.2, 0.0, (2.6, 1.3))
ARROW = Pen(0.6)
_KEPT = Pen(0.9)
_THIN = Pen(0.2)
#: A figure beside its arrow, mm of paper.
_CLEAR = 1.6
_HEAD_LONG, _HEAD_WIDE = 3.0, 1.1
#: Holes are drawn alike, whatever they measure, mm.
_HOLE = 3.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Density:
    """How close a drawing is set, mm: height of the wood, of the heading, of an arrow with nothing on it, and of a
    lane with a figure."""

    board: float
    heading: float
    arrow: float
    lane: float


ROOMY = Density(board=20.0, heading=9.0, arrow=6.5, lane=11.5)
CLOSE = Density(board=14.0, heading=7.0, arrow=5.0, lane=10.0)
TIGHT = Density(board=11.0, heading=6.4, arrow=4.0, lane=9.4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """A drawing in its own box: mm, origin at its top left."""

    width_mm: float
    height_mm: float
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class _Sheet:
    """Where the wood stands in a card."""

    x: Axis
    y: Axis
    box: tuple[float, float, float, float]

    def at(self, place: Point) -> Point:
        return self.x.at(place[0]), self.y.at(place[1])

    def ring(self, ring: Ring) -> Ring:
        return tuple(self.at(place) for place in ring)


def least_width(step: Step, units: Units) -> float:
    """How wide a card must be for its figures, mm."""
    left, right = _margins(step, units)
    level = max((text_width(_words(tape, units), MAIN, bold=True) for tape in step.tapes
                 if tape.lane in ("above", "below")), default=18.0)
    rests = sum(_pencil_width(pencil, BODY) + 3.0 for pencil in step.pencils)
    beside = sum(text_width(_words(tape, units), MAIN, bold=True) + 9.0 for tape in step.tapes if tape.lane == "by")
    bores = sum(text_width(_across(bore, units), FIGURE, bold=True) + 10.0 for bore in step.bores)
    return left + right + max(level + 5.0 + rests, beside + 8.0, bores + 8.0, 20.0)


def step_card(step: Step, units: Units, width: float, density: Density, heading: str = "") -> Panel:
    """The step drawn as wide as `width`. heading: words behind the pieces' names."""
    left, right = _margins(step, units)
    plain = is_plain(step)
    above = density.arrow if plain else _lanes(step, "above") * density.lane + 1.0
    below = _lanes(step, "below") * density.lane + (2.6 if step.kind == "length" else 1.0)
    tall = density.board + (_tallness(step, density) if step.kind != "length" else 0.0)
    top = density.heading + above
    sheet = _placed(step, units, (left, top, width - right, top + tall), plain)
    items = [*_heading(step, heading, width, density), *_wood(step, sheet), *_pencilled(step, sheet)]
    for lane in ("above", "below"):
        items += _level(step, units, sheet, lane, density, plain)
    items += _upright(step, units, sheet, (density.heading, top + tall + below))
    items += [item for bore in step.bores for item in _bore(bore, sheet)]
    items += _diameters(step, sheet, units)
    foot, more = _foot(step, units, sheet, top + tall + below, width)
    return Panel(width_mm=width, height_mm=foot, items=(*items, *more))


def _tallness(step: Step, density: Density) -> float:
    """More height for figures that stand one above the other beside the wood, or in it."""
    upright = sum(tape.lane in ("left", "right", "by") for tape in step.tapes)
    return 4.0 if upright or step.bores else 0.0


def _words(tape: Tape, units: Units) -> str:
    return units.bare(tape.mm)


def _across(bore: Bore, units: Units) -> str:
    return f"Ø {units.bare(bore.diameter)}"


def _margins(step: Step, units: Units) -> tuple[float, float]:
    """Room at the two ends of the wood for upright arrows and their figures."""
    wide = [max((text_width(_words(tape, units), MAIN, bold=True) for tape in step.tapes if tape.lane == lane),
                default=-1.0) for lane in ("left", "right")]
    return tuple(2.0 if w < 0 else w + 6.5 for w in wide)  # type: ignore[return-value]


def _lanes(step: Step, lane: str) -> int:
    return sum(tape.lane == lane for tape in step.tapes)


def _placed(step: Step, units: Units, box: tuple[float, float, float, float], plain: bool) -> _Sheet:
    """The wood in its box, what is small enlarged."""
    left, top, right, bottom = box
    corners = [*step.wood, *(place for ring in (*step.lines, *step.off) for place in ring),
               *(tape.end for tape in step.tapes)]
    corners += [(bore.centre[0] + i * bore.diameter / 2, bore.centre[1]) for bore in step.bores for i in (-1, 0, 1)]
    low, high = min(x for x, _ in step.wood), max(x for x, _ in step.wood)
    near, far = min(y for _, y in step.wood), max(y for _, y in step.wood)
    wider = {_span(pencil, low, high): _pencil_width(pencil, BODY) + 3.0 for pencil in step.pencils}
    for bore in step.bores:
        wider[bore.centre[0] - bore.diameter / 2, bore.centre[0] + bore.diameter / 2] = 2 * _HOLE + 1.0
    if plain:
        tape = step.tapes[0]
        ends = sorted((tape.start[0], tape.end[0]))
        wider[ends[0], ends[1]] = text_width(_words(tape, units), MAIN, bold=True) + 4.0
    x = axis((x for x, _ in corners if low - 0.1 <= x <= high + 0.1), left, right - left, least=3.0, wider=wider)
    y = axis((y for _, y in corners if near - 0.1 <= y <= far + 0.1), top, bottom - top, least=3.0)
    return _Sheet(x, y, box)


def _span(pencil: Pencil, low: float, high: float) -> tuple[float, float]:
    """The rest from saw line to end: the width of the saw cut counts with it."""
    return (low, pencil.right + 10.0) if pencil.left <= low + 0.1 else (pencil.left - 10.0, high)


def _heading(step: Step, words: str, width: float, density: Density) -> list[Item]:
    size = 6.4 if density is ROOMY else 5.6
    first, last = step.pieces[0], step.pieces[-1]
    name = Text((0.5, ASCENT * size + 0.4), first if first == last else f"{first} – {last}", size, bold=True)
    return [name, Text((0.5 + text_width(name.text, size, bold=True) + 2.6, name.at[1]), words, BODY, grey=0.2)]


def _wood(step: Step, sheet: _Sheet) -> list[Item]:
    """The wood as it lies on the bench: what comes off hatched, what stays with a strong outline, the saw line."""
    items: list[Item] = [Poly(sheet.ring(step.wood), _KEPT, 1.0, True, "wood")]
    for ring in step.off:
        items.append(Poly(sheet.ring(ring), NONE, 1.0, True, "off"))
        items += hatch((sheet.ring(ring),), spacing_mm=1.9, pen=Pen(0.15, 0.45))
        items.append(Poly(sheet.ring(ring), HAIR, None, True, "outer"))
    for line in step.lines:
        items += _saw(sheet.ring(line), straight=step.kind != "shape")
    return items


def _saw(line: Ring, *, straight: bool) -> list[Item]:
    """The saw line, a little longer than the wood where the saw runs through."""
    if not straight:
        return [Line(a, b, Pen(1.2), "saw") for a, b in zip(line, line[1:])]
    (x0, y0), (x1, y1) = line[0], line[-1]
    long = max(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5, 1e-9)
    out = 2.2 if abs(y1 - y0) > abs(x1 - x0) else 1.4
    dx, dy = out * (x1 - x0) / long, out * (y1 - y0) / long
    return [Line((x0 - dx, y0 - dy), (x1 + dx, y1 + dy), SAW, "saw")]


def _pencil_width(pencil: Pencil, size: float) -> float:
    return text_width(_pencil_words(pencil), size, bold=True)


def _pencil_words(pencil: Pencil) -> str:
    """The name and, towards the end that stays, an arrow."""
    name = pencil.to or "spare"
    return {"left": f"← {name}", "right": f"{name} →"}.get(pencil.stays, name)


def _pencilled(step: Step, sheet: _Sheet) -> list[Item]:
    items: list[Item] = []
    low, high = min(x for x, _ in step.wood), max(x for x, _ in step.wood)
    for pencil in step.pencils:
        a, b = (sheet.x.at(x) for x in _span(pencil, low, high))
        a, b = max(a, sheet.box[0]), min(b, sheet.box[2])
        size = next((size for size in (6.0, FIGURE) if _pencil_width(pencil, size) + 3.0 <= b - a), BODY)
        items += on_white(Text(((a + b) / 2, (sheet.box[1] + sheet.box[3]) / 2 + CAP * size / 2),
                               _pencil_words(pencil), size, "middle", True, layer="pencil"))
    return items


def on_white(text: Text, pad: float = 0.7) -> list[Item]:
    """A text on a white ground of its own."""
    wide, tall = text_width(text.text, text.size_mm, bold=text.bold), CAP * text.size_mm
    left = text.at[0] - {"start": 0.0, "middle": wide / 2, "end": wide}[text.anchor]
    return [rectangle(left - pad, text.at[1] - tall - pad, wide + 2 * pad, tall + 2 * pad, pen=NONE, fill=1.0,
                      layer="ground"), text]


def arrow(start: Point, end: Point) -> list[Item]:
    """A level or upright arrow with a bar where the tape is hooked."""
    (x0, y0), (x1, y1) = start, end
    level = abs(x1 - x0) >= abs(y1 - y0)
    sign = (1.0 if x1 > x0 else -1.0) if level else (1.0 if y1 > y0 else -1.0)
    long = min(_HEAD_LONG, max(abs(x1 - x0), abs(y1 - y0)))
    back, w = sign * long, _HEAD_WIDE
    head = ((x1, y1), (x1 - back, y1 - w), (x1 - back, y1 + w)) if level else ((x1, y1), (x1 - w, y1 - back),
                                                                              (x1 + w, y1 - back))
    bar = ((x0, y0 - 1.8), (x0, y0 + 1.8)) if level else ((x0 - 1.8, y0), (x0 + 1.8, y0))
    stop = (x1 - back, y1) if level else (x1, y1 - back)
    return [Line(start, stop, ARROW, "tape"), Line(*bar, ARROW, "hook"), Poly(head, NONE, 0.0, True, "head")]


def _level(step: Step, units: Units, sheet: _Sheet, lane: str, density: Density, plain: bool) -> list[Item]:
    """Arrows along the wood, the shortest nearest to it; each figure in its arrow, a plain step's in the wood."""
    tapes = sorted((tape for tape in step.tapes if tape.lane == lane), key=lambda tape: abs(tape.mm))
    left, top, right, bottom = sheet.box
    items: list[Item] = []
    for level, tape in enumerate(tapes):
        a, b = sheet.x.at(tape.start[0]), sheet.x.at(tape.end[0])
        away = density.arrow - 2.6 if plain else 0.6 + density.lane * (level + 0.5)
        y = top - away if lane == "above" else bottom + away
        items += arrow((a, y), (b, y))
        if not plain:
            items += [Line((x, top if lane == "above" else bottom), (x, y), _THIN, "extension") for x in (a, b)]
        words = _words(tape, units)
        half = text_width(words, MAIN, bold=True) / 2
        middle = min(max((a + b) / 2, left - 2.0 + half), right + 2.0 - half)
        line = (top + bottom) / 2 if plain else y
        if abs(b - a) < 2 * half + 2 * _HEAD_LONG + 2.0 and not plain:
            middle = _beside(a, b, half, (left - 2.0, right + 2.0))
        items += on_white(Text((middle, line + DIGITS_MM / 2), words, MAIN, "middle", True, layer="figure"), 0.5)
    return items


def _beside(a: float, b: float, half: float, room: tuple[float, float]) -> float:
    """The middle of a figure that its arrow is too short for: beside the arrow's head, or else beside its foot."""
    low, high = min(a, b), max(a, b)
    spots = [high + 1.2 + half, low - 1.2 - half]
    spots = spots if b >= a else spots[::-1]
    return next((spot for spot in spots if room[0] <= spot - half and spot + half <= room[1]),
                min(max((a + b) / 2, room[0] + half), room[1] - half))


def _upright(step: Step, units: Units, sheet: _Sheet, room: tuple[float, float]) -> list[Item]:
    """Arrows across the wood: outside its ends, or beside the mark in the wood."""
    items: list[Item] = []
    taken: dict[str, list[float]] = {"left": [], "right": []}
    for tape in (tape for tape in step.tapes if tape.lane in ("left", "right", "by")):
        (mx, y1), y0 = sheet.at(tape.end), sheet.at(tape.start)[1]
        words = _words(tape, units)
        middle = min(max((y0 + y1) / 2, room[0] + DIGITS_MM / 2), room[1] - DIGITS_MM / 2)
        if tape.lane == "by":
            items += _by(step, sheet, tape, words, (mx, y0, y1))
            continue
        left = tape.lane == "left"
        end = sheet.box[0] if left else sheet.box[2]
        x = end - 3.0 if left else end + 3.0
        middle = _free(middle, taken[tape.lane], room)
        items += [*arrow((x, y0), (x, y1)), *(Line((mx, y), (x, y), _THIN, "extension") for y in (y0, y1)),
                  Text((x - _CLEAR if left else x + _CLEAR, middle + DIGITS_MM / 2), words, MAIN,
                       "end" if left else "start", True, layer="figure")]
    return items


def _free(middle: float, taken: list[float], room: tuple[float, float]) -> float:
    """The height of a figure that stands clear of those beside the same end."""
    step = DIGITS_MM + 0.8
    spots = [middle, *(other + k * step for other in taken for k in (1, -1))]
    spot = next((y for y in spots if all(abs(y - other) >= step - 0.01 for other in taken)
                 and room[0] + DIGITS_MM / 2 <= y <= room[1] - DIGITS_MM / 2), spots[-1])
    taken.append(spot)
    return spot


def _by(step: Step, sheet: _Sheet, tape: Tape, words: str, mark: tuple[float, float, float]) -> list[Item]:
    """An upright arrow in the wood that stays, beside the mark, and its figure on the side away from what comes off."""
    mx, y0, y1 = mark
    offs = [ring for ring in step.off if any(abs(x - tape.end[0]) < 0.6 for x, _ in ring)]
    waste_right = bool(offs) and sum(x for x, _ in offs[0]) / len(offs[0]) > tape.end[0]
    side = -1.0 if waste_right else 1.0
    half = text_width(words, MAIN, bold=True)
    if not sheet.box[0] <= mx + side * (half + 5.0) <= sheet.box[2]:
        side = -side
    x = mx + side * 3.0
    low, high = min(y0, y1), max(y0, y1)
    middle = min(max((low + high) / 2, sheet.box[1] + DIGITS_MM / 2 + 1.0), sheet.box[3] - DIGITS_MM / 2 - 1.0)
    text = Text((x + side * _CLEAR, middle + DIGITS_MM / 2), words, MAIN, "end" if side < 0 else "start", True,
                layer="figure")
    return [*on_white(text, 0.4), *arrow((x, y0), (x, y1)), Line((mx, y1), (x, y1), _THIN, "extension")]


def _bore(bore: Bore, sheet: _Sheet) -> list[Item]:
    """A hole with its centre, and the two cuts that free the wedge."""
    (x, y), r = sheet.at(bore.centre), _HOLE
    left, top, right, bottom = sheet.box
    items: list[Item] = [Circle((x, y), r, Pen(0.9), 1.0, "hole"), Line((x - r - 1.2, y), (x + r + 1.2, y), _THIN),
                         Line((x, y - r - 1.2), (x, y + r + 1.2), _THIN)]
    ways = {"left": ((left, -1, 0),), "right": ((right, 1, 0),), "near": ((top, 0, -1),), "far": ((bottom, 0, 1),)}
    for end, across, down in ways.get(bore.to, ()):
        for k in (-1, 1):
            start = (x, y + k * r) if across else (x + k * r, y)
            stop = (end, y + k * (r + 0.6)) if across else (x + k * (r + 0.6), end)
            items.append(Line(start, stop, Pen(0.7, 0.0, (1.6, 0.9)), "wedge"))
    return items


def _diameters(step: Step, sheet: _Sheet, units: Units) -> list[Item]:
    """The diameters, in the stretch of wood with most room beside the holes: once if they are alike."""
    if not step.bores:
        return []
    words = ", ".join(dict.fromkeys(_across(bore, units) for bore in sorted(step.bores, key=lambda b: b.centre)))
    left, top, right, bottom = sheet.box
    xs = [sheet.x.at(bore.centre[0]) for bore in step.bores]
    first, last = min(xs) - _HOLE - 2.0, max(xs) + _HOLE + 2.0
    at_left = first - left >= right - last
    y = sum(sheet.y.at(bore.centre[1]) for bore in step.bores) / len(step.bores)
    half = CAP * FIGURE / 2
    y = min(max(y, top + half + 1.6), bottom - half - 1.6)
    text = Text((first, y + half), words, FIGURE, "end", True, layer="bore") if at_left else \
        Text((last, y + half), words, FIGURE, "start", True, layer="bore")
    return on_white(text, 0.3)


def _foot(step: Step, units: Units, sheet: _Sheet, y: float, width: float) -> tuple[float, list[Item]]:
    """(height used, items): between what a taped length may come out, how far figures may be off, the template."""
    parts = []
    reach = [tape.reach_mm for tape in step.tapes if tape.reach_mm]
    if reach:
        parts.append(", ".join(dict.fromkeys(f"{units.bare(low)} to {units.bare(high)}" for low, high in reach)))
    elif step.pm_mm:
        parts.append(units.spread(step.pm_mm).removesuffix("\u00a0mm"))
    if step.template:
        parts.append(" ".join(step.template))
    if not parts:
        return y + 0.8, []
    items: list[Item] = []
    x, base = sheet.box[0], y + CAP * FIGURE + 1.0
    if reach or step.pm_mm:
        items += [Line((x, base - 0.2), (x + 4.2, base - 0.2), FINE, "taped"), Line((x, base - 2.0), (x, base + 1.2),
                                                                                     FINE, "taped"),
                  Line((x + 4.2, base - 2.0), (x + 4.2, base + 1.2), FINE, "taped")]
        items.append(Text((x + 6.0, base), parts[0], FIGURE, layer="reach"))
        x += 9.0 + text_width(parts[0], FIGURE)
    if step.template:
        items.append(Text((x, base), parts[-1], FIGURE, bold=True, layer="template"))
    return base + 2.4, items
