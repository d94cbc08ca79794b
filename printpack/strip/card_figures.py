"""The figures of a card: arrows along the wood and across it, each with its distance; holes."""
from __future__ import annotations

from printpack.drawing.metrics import CAP, text_width
from printpack.drawing.page_layout import FIGURE, SMALL
from printpack.drawing.sheet import FINE, Circle, Item, Line, Pen, Text
from printpack.strip.card_parts import (
    HEAD_LONG, HOLE, THIN, Bench, Density, arrow, beyond, bore_words, in_a_line, lanes, on_white, wide_of, words_of)
from printpack.strip.step import Bore, Step, Tape, is_plain
from printpack.units import Units

#: A figure beside its arrow, mm of paper.
_CLEAR = 1.6


def levels_of(step: Step, units: Units, density: Density, lane: str) -> list[list[Tape]]:
    """The arrows along one edge, the shortest nearest to the wood; two share a level if they start from different ends
    and both figures go beside one another."""
    levels: list[list[Tape]] = []
    long = max(x for x, _ in step.wood) - min(x for x, _ in step.wood)
    for tape in sorted((tape for tape in step.tapes if tape.lane == lane), key=lambda tape: abs(tape.mm)):
        room = long - abs(tape.mm)
        fit = next((level for level in levels if len(level) == 1 and level[0].start[0] != tape.start[0]
                    and room > abs(level[0].mm) + 0.25 * long and wide_of(tape, units, density) < 45.0), None)
        if fit is None:
            levels.append([tape])
        else:
            fit.append(tape)
    return levels


def level_arrows(step: Step, units: Units, sheet: Bench, lane: str, levels: list[list[Tape]],
           density: Density) -> list[Item]:
    """Arrows along the wood; each figure in its arrow, a plain step's in the wood."""
    left, top, right, bottom = sheet.box
    plain, (over, under) = is_plain(step), beyond(step)
    items: list[Item] = []
    for level, tape in ((level, tape) for level, tapes in enumerate(levels) for tape in tapes):
        a, b = sheet.x.at(tape.start[0]), sheet.x.at(tape.end[0])
        away = density.arrow - 2.8 if plain else 0.8 + density.lane * (level + 0.5) + (over if lane == "above" else
                                                                                       under)
        y = top - away if lane == "above" else bottom + away
        items += arrow((a, y), (b, y))
        if not plain:
            items += [Line((x, top if lane == "above" else bottom), (x, y), THIN, "extension") for x in (a, b)]
        half = wide_of(tape, units, density) / 2
        middle = min(max((a + b) / 2, left - 2.0 + half), right + 2.0 - half)
        line = (top + bottom) / 2 if plain else y
        if abs(b - a) < 2 * half + HEAD_LONG + 2.0 and not plain:
            middle = _beside(a, b, half, (left - 2.0, right + 2.0))
        items += on_white(Text((middle, line + density.digits / 2), words_of(tape, units), density.main, "middle", True,
                               layer="figure"), 0.5)
    return items


def _beside(a: float, b: float, half: float, room: tuple[float, float]) -> float:
    """The middle of a figure that its arrow is too short for: beside the arrow's head, or else beside its foot."""
    low, high = min(a, b), max(a, b)
    spots = [high + 1.2 + half, low - 1.2 - half]
    spots = spots if b >= a else spots[::-1]
    return next((spot for spot in spots if room[0] <= spot - half and spot + half <= room[1]),
                min(max((a + b) / 2, room[0] + half), room[1] - half))


def upright_arrows(step: Step, units: Units, sheet: Bench, room: tuple[float, float], density: Density) -> list[Item]:
    """Arrows across the wood: outside its ends, or beside the mark in the wood."""
    items: list[Item] = []
    taken: dict[str, list[float]] = {"left": [], "right": []}
    for tape in (tape for tape in step.tapes if tape.lane in ("left", "right", "by")):
        (mx, y1), y0 = sheet.at(tape.end), sheet.at(tape.start)[1]
        words = words_of(tape, units)
        half = density.digits / 2
        middle = min(max((y0 + y1) / 2, room[0] + half), room[1] - half)
        if tape.lane == "by":
            items += _by(step, sheet, tape, words, (mx, y0, y1), density)
            continue
        left = tape.lane == "left"
        end = sheet.box[0] if left else sheet.box[2]
        x = end - 3.0 if left else end + 3.0
        middle = _free(middle, taken[tape.lane], room, density.digits)
        items += [*arrow((x, y0), (x, y1)), *(Line((mx, y), (x, y), THIN, "extension") for y in (y0, y1)),
                  Text((x - _CLEAR if left else x + _CLEAR, middle + half), words, density.main,
                       "end" if left else "start", True, layer="figure")]
    return items


def _free(middle: float, taken: list[float], room: tuple[float, float], digits: float) -> float:
    """The height of a figure that stands clear of those beside the same end: where it is wanted, else as near to that
    as there is room; where there is none, farthest from the others."""
    step = digits / CAP
    low, high = room[0] + digits / 2, room[1] - digits / 2
    spots = sorted((min(max(y, low), high) for y in (middle, *(other + k * step for other in taken for k in (1, -1)))),
                   key=lambda y: abs(y - middle))

    def clear(y: float) -> float:
        return min((abs(y - other) for other in taken), default=step)

    spot = next((y for y in spots if clear(y) >= step - 0.01), max(spots, key=clear))
    taken.append(spot)
    return spot


def along_line(step: Step, tape: Tape) -> float:
    """Where the saw line goes on from a mark along the board, mm along: what comes off is as deep up to there, so the
    figure stands on that side; where both ways lead to the same side, on the other, up to the wood's end."""
    for line in step.lines:
        for k, (x, y) in enumerate(line):
            if abs(x - tape.end[0]) < 0.6 and abs(y - tape.end[1]) < 0.6:
                beside = [line[j] for j in (k - 1, k + 1) if 0 <= j < len(line)]
                if len(beside) == 2 and min(px for px, _ in beside) > x + 1.0:
                    return min(px for px, _ in step.wood)
                if len(beside) == 2 and max(px for px, _ in beside) < x - 1.0:
                    return max(px for px, _ in step.wood)
                return min(beside, key=lambda p: (abs(p[1] - y) / (abs(p[0] - x) + 0.1)))[0]
    return tape.end[0]


def _by(step: Step, sheet: Bench, tape: Tape, words: str, mark: tuple[float, float, float],
        density: Density) -> list[Item]:
    """An upright arrow beside the mark in what comes off, and its figure behind it."""
    mx, y0, y1 = mark
    side = 1.0 if along_line(step, tape) >= tape.end[0] else -1.0
    half = text_width(words, density.main, bold=True)
    if not sheet.box[0] <= mx + side * (half + 5.0) <= sheet.box[2]:
        side = -side
    x = mx + side * 3.0
    tall = density.digits / 2
    middle = min(max((y0 + y1) / 2, sheet.box[1] + tall + 1.0), sheet.box[3] - tall - 1.0)
    text = Text((x + side * _CLEAR, middle + tall), words, density.main, "end" if side < 0 else "start", True,
                layer="figure")
    return [*on_white(text, 0.4), *arrow((x, y0), (x, y1)), Line((mx, y1), (x, y1), THIN, "extension")]


def joint_figures(step: Step, units: Units, sheet: Bench, density: Density) -> list[Item]:
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
    marks = [sheet.x.at(x) for x in step.joints] if lanes(step, "joint") else middles
    for x, tape in zip(marks, step.tapes if in_a_line(step) else ()):
        half = wide_of(tape, units, density) / 2
        inner = min(max(x, sheet.box[0] + 2.2), sheet.box[2] - 2.2)
        items += arrow((inner, sheet.y.at(tape.start[1])), (inner, sheet.y.at(tape.end[1])))
        items.append(Text((min(max(x, sheet.box[0] - 1.5 + half), sheet.box[2] + 1.5 - half),
                           bottom + 1.8 + density.digits), words_of(tape, units), density.main, "middle", True,
                          layer="figure"))
    return items


def bored(bore: Bore, sheet: Bench) -> list[Item]:
    """A hole with its centre, and the two cuts that free the wedge."""
    (x, y), r = sheet.at(bore.centre), HOLE
    left, top, right, bottom = sheet.box
    items: list[Item] = [Circle((x, y), r, Pen(0.9), 1.0, "hole"), Line((x - r - 1.2, y), (x + r + 1.2, y), THIN),
                         Line((x, y - r - 1.2), (x, y + r + 1.2), THIN)]
    ways = {"left": ((left, True),), "right": ((right, True),), "near": ((top, False),), "far": ((bottom, False),)}
    for end, across in ways.get(bore.to, ()):
        for k in (-1, 1):
            start = (x, y + k * r) if across else (x + k * r, y)
            stop = (end, y + k * (r + 0.6)) if across else (x + k * (r + 0.6), end)
            items.append(Line(start, stop, Pen(0.7, 0.0, (1.6, 0.9)), "wedge"))
    return items


def diameters(step: Step, sheet: Bench, units: Units) -> list[Item]:
    """The diameters, in the stretch of wood with most room beside the holes: once if they are alike."""
    if not step.bores:
        return []
    words = ", ".join(dict.fromkeys(bore_words(bore, units) for bore in sorted(step.bores, key=lambda b: b.centre)))
    left, top, right, bottom = sheet.box
    xs = [sheet.x.at(bore.centre[0]) for bore in step.bores]
    first, last = min(xs) - HOLE - 2.0, max(xs) + HOLE + 2.0
    at_left = first - left >= right - last
    y = sum(sheet.y.at(bore.centre[1]) for bore in step.bores) / len(step.bores)
    half = CAP * FIGURE / 2
    y = min(max(y, top + half + 1.6), bottom - half - 1.6)
    text = Text((first, y + half), words, FIGURE, "end", True, layer="bore") if at_left else \
        Text((last, y + half), words, FIGURE, "start", True, layer="bore")
    return on_white(text, 0.3)
