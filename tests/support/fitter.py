"""What a fitter's hands do: boards sawn as a table says, pieces pushed home, places taped.

Nothing of the planner or of printpack is used: tables are read by `csv`, shapes are shapely's. Rows lie in the row frame
(s right, t away from the start wall, mm). `tests.support.strip_fitter` lays whole floors with it.
"""
from __future__ import annotations

import csv
import io
from dataclasses import dataclass, field

import numpy as np
from shapely import affinity
from shapely.geometry import LineString, Polygon, box

FAR = 1e5
#: What the table rounds to: wood thinner than that beside a notch is none.
_TABLE_MM = 0.001
#: Boards of one batch err in width together (EN 13329 as quoted by trade handbooks: +-0.1 mm), each in length alone
#: (+-0.5 mm).
WIDTH_PM_MM, LENGTH_PM_MM = 0.1, 0.5


def read_cuts(text: str) -> dict[str, list[dict[str, str]]]:
    """The lines of cuts.csv by piece."""
    pieces: dict[str, list[dict[str, str]]] = {}
    for line in csv.DictReader(io.StringIO(text)):
        pieces.setdefault(line["piece"], []).append(line)
    return pieces


def number(line: dict[str, str], name: str) -> float:
    """One number of a line."""
    return float(line[name])


def sawn(lines: list[dict[str, str]], board_mm: tuple[float, float]) -> Polygon:
    """One piece in its board's frame: the stock, less what its cuts take off."""
    first, width = lines[0], board_mm[1]
    stock = (number(first, "stock_from_mm"), number(first, "stock_to_mm"))
    piece = box(stock[0], 0.0, stock[1], width)
    middle = tuple((number(first, a) + number(first, b)) / 2 for a, b in (("from_mm", "to_mm"), ("near_mm", "far_mm")))
    for kept, near, far in _straight(lines, "cross"):
        a, b = (stock[0] + d if kept == "left" else stock[1] - d for d in (near, far))
        slope = (b - a) / width
        beyond = Polygon([(a - slope * FAR, -FAR), (a + slope * FAR, FAR), (FAR * 3, FAR), (FAR * 3, -FAR)])
        piece = piece.intersection(beyond) if middle[0] > a + slope * middle[1] else piece.difference(beyond)
    for kept, left, right in _straight(lines, "rip"):
        a, b = (d if kept == "near" else width - d for d in (left, right))
        x0, x1 = number(first, "from_mm"), number(first, "to_mm")
        slope = (b - a) / (x1 - x0)
        deep = 2 * FAR * (1 + abs(slope))
        half = Polygon([(x0 - FAR, a - FAR * slope), (x1 + FAR, b + FAR * slope), (x1 + FAR, deep), (x0 - FAR, deep)])
        piece = piece.difference(half) if kept == "near" else piece.intersection(half)
    for line in lines:
        if line["cut"] in ("notch", "line"):
            notch = Polygon([tuple(map(float, pair.split())) for pair in line["shape_mm"].split(";")])
            piece = piece.difference(notch.buffer(_TABLE_MM, join_style="mitre"))
    return max(getattr(piece, "geoms", [piece]), key=lambda part: part.area)


def _straight(lines: list[dict[str, str]], kind: str) -> list[tuple[str, float, float]]:
    return [(line["kept"], number(line, "at_first_mm"), number(line, "at_second_mm")) for line in lines
            if line["cut"] == kind]


@dataclass(slots=True)
class Hand:
    """How well the fitter works. cut_sd_mm: each mark of a straight cut; measures: whether closing pieces are
    measured in place."""

    rng: np.random.Generator
    cut_sd_mm: float = 1.0
    measures: bool = True
    boards_err: bool = True

    def slip(self) -> float:
        """The error of one sawn mark, mm."""
        return float(self.rng.normal(0.0, self.cut_sd_mm)) if self.cut_sd_mm else 0.0


@dataclass(slots=True)
class Laid:
    """The floor as it came out: shapes by piece in the row frame, and how often a measured place was outside what
    was expected."""

    shapes: dict[str, Polygon] = field(default_factory=dict)
    measured: int = 0
    outside: int = 0


def scribed(blank: Polygon, shape: Polygon, free: Polygon, hand: Hand) -> Polygon:
    """A cut-out sawn where the tape says: the blank cut to the walls less the gap, each way off by the hand's slip,
    near the lines listed."""
    waste = blank.difference(shape)
    reach = waste.buffer(40.0, join_style="mitre")
    walls = affinity.translate(free, hand.slip(), hand.slip())
    made = blank.difference(reach).union(blank.intersection(reach).intersection(walls)).buffer(0.01, join_style="mitre")
    return max(getattr(made, "geoms", [made]), key=lambda part: part.area)


def against(shape: Polygon, joint: float | None, rightwards: bool, free: Polygon) -> Polygon:
    """The piece pushed against the joint, or against the spacers at its run's beginning."""
    if joint is not None:
        return affinity.translate(shape, joint - (shape.bounds[0] if rightwards else shape.bounds[2]), 0.0)
    shifts = []
    side, middle = 0 if rightwards else 1, (shape.bounds[0] + shape.bounds[2]) / 2
    for t in np.linspace(shape.bounds[1] + 1.0, shape.bounds[3] - 1.0, 13):
        mine, there = ([span_at(area, t + d, through) for d in (-0.4, 0.4)]
                       for area, through in ((shape, None), (free, middle)))
        # Only where both the end and its wall run across the row: along a slanted edge a spacer tells nothing.
        if all((*mine, *there)) and all(abs(span[1][side] - span[0][side]) < 2.0 for span in (mine, there)):
            shifts.append(sum(span[side] for span in there) / 2 - sum(span[side] for span in mine) / 2)
    if not shifts:
        return shape
    # Where a notch and its wall do not begin at the same height, a station between them tells nothing of the end's own
    # place.
    near = [shift for shift in shifts if abs(shift - float(np.median(shifts))) < 20.0]
    return affinity.translate(shape, max(near) if rightwards else min(near), 0.0)


def span_at(area: Polygon, t: float, through: float | None) -> tuple[float, float] | None:
    """(left, right) of the stretch of an area at height t: the widest one, or the one through a place."""
    parts = area.intersection(LineString([(-FAR, t), (FAR, t)]))
    spans = [part.bounds for part in getattr(parts, "geoms", [parts]) if not part.is_empty and part.length > 1e-6]
    if through is not None:
        spans = [span for span in spans if span[0] - 30.0 <= through <= span[2] + 30.0]
    best = max(spans, key=lambda span: span[2] - span[0], default=None)
    return (best[0], best[2]) if best else None


def taped_offs(shape: Polygon, free: Polygon, side: int, sign: float) -> tuple[float, float] | None:
    """How much further the spacer stands than the piece as listed reaches, at the two edges of that side; None if
    neither can be taped. Tapes run 15 % inside the edges, the line through both is carried on; where one cannot be
    taped the other serves."""
    low, high = shape.bounds[1], shape.bounds[3]
    taped = []
    for share in (0.15, 0.85):
        t = low + share * (high - low)
        mine, there = span_at(shape, t, None), span_at(free, t, (shape.bounds[0] + shape.bounds[2]) / 2)
        off = sign * (there[side] - mine[side]) if mine and there else None
        taped.append(off if off is not None and abs(off) < 60.0 else None)
    known = [off for off in taped if off is not None]
    if not known:
        return None
    first, last = (known[0] if off is None else off for off in taped)
    tilt = (last - first) * 0.15 / 0.7
    return first - tilt, last + tilt


def gaps(room: Polygon, floor, step_mm: float = 20.0) -> np.ndarray:
    """The gap at places every `step_mm` along the walls: distance from the wall to the nearest board."""
    found = []
    for ring in (room.exterior, *room.interiors):
        for k in range(max(1, int(ring.length / step_mm))):
            found.append(ring.interpolate((k + 0.5) * step_mm).distance(floor))
    return np.array(found)
