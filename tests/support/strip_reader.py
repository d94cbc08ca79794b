"""Reads the picture of a row as a person does who knows no word: lines, arrows and figures of the drawing alone.

Input is the SVG that the phone shows. Nothing of the planner or of printpack is used, and no layer's name is in the
file: what a line is follows from how it is drawn (thick and broken: the saw; a triangle: an arrow's head; thin and
slanted: what comes off). Paper mm; `Card` gives figures with the side of the wood each counts from.
"""
from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np
from lxml import etree
from scipy.optimize import linear_sum_assignment

Point = tuple[float, float]
#: Two places on paper are one, mm.
NEAR_MM = 0.75


@dataclass(frozen=True, slots=True)
class Stroke:
    """A chain of places with its pen; fill "" for none."""

    points: tuple[Point, ...]
    closed: bool
    width: float
    broken: bool
    fill: str
    stroke: str


@dataclass(frozen=True, slots=True)
class Word:
    """A text by the middle of where it stands (roughly), its size and whether it is bold."""

    text: str
    at: Point
    size: float
    bold: bool


@dataclass(frozen=True, slots=True)
class Arrow:
    """An arrow from where the tape is hooked to the mark, and the figure that belongs to it."""

    foot: Point
    tip: Point
    figure: float = 0.0

    @property
    def is_level(self) -> bool:
        return abs(self.tip[0] - self.foot[0]) >= abs(self.tip[1] - self.foot[1])


@dataclass(slots=True, kw_only=True)
class Card:
    """One saw step. wood: its corners; lines: saw lines, each as straight parts; off: outlines of what comes off;
    pencils: (name, place); taped: whether it is measured in place first; reach: (least, greatest) of a length."""

    names: tuple[str, ...]
    wood: tuple[Point, ...]
    lines: list[tuple[Point, Point]] = field(default_factory=list)
    broken: bool = False
    off: list[tuple[Point, ...]] = field(default_factory=list)
    arrows: list[Arrow] = field(default_factory=list)
    pencils: list[tuple[str, Point]] = field(default_factory=list)
    joints: list[float] = field(default_factory=list)
    taped: bool = False
    reach: tuple[float, float] | None = None
    bores: int = 0


@dataclass(slots=True, kw_only=True)
class Picture:
    """A row: its runs of piece names from left to right, which way it is laid, its cards in order; start_gap: the
    figure beside the start wall, None without one."""

    runs: list[list[str]]
    rightwards: bool
    cards: list[Card]
    start_gap: float | None = None


def read_picture(svg: str) -> Picture:
    """The picture of one row."""
    strokes, words, circles = _elements(svg)
    frames = [s for s in strokes if s.closed and s.stroke == "#999999" and len(s.points) == 4 and not s.fill]
    boxes = [_box(frame.points) for frame in frames]
    inside = [[], []]
    cards = []
    for box in boxes:
        cards.append(_card([s for s in strokes if s not in frames and _in(box, _middle(s.points))],
                           [w for w in words if _in(box, w.at)], [c for c in circles if _in(box, c)]))
    inside[0] = [s for s in strokes if s not in frames and not any(_in(box, _middle(s.points)) for box in boxes)]
    inside[1] = [w for w in words if not any(_in(box, w.at) for box in boxes)]
    runs, rightwards = _strip(*inside)
    gap = [m for w in inside[1] for m in [re.match(r"start wall\D*(\d+)", w.text)] if m]
    return Picture(runs=runs, rightwards=rightwards, cards=cards, start_gap=float(gap[0][1]) if gap else None)


def _elements(svg: str) -> tuple[list[Stroke], list[Word], list[Point]]:
    root = etree.fromstring(svg.encode())
    strokes, words, circles = [], [], []
    for element in root:
        if element.tag == "path":
            strokes += _paths(element.attrib)
        elif element.tag == "circle":
            circles.append((float(element.get("cx")), float(element.get("cy"))))
        elif element.tag == "text":
            words.append(_word(element))
    return strokes, words, circles


def _paths(look) -> list[Stroke]:
    fill = look.get("fill", "")
    rest = (float(look.get("stroke-width", 0)), "stroke-dasharray" in look, "" if fill == "none" else fill,
            look.get("stroke", ""))
    found = []
    for part in re.findall(r"M([^MZ]+)(Z?)", look["d"]):
        points = tuple(tuple(map(float, pair.split())) for pair in part[0].split("L"))
        found.append(Stroke(points, bool(part[1]), *rest))
    return found


def _word(element) -> Word:
    x, y, size = float(element.get("x")), float(element.get("y")), float(element.get("font-size"))
    text, bold = element.text or "", element.get("font-weight") == "bold"
    wide = size * len(text) * (0.62 if bold else 0.55)
    x += {"middle": 0.0, "end": -wide / 2}.get(element.get("text-anchor"), wide / 2)
    return Word(text, (x, y - 0.36 * size), size, bold)


def _card(strokes: list[Stroke], words: list[Word], circles: list[Point]) -> Card:
    wood = max((s for s in strokes if s.closed and s.fill == "#ffffff" and abs(s.width - 0.9) < 0.01),
               key=lambda s: _area(s.points))
    top = min(y for _, y in wood.points)
    named = [w for w in words if w.bold and re.match(r"\d+\.\d+", w.text)]
    names = re.findall(r"\d+\.\d+", min(named, key=lambda w: w.at[1]).text)
    small = [w for w in words if not w.bold and re.fullmatch(r"\d+\.\d+", w.text) and w.at[1] > top]
    card = Card(names=tuple(w.text for w in sorted(small, key=lambda w: w.at[0])) or tuple(names), wood=wood.points,
                bores=len(circles))
    saws = [s for s in strokes if abs(s.width - 1.2) < 0.01 and not s.closed]
    card.lines, card.broken = [(s.points[0], s.points[-1]) for s in saws], any(s.broken for s in saws)
    card.off = [s.points for s in strokes if s.closed and abs(s.width - 0.12) < 0.011 and not s.fill]
    card.joints = sorted({s.points[0][0] for s in strokes if not s.closed and abs(s.width - 0.25) < 0.01
                          and len(s.points) == 2 and s.points[0][0] == s.points[1][0]
                          and abs(s.points[0][1] - top) < NEAR_MM and small})
    card.pencils = [(re.findall(r"\d+\.\d+", w.text)[0], w.at) for w in words
                    if w.bold and re.search(r"[←→]|^\d+\.\d+$", w.text) and w.at[1] > top]
    reach = [m for w in words if not w.bold for m in [re.fullmatch(r"(\d+)–(\d+)(?:, \d+–\d+)*", w.text)] if m]
    card.reach = (float(reach[0][1]), float(reach[0][2])) if reach else None
    card.taped = bool(reach) or any(w.text.startswith("±") for w in words)
    card.arrows = _arrows(strokes, [w for w in words if w.bold and w.size > 10.9 and re.fullmatch(r"\d+", w.text)])
    return card


def _arrows(strokes: list[Stroke], figures: list[Word]) -> list[Arrow]:
    """Heads with their shafts; each with the figure that stands nearest to it, no figure twice."""
    arrows = []
    for head in (s for s in strokes if s.closed and s.fill == "#000000" and len(s.points) == 3):
        tip, back = head.points[0], _middle(head.points[1:])
        shafts = [s.points if _near(s.points[1], back) else s.points[::-1] for s in strokes
                  if not s.closed and abs(s.width - 0.6) < 0.01 and (_near(s.points[1], back) or _near(s.points[0],
                                                                                                       back))]
        foot = max((shaft[0] for shaft in shafts), key=lambda p: abs(p[0] - tip[0]) + abs(p[1] - tip[1]), default=back)
        arrows.append(Arrow(foot, tip))
    if not arrows or not figures:
        return []
    cost = np.array([[_away(arrow, word.at) for word in figures] for arrow in arrows])
    rows, columns = linear_sum_assignment(cost)
    return [Arrow(arrows[i].foot, arrows[i].tip, float(figures[j].text)) for i, j in zip(rows, columns)]


def _away(arrow: Arrow, at: Point) -> float:
    a, b = np.array(arrow.foot), np.array(arrow.tip)
    share = np.clip((np.array(at) - a) @ (b - a) / max((b - a) @ (b - a), 1e-9), 0.0, 1.0)
    return float(np.hypot(*(a + share * (b - a) - np.array(at))))


def _strip(strokes: list[Stroke], words: list[Word]) -> tuple[list[list[str]], bool]:
    """Runs of names: pieces follow one another from left to right, strip below strip; a wall's bar ends a run."""
    pieces = [s for s in strokes if s.closed and s.fill and len(s.points) >= 3 and s.width > 0.35]
    names = [w for w in words if re.fullmatch(r"\d+\.\d+", w.text)]
    bars = [s for s in strokes if not s.closed and abs(s.width - 1.5) < 0.01]
    told = []
    for piece in pieces:
        box = _box(piece.points)
        name = min((w for w in names if w.at[1] > box[1]), key=lambda w: abs(w.at[0] - (box[0] + box[2]) / 2)
                   + 3 * max(0.0, w.at[1] - box[3]))
        told.append((round(name.at[1]), (box[0] + box[2]) / 2, box, name.text))
    told.sort(key=lambda entry: entry[:2])
    runs: list[list[str]] = []
    last = None
    for height, _, box, name in told:
        walls = [b.points[0][0] for b in bars if abs(_middle(b.points)[1] - (height - 14)) < 30]
        apart = last is None or (last[0] == height and any(last[1][2] - 0.6 < wall < box[0] + 0.6 for wall in walls)) \
            or (last[0] != height and (any(wall > last[1][2] - 0.6 for wall in last[2])
                                       or any(wall < box[0] + 0.6 for wall in walls)))
        if apart:
            runs.append([])
        runs[-1].append(name)
        last = (height, box, walls)
    heads = [s for s in strokes if s.closed and s.fill == "#000000" and len(s.points) == 3
             and s.points[0][1] == _middle(s.points[1:])[1]]
    tip = min(heads, key=lambda s: s.points[0][1])
    return runs, tip.points[0][0] > tip.points[1][0]


def _box(points) -> tuple[float, float, float, float]:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def _in(box, at: Point) -> bool:
    return box[0] - 0.1 <= at[0] <= box[2] + 0.1 and box[1] - 0.1 <= at[1] <= box[3] + 0.1


def _middle(points) -> Point:
    return sum(p[0] for p in points) / len(points), sum(p[1] for p in points) / len(points)


def _near(a: Point, b: Point) -> bool:
    return abs(a[0] - b[0]) < 0.2 and abs(a[1] - b[1]) < 0.2


def _area(points) -> float:
    box = _box(points)
    return (box[2] - box[0]) * (box[3] - box[1])
