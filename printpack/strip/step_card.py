"""One saw step as a drawing: the wood, the saw line, each figure with an arrow from the side it is measured from, what
comes off hatched and named.

The drawing is not to scale: what is small is enlarged (`axis`), so that every figure stands where it is measured. The
wall edge is at the top, as the board lies in the room.
"""
from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from layout.plan import Point, Ring
from printpack.drawing.hatch import hatch
from printpack.drawing.metrics import ASCENT, CAP, text_width
from printpack.drawing.page_layout import BODY, FIGURE, SMALL
from printpack.drawing.sheet import FINE, HAIR, NONE, Circle, Item, Line, Pen, Poly, Text, moved, rectangle
from printpack.strip.axis import Axis, axis
from printpack.strip.steps import Bore, Pencil, Step, Tape, is_plain
from printpack.units import NO_BREAK, Units

#: Digits of a main figure stand this high at least, mm.
DIGITS_MM = 8.0
MAIN = DIGITS_MM / CAP
SAW = Pen(1.2, 0.0, (2.6, 1.3))
ARROW = Pen(0.6)
_KEPT = Pen(0.9)
_THIN = Pen(0.2)
#: A figure beside its arrow, mm of paper.
_CLEAR = 1.6
_HEAD_LONG, _HEAD_WIDE = 3.0, 1.1
#: What an arrow takes beside the figure that stands in it, mm.
_IN_ARROW = 2 * _HEAD_LONG + 3.0
#: Holes are drawn alike, whatever they measure, mm.
_HOLE = 3.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Density:
    """How close a drawing is set, mm: height of digits, of the wood, of the heading, and of an arrow with nothing on
    it."""

    digits: float
    board: float
    heading: float
    arrow: float

    @property
    def main(self) -> float:
        """Size of type of the main figures."""
        return self.digits / CAP

    @property
    def lane(self) -> float:
        """Height of an arrow with its figure."""
        return self.digits + 2.0


GRAND = Density(digits=12.0, board=28.0, heading=11.0, arrow=7.5)
ROOMY = Density(digits=9.0, board=20.0, heading=9.0, arrow=6.5)
CLOSE = Density(digits=DIGITS_MM, board=14.0, heading=7.4, arrow=5.0)
TIGHT = Density(digits=DIGITS_MM, board=11.0, heading=6.8, arrow=4.0)


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


def least_width(step: Step, units: Units, density: Density) -> float:
    """How wide a card must be for its figures, mm."""
    names = sum(text_width(name, SMALL) + 3.0 for name in step.pieces) if step.joints else 0.0
    if _in_a_line(step):
        return (len(step.tapes) + 0.6) * (max(_wide(tape, units, density) for tape in step.tapes) + 2.0) + 2.0
    # Where neighbours share one figure, their names are what takes room.
    left, right = _margins(step, units, density)
    level = max((sum(_wide(tape, units, density) + _IN_ARROW for tape in level) for lane in ("above", "below")
                 for level in _levels(step, units, density, lane)), default=18.0)
    level -= _IN_ARROW if is_plain(step) else 0.0
    rests = sum(_pencil_width(pencil, BODY) + 3.0 for pencil in step.pencils)
    beside = sum(_wide(tape, units, density) + 9.0 for tape in step.tapes if tape.lane == "by")
    bores = sum(text_width(_across(bore, units), FIGURE, bold=True) + 10.0 for bore in step.bores)
    heading = text_width(step.pieces[0], 6.4, bold=True) + 24.0
    inside = level + 5.0 + rests + (beside + 6.0 if beside else 0.0)
    return max(left + right + max(inside, bores + 8.0, names, 20.0), heading)


def step_card(step: Step, units: Units, width: float, density: Density, heading: str = "") -> Panel:
    """The step drawn as wide as `width`. heading: words behind the pieces' names."""
    left, right = _margins(step, units, density)
    plain = is_plain(step)
    over, under = _beyond(step)
    tall = density.board + (4.0 if step.kind not in ("length", "fit") else 0.0)
    tall += 0.6 * density.digits if _lanes(step, "by") else 0.0
    levels = {lane: _levels(step, units, density, lane) for lane in ("above", "below")}
    above = over + (density.arrow if plain else len(levels["above"]) * density.lane + 1.6)
    below = under + len(levels["below"]) * density.lane + (2.6 if step.kind == "length" else 1.2)
    if _in_a_line(step):
        below += density.lane
    top = density.heading + above
    sheet = _placed(step, units, (left, top, width - right, top + tall), density)
    items = [*_wood(step, sheet), *_pencilled(step, sheet)]
    for lane, tapes in levels.items():
        items += _level(step, units, sheet, lane, tapes, density)
    items += _upright(step, units, sheet, (density.heading, top + tall + below), density)
    items += _joints(step, units, sheet, density)
    items += [item for bore in step.bores for item in _bore(bore, sheet)]
    items += _diameters(step, sheet, units)
    more, foot = _heading(step, heading, units, width, density, top + tall + below)
    return Panel(width_mm=width, height_mm=foot, items=(*items, *more))


def _beyond(step: Step) -> tuple[float, float]:
    """Room above and below the wood for half holes whose centre lies beyond it."""
    near, far = min(y for _, y in step.wood), max(y for _, y in step.wood)
    return (8.0 if any(bore.centre[1] < near for bore in step.bores) else 0.0,
            8.0 if any(bore.centre[1] > far for bore in step.bores) else 0.0)


def _wide(tape: Tape, units: Units, density: Density) -> float:
    return text_width(_words(tape, units), density.main, bold=True)


def _words(tape: Tape, units: Units) -> str:
    return units.bare(tape.mm)


def _across(bore: Bore, units: Units) -> str:
    return f"Ø {units.bare(bore.diameter)}"


def _margins(step: Step, units: Units, density: Density) -> tuple[float, float]:
    """Room at the two ends of the wood for upright arrows and their figures."""
    wide = [max((_wide(tape, units, density) for tape in step.tapes if tape.lane == lane), default=-1.0)
            for lane in ("left", "right")]
    return tuple(2.0 if w < 0 else w + 6.5 for w in wide)  # type: ignore[return-value]


def _levels(step: Step, units: Units, density: Density, lane: str) -> list[list[Tape]]:
    """The arrows along one edge, the shortest nearest to the wood; two share a level if they start from different ends
    and both figures go beside one another."""
    levels: list[list[Tape]] = []
    long = max(x for x, _ in step.wood) - min(x for x, _ in step.wood)
    for tape in sorted((tape for tape in step.tapes if tape.lane == lane), key=lambda tape: abs(tape.mm)):
        room = long - abs(tape.mm)
        fit = next((level for level in levels if len(level) == 1 and level[0].start[0] != tape.start[0]
                    and room > abs(level[0].mm) + 0.25 * long and _wide(tape, units, density) < 45.0), None)
        if fit is None:
            levels.append([tape])
        else:
            fit.append(tape)
    return levels


def _in_a_line(step: Step) -> bool:
    """Whether the widths of neighbours stand side by side below them."""
    return any(tape.lane in ("joint", "under") for tape in step.tapes)


def _lanes(step: Step, lane: str) -> int:
    return sum(tape.lane == lane for tape in step.tapes)


def _placed(step: Step, units: Units, box: tuple[float, float, float, float], density: Density) -> _Sheet:
    """The wood in its box, what is small enlarged."""
    left, top, right, bottom = box
    corners = [*step.wood, *(place for ring in (*step.lines, *step.off) for place in ring),
               *(tape.end for tape in step.tapes if tape.lane not in ("joint", "under")), *((x, 0.0) for x in step.joints)]
    corners += [(bore.centre[0] + i * bore.diameter / 2, bore.centre[1]) for bore in step.bores for i in (-1, 0, 1)]
    low, high = min(x for x, _ in step.wood), max(x for x, _ in step.wood)
    near, far = min(y for _, y in step.wood), max(y for _, y in step.wood)
    wider = {_span(pencil, low, high): _pencil_width(pencil, BODY) + 3.0 for pencil in step.pencils}
    for bore in step.bores:
        wider[bore.centre[0] - bore.diameter / 2, bore.centre[0] + bore.diameter / 2] = 2 * _HOLE + 1.0
    if is_plain(step):
        ends = sorted((step.tapes[0].start[0], step.tapes[0].end[0]))
        wider[ends[0], ends[1]] = _wide(step.tapes[0], units, density) + 4.0
    for tape in (tape for tape in step.tapes if tape.lane in ("above", "below") and not is_plain(step)):
        ends = sorted((tape.start[0], tape.end[0]))
        wider[ends[0], ends[1]] = _wide(tape, units, density) + _IN_ARROW
    for tape in (tape for tape in step.tapes if tape.lane == "by"):
        stretch = sorted((tape.end[0], _along_line(step, tape)))
        wider[stretch[0], stretch[1]] = _wide(tape, units, density) + 7.5
    wider |= {(a, b): text_width(name, SMALL) + 2.6 for a, b, name in zip(step.joints, step.joints[1:], step.pieces)}
    if _in_a_line(step):
        most, last = max(_wide(tape, units, density) for tape in step.tapes), len(step.joints) - 2
        wider |= {(a, b): (1.5 if k in (0, last) and _lanes(step, "joint") else 1.0) * most + 2.0
                  for k, (a, b) in enumerate(zip(step.joints, step.joints[1:]))}
    x = axis((x for x, _ in corners if low - 0.1 <= x <= high + 0.1), left, right - left, least=_least(x for x, _ in corners), wider=wider)
    deep = {tuple(sorted((tape.start[1], tape.end[1]))): density.digits + 2.6 for tape in step.tapes
            if tape.lane == "by"}
    y = axis((y for _, y in corners if near - 0.1 <= y <= far + 0.1), top, bottom - top,
             least=_least(y for _, y in corners), wider=deep)
    return _Sheet(x, y, box)


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
    base = foot + CAP * FIGURE + 0.4
    return [name, behind, *(moved(item, max(0.0, min(2.0, width - wide)), base) for item in more)], base + 1.6


def _taped(step: Step, units: Units) -> tuple[list[Item], float]:
    """(between which lengths a place may come out, or how far several figures may be off, and the templates' names;
    how wide that is), from (0, 0) on its baseline."""
    reach = list(dict.fromkeys(tape.reach_mm for tape in step.tapes if tape.reach_mm))
    dash = "–" if units.show == "metric" else " to "
    said = f"{units.bare(reach[0][0])}{dash}{units.bare(reach[0][1])}" if len(reach) == 1 else ""
    off = (reach[0][1] - reach[0][0]) / 2 if reach else step.pm_mm
    if not said and off:
        said = units.spread(off).removesuffix(f"{NO_BREAK}mm").replace(NO_BREAK, "")
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


def _joints(step: Step, units: Units, sheet: _Sheet, density: Density) -> list[Item]:
    """Neighbours in one drawing: where they meet, their names, and the width at each joint below them."""
    items: list[Item] = []
    bottom = sheet.box[3]
    edge = sheet.y.at(step.tapes[0].start[1])
    y = edge + 1.6 + CAP * SMALL if edge < (sheet.box[1] + bottom) / 2 else edge - 1.6
    for a, b, name in zip(step.joints, step.joints[1:], step.pieces):
        half = text_width(name, SMALL) / 2 + 0.9
        at = sheet.x.at(a) + max(0.27 * (sheet.x.at(b) - sheet.x.at(a)), half)
        items += on_white(Text((at, y), name, SMALL, "middle", layer="name"), 0.4)
        items.append(Line((sheet.x.at(b), sheet.box[1]), (sheet.x.at(b), bottom), FINE, "joint"))
    middles = [(sheet.x.at(a) + sheet.x.at(b)) / 2 for a, b in zip(step.joints, step.joints[1:])]
    marks = [sheet.x.at(x) for x in step.joints] if _lanes(step, "joint") else middles
    for x, tape in zip(marks, step.tapes if _in_a_line(step) else ()):
        half = _wide(tape, units, density) / 2
        inner = min(max(x, sheet.box[0] + 2.2), sheet.box[2] - 2.2)
        items += arrow((inner, sheet.y.at(tape.start[1])), (inner, sheet.y.at(tape.end[1])))
        items.append(Text((min(max(x, sheet.box[0] - 1.5 + half), sheet.box[2] + 1.5 - half),
                           bottom + 1.8 + density.digits), _words(tape, units), density.main, "middle", True,
                          layer="figure"))
    return items


def _wood(step: Step, sheet: _Sheet) -> list[Item]:
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


def _level(step: Step, units: Units, sheet: _Sheet, lane: str, levels: list[list[Tape]],
           density: Density) -> list[Item]:
    """Arrows along the wood; each figure in its arrow, a plain step's in the wood."""
    left, top, right, bottom = sheet.box
    plain, (over, under) = is_plain(step), _beyond(step)
    items: list[Item] = []
    for level, tape in ((level, tape) for level, tapes in enumerate(levels) for tape in tapes):
        a, b = sheet.x.at(tape.start[0]), sheet.x.at(tape.end[0])
        away = density.arrow - 2.8 if plain else 0.8 + density.lane * (level + 0.5) + (over if lane == "above" else
                                                                                       under)
        y = top - away if lane == "above" else bottom + away
        items += arrow((a, y), (b, y))
        if not plain:
            items += [Line((x, top if lane == "above" else bottom), (x, y), _THIN, "extension") for x in (a, b)]
        half = _wide(tape, units, density) / 2
        middle = min(max((a + b) / 2, left - 2.0 + half), right + 2.0 - half)
        line = (top + bottom) / 2 if plain else y
        if abs(b - a) < 2 * half + _HEAD_LONG + 2.0 and not plain:
            middle = _beside(a, b, half, (left - 2.0, right + 2.0))
        items += on_white(Text((middle, line + density.digits / 2), _words(tape, units), density.main, "middle", True,
                               layer="figure"), 0.5)
    return items


def _beside(a: float, b: float, half: float, room: tuple[float, float]) -> float:
    """The middle of a figure that its arrow is too short for: beside the arrow's head, or else beside its foot."""
    low, high = min(a, b), max(a, b)
    spots = [high + 1.2 + half, low - 1.2 - half]
    spots = spots if b >= a else spots[::-1]
    return next((spot for spot in spots if room[0] <= spot - half and spot + half <= room[1]),
                min(max((a + b) / 2, room[0] + half), room[1] - half))


def _upright(step: Step, units: Units, sheet: _Sheet, room: tuple[float, float], density: Density) -> list[Item]:
    """Arrows across the wood: outside its ends, or beside the mark in the wood."""
    items: list[Item] = []
    taken: dict[str, list[float]] = {"left": [], "right": []}
    for tape in (tape for tape in step.tapes if tape.lane in ("left", "right", "by")):
        (mx, y1), y0 = sheet.at(tape.end), sheet.at(tape.start)[1]
        words = _words(tape, units)
        half = density.digits / 2
        middle = min(max((y0 + y1) / 2, room[0] + half), room[1] - half)
        if tape.lane == "by":
            items += _by(step, sheet, tape, words, (mx, y0, y1), density)
            continue
        left = tape.lane == "left"
        end = sheet.box[0] if left else sheet.box[2]
        x = end - 3.0 if left else end + 3.0
        middle = _free(middle, taken[tape.lane], room, density.digits)
        items += [*arrow((x, y0), (x, y1)), *(Line((mx, y), (x, y), _THIN, "extension") for y in (y0, y1)),
                  Text((x - _CLEAR if left else x + _CLEAR, middle + half), words, density.main,
                       "end" if left else "start", True, layer="figure")]
    return items


def _free(middle: float, taken: list[float], room: tuple[float, float], digits: float) -> float:
    """The height of a figure that stands clear of those beside the same end."""
    step = digits + 0.8
    spots = [middle, *(other + k * step for other in taken for k in (1, -1))]
    spot = next((y for y in spots if all(abs(y - other) >= step - 0.01 for other in taken)
                 and room[0] + digits / 2 <= y <= room[1] - digits / 2), spots[-1])
    taken.append(spot)
    return spot


def _along_line(step: Step, tape: Tape) -> float:
    """Where the saw line goes on from a mark along the board, mm along: what comes off is as deep up to there, so the
    figure stands on that side."""
    for line in step.lines:
        for k, (x, y) in enumerate(line):
            if abs(x - tape.end[0]) < 0.6 and abs(y - tape.end[1]) < 0.6:
                beside = [line[j] for j in (k - 1, k + 1) if 0 <= j < len(line)]
                return min(beside, key=lambda p: (abs(p[1] - y) / (abs(p[0] - x) + 0.1)))[0]
    return tape.end[0]


def _by(step: Step, sheet: _Sheet, tape: Tape, words: str, mark: tuple[float, float, float],
        density: Density) -> list[Item]:
    """An upright arrow beside the mark in what comes off, and its figure behind it."""
    mx, y0, y1 = mark
    side = 1.0 if _along_line(step, tape) >= tape.end[0] else -1.0
    half = text_width(words, density.main, bold=True)
    if not sheet.box[0] <= mx + side * (half + 5.0) <= sheet.box[2]:
        side = -side
    x = mx + side * 3.0
    low, high = min(y0, y1), max(y0, y1)
    middle = min(max((low + high) / 2, sheet.box[1] + density.digits / 2 + 1.0), sheet.box[3] - density.digits / 2 - 1.0)
    text = Text((x + side * _CLEAR, middle + density.digits / 2), words, density.main, "end" if side < 0 else "start", True,
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
