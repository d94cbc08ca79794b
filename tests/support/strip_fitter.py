"""A fitter who has only the pictures of the rows: takes a board or the offcut that bears the piece's name, saws where
the picture says, pencils rests, lays from wall to wall.

Boards and spacers are things in his hands (their size is known); everything else is read by `strip_reader`. Rows lie in
the row frame (s right, t away from the start wall, mm). Where a card says so he tapes the place first and saws what the
tape says; of a cut-out told by a template alone he traces the shape (from cuts.csv).
"""
from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

from tests.support.fitter import FAR, LENGTH_PM_MM, WIDTH_PM_MM, Hand, Laid, against, taped_offs, scribed, span_at
from tests.support.strip_reader import NEAR_MM, Arrow, Card, Picture

#: Wood thinner than that falls off.
_HAIR_MM = 1.0
#: How often row 1 is pushed home until it lies still.
_PUSHES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What is at hand: the boards' length and width, the saw's kerf, the spacers, all mm; traced: what templates show,
    by piece, as outlines in the board's frame from the piece's left end."""

    length: float
    width: float
    kerf: float
    gap: float
    traced: dict[str, list[list[tuple[float, float]]]] = field(default_factory=dict)


@dataclass(slots=True)
class Work:
    """The work as it goes on."""

    bench: Bench
    free: Polygon
    hand: Hand
    laid: Laid = field(default_factory=Laid)
    pile: dict[str, Polygon] = field(default_factory=dict)
    boards: int = 0
    spares: int = 0
    reads: list[str] = field(default_factory=list)


def lay_pictures(pictures: list[Picture], bench: Bench, room: Polygon, hand: Hand) -> Work:
    """Every row laid in a room (row frame, its start wall where the rows' frame expects it)."""
    work = Work(bench, room.buffer(-bench.gap, join_style="mitre"), hand)
    wide = float(hand.rng.uniform(-WIDTH_PM_MM, WIDTH_PM_MM)) if hand.boards_err else 0.0
    far = None
    for picture in pictures:
        if far is None:
            far = _first_line(picture, work)
        else:
            far += bench.width + wide
        _lay_row(picture, work, far)
    return work


def _first_line(picture: Picture, work: Work) -> float:
    """Where your edge of row 1 lies: its pieces pushed against the spacers at both walls, along a string."""
    hand = Hand(rng=np.random.default_rng(0), cut_sd_mm=0.0, measures=False, boards_err=False)
    wide = work.bench.width
    far = work.free.bounds[1] + wide
    for _ in range(_PUSHES):
        trial = Work(work.bench, work.free, hand, pile=dict(work.pile))
        _lay_row(picture, trial, far)
        far += float(np.mean([_to_wall(shape, work.free) for shape in trial.laid.shapes.values()]))
    return far if picture.start_gap is None else far + picture.start_gap - work.bench.gap


def _to_wall(shape: Polygon, free: Polygon) -> float:
    """How far a piece of row 1 lies from the spacers at the start wall, at its middle and near its ends."""
    left, near, right, _ = shape.bounds
    away = []
    for share in (0.1, 0.5, 0.9):
        at = left + share * (right - left)
        wood, wall = (area.intersection(LineString([(at, near - 400.0), (at, near + 400.0)])) for area in (shape, free))
        if not (wood.is_empty or wall.is_empty):
            away.append(wall.bounds[1] - wood.bounds[1])
    return float(np.mean(away)) if away else 0.0


def _stretches(free: Polygon, near: float, far: float, count: int) -> list[tuple[float, float]]:
    """The stretches of free floor a row crosses, as many as it has runs, from left to right."""
    best: list[tuple[float, float]] = []
    for share in (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9, 0.02, 0.98):
        line = free.intersection(LineString([(-FAR, near + share * (far - near)), (FAR, near + share * (far - near))]))
        spans = sorted((part.bounds[0], part.bounds[2]) for part in getattr(line, "geoms", [line])
                       if not part.is_empty and part.length > 20.0)
        if len(spans) == count:
            return spans
        if abs(len(spans) - count) < abs(len(best) - count) or not best:
            best = spans
    return (best + best[-1:] * count)[:count]


def _lay_row(picture: Picture, work: Work, far: float) -> None:
    near = far - work.bench.width
    spans = _stretches(work.free, max(near, work.free.bounds[1]), min(far, work.free.bounds[3]), len(picture.runs))
    for run, span in list(zip(picture.runs, spans))[::1 if picture.rightwards else -1]:
        joint = None
        for name in run if picture.rightwards else run[::-1]:
            place = _Place(joint=joint, span=span, near=near, rightwards=picture.rightwards,
                           closes=name == (run[-1] if picture.rightwards else run[0]))
            shape = _sawn(name, picture, work, place)
            if place.closes and work.hand.measures and _is_short(shape, work, place):
                shape = _sawn(name, picture, work, place)  # the offcut is spent: from a new board
                work.spares += 1
            work.laid.shapes[name] = shape
            grown = float(work.hand.rng.uniform(-LENGTH_PM_MM, LENGTH_PM_MM)) if work.hand.boards_err else 0.0
            joint = shape.bounds[2] + grown if picture.rightwards else shape.bounds[0] - grown
        _share_out(run, picture, work)


def _is_short(shape: Polygon, work: Work, place: _Place) -> bool:
    """Whether an offcut ends short of the spacer by more than a gap: then another board is taken."""
    offs = taped_offs(shape, work.free, 1 if place.rightwards else 0, 1.0 if place.rightwards else -1.0)
    long = shape.bounds[2] - shape.bounds[0]
    return offs is not None and min(offs) > work.bench.gap and long + max(offs) < work.bench.length


def _share_out(run: list[str], picture: Picture, work: Work) -> None:
    """A run whose wood ends short of the spacer by no more than a gap is slid until both gaps are alike; one that a
    cut-out or a pipe holds stays."""
    last = work.laid.shapes[run[-1] if picture.rightwards else run[0]]
    side, sign = (1, 1.0) if picture.rightwards else (0, -1.0)
    offs = taped_offs(last, work.free, side, sign)
    held = any(_kind(card) in ("shape", "holes") for card in picture.cards if set(card.names) & set(run))
    if offs is None or held or not work.hand.measures or not 2.0 < min(offs) <= work.bench.gap + 2.0:
        return
    for name in run:
        work.laid.shapes[name] = affinity.translate(work.laid.shapes[name], sign * min(offs) / 2, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """Where the next piece goes: against a joint or, at a run's beginning, the wall of its stretch."""

    joint: float | None
    span: tuple[float, float]
    near: float
    rightwards: bool
    closes: bool

    def put(self, shape: Polygon, free: Polygon) -> Polygon:
        """The piece (board frame) in the room."""
        left, _, right, _ = shape.bounds
        if self.joint is not None:
            return affinity.translate(shape, self.joint - (left if self.rightwards else right), self.near)
        start = self.span[0] - left if self.rightwards else self.span[1] - right
        return against(affinity.translate(shape, start, self.near), None, self.rightwards, free)


def _sawn(name: str, picture: Picture, work: Work, place: _Place | None) -> Polygon:
    """One piece from the pile or a new board through all its cards; in the room if a place is given, else in its
    board's frame."""
    wood = work.pile.pop(name, None)
    if wood is None:
        wood = box(0.0, 0.0, work.bench.length, work.bench.width)
        work.boards += 1
    left = wood.bounds[0]
    wood = affinity.translate(wood, -left, 0.0)
    scribe = False
    for card in (card for card in picture.cards if name in card.names):
        before = wood
        kind = _kind(card)
        work.reads.append(f"{name} {kind}")
        if kind == "length":
            wood = _cut_length(name, card, picture, wood, work, place)
        elif kind == "fit" and work.hand.measures and place:
            wood = _fitted(wood, work, place)
        elif kind == "width":
            wood = _cut_width(name, card, wood, work, place)
        elif kind == "shape":
            wood = _cut_shape(name, card, wood, work)
            scribe = card.taped
        wood = _largest(wood)
        if kind == "shape" and scribe and work.hand.measures and place:
            placed = place.put(wood, work.free)
            blank = affinity.translate(before, placed.bounds[0] - wood.bounds[0], placed.bounds[1] - wood.bounds[1])
            done = scribed(blank, placed, work.free, work.hand)
            wood = affinity.translate(done, wood.bounds[0] - placed.bounds[0], wood.bounds[1] - placed.bounds[1])
    return place.put(wood, work.free) if place else wood


def _kind(card: Card) -> str:
    if card.bores:
        return "holes"
    if not card.lines:
        return "fit"
    if not card.broken and len(card.names) == 1 and not card.joints:
        return "shape"
    return "length" if any(arrow.is_level for arrow in card.arrows) else "width"


def _box(points) -> tuple[float, float, float, float]:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def _largest(area) -> Polygon:
    opened = area.buffer(-_HAIR_MM, join_style="mitre").buffer(_HAIR_MM, join_style="mitre")
    return max(getattr(opened, "geoms", [opened]), key=lambda part: part.area)


def _along(arrow: Arrow, card: Card, wood: Polygon) -> float:
    """x on the wood of a level arrow's mark."""
    left, top, right, bottom = _box(card.wood)
    at_left, at_right = (abs(arrow.foot[0] - end) < NEAR_MM for end in (left, right))
    x0, y0, x1, y1 = wood.bounds
    if not (at_left or at_right):
        # Hooked at a corner of a slanted end: along the edge beside which the arrow stands.
        y = y0 + 0.5 if arrow.foot[1] < (top + bottom) / 2 else y1 - 0.5
        x0, _, x1, _ = wood.intersection(LineString([(-FAR, y), (FAR, y)])).bounds
        at_left = arrow.foot[0] < arrow.tip[0]
    return x0 + arrow.figure if at_left else x1 - arrow.figure


def _across(arrow: Arrow, card: Card, wood: Polygon) -> float:
    """y on the wood of an upright arrow's mark."""
    _, top, _, bottom = _box(card.wood)
    from_wall_edge = abs(arrow.foot[1] - top) <= abs(arrow.foot[1] - bottom)
    return wood.bounds[1] + arrow.figure if from_wall_edge else wood.bounds[3] - arrow.figure


def _cut_length(name: str, card: Card, picture: Picture, wood: Polygon, work: Work,
                place: _Place | None) -> Polygon:
    """Crosscuts; rests pencilled go on the pile."""
    cuts = []
    for line in card.lines:
        (x0, y0), (x1, _) = _at_edges(line, card)
        marks = [a for a in card.arrows if a.is_level and (abs(a.tip[0] - x0) < 1.5 * NEAR_MM
                                                           or abs(a.tip[0] - x1) < 1.5 * NEAR_MM)]
        above = [a for a in marks if a.tip[1] < y0 + 4.0]
        below = [a for a in marks if a not in above]
        first, last = (above or below)[0], (below or above)[0]
        hatched_right = any(sum(x for x, _ in ring) / len(ring) > (x0 + x1) / 2 for ring in card.off
                            if min(abs(x - x0) for x, _ in ring) < 1.5)
        slip = work.hand.slip()
        cuts.append([_along(first, card, wood) + slip, _along(last, card, wood) + (slip if first is last
                                                                                   else work.hand.slip()),
                     hatched_right])
    # A board that cannot be pushed home before its other end is cut out is sawn by its figures, and scribed then.
    shaped = any(name in other.names and _kind(other) == "shape" for other in picture.cards)
    if card.taped and work.hand.measures and place and not (shaped and place.joint is None):
        _tape_ends(cuts, wood, work, place, card)
    piece = wood
    for near, far, right in cuts:
        beyond = _beyond(near, far, right, work.bench.width, 0.0)
        rest = wood.intersection(_beyond(near, far, right, work.bench.width, work.bench.kerf))
        piece = piece.difference(beyond)
        for label, at in card.pencils:
            lines = [sum(p[0] for p in line) / 2 for line in card.lines]
            mine = lines[cuts.index([near, far, right])]
            if (at[0] > mine) == right and (len(cuts) == 1 or abs(at[0] - mine) == min(abs(at[0] - x) for x in lines)):
                work.pile[label] = _largest(rest)
    return piece


def _fitted(wood: Polygon, work: Work, place: _Place) -> Polygon:
    """A piece that should fit as it is: sawn where the tape says if its place is shorter."""
    side, sign = (2, 1.0) if place.rightwards else (0, -1.0)
    placed = place.put(wood, work.free)
    offs = []
    for share in (0.15, 0.85):
        t = placed.bounds[1] + share * (placed.bounds[3] - placed.bounds[1])
        span = span_at(work.free, t, placed.bounds[2 - side] + sign * 40.0)
        if span:
            offs.append(sign * (span[side // 2] - placed.bounds[side]))
    if not offs or min(offs) > -1.0:
        return wood
    x, tilt = wood.bounds[side], (offs[-1] - offs[0]) * 0.15 / 0.7
    near, far = (x + sign * min(off, 0.0) + work.hand.slip() for off in (offs[0] - tilt, offs[-1] + tilt))
    return wood.difference(_beyond(near, far, place.rightwards, work.bench.width, 0.0))


def _at_edges(line, card: Card):
    """Where a saw line crosses the wood's two edges on paper: it is drawn a little longer."""
    (x0, y0), (x1, y1) = sorted(line, key=lambda p: p[1])
    _, top, _, bottom = _box(card.wood)
    return tuple((x0 + (x1 - x0) * (y - y0) / (y1 - y0), y) for y in (top, bottom))


def _beyond(near: float, far: float, right: bool, width: float, kerf: float) -> Polygon:
    """The half plane right (or left) of a line across, `kerf` further off."""
    slope = (far - near) / width
    near, far = (near + kerf, far + kerf) if right else (near - kerf, far - kerf)
    # Long enough for any board, short enough that a steep line stays on its side of the far edge.
    long = 3000.0
    a, b = (near - slope * long, -long), (far + slope * long, long + width)
    edge = 3 * FAR if right else -3 * FAR
    return Polygon([a, b, (edge, long + width), (edge, -long)])


def _tape_ends(cuts, wood: Polygon, work: Work, place: _Place, card: Card) -> None:
    """The end at the wall that closes the run, put where the tape says: from the joint, or the spacer, to the
    spacer."""
    nominal = wood
    for near, far, right in cuts:
        nominal = nominal.difference(_beyond(near, far, right, work.bench.width, 0.0))
    placed = place.put(_largest(nominal), work.free)
    side = 1 if place.rightwards else 0
    offs = taped_offs(placed, work.free, side, 1.0 if place.rightwards else -1.0)
    mine = [cut for cut in cuts if cut[2] == place.rightwards]
    if offs is None or not mine or not place.closes:
        return
    work.laid.measured += 1
    if card.reach:
        said = placed.bounds[2] - placed.bounds[0]
        work.laid.outside += any(not card.reach[0] - 1.0 <= said + off <= card.reach[1] + 1.0 for off in offs)
    sign = 1.0 if place.rightwards else -1.0
    mine[0][0] += sign * offs[0]
    mine[0][1] += sign * offs[1]


def _cut_width(name: str, card: Card, wood: Polygon, work: Work, place: _Place | None) -> Polygon:
    """The cut along; of neighbours in one drawing the stretch that bears the name."""
    left, top, right, bottom = _box(card.wood)
    marks = sorted((a for a in card.arrows if not a.is_level), key=lambda a: a.tip[0])
    for near_stays in (True, False):
        mine = [a for a in marks if (abs(a.foot[1] - top) < abs(a.foot[1] - bottom)) == near_stays]
        if not mine:
            continue
        if len(card.names) == 1 or len(mine) == 1:
            ends = [min(mine, key=lambda a: abs(a.tip[0] - x)) for x in (left, right)]
        else:
            number = card.names.index(name)
            ends = [mine[number], mine[number + (len(mine) > len(card.names))]]
        ys = [_across(a, card, wood) for a in ends]
        slip = work.hand.slip()
        ys = [ys[0] + slip, ys[1] + (slip if ends[0] is ends[1] else work.hand.slip())]
        if card.taped and work.hand.measures and place:
            ys = _tape_edges(ys, near_stays, wood, work, place)
        wood = _largest(wood.difference(_half(wood, ys, near_stays)))
    return wood


def _half(wood: Polygon, ys: list[float], near_stays: bool) -> Polygon:
    ends = [wood.intersection(LineString([(-FAR, y), (FAR, y)])).bounds for y in ys]
    # A mark stands on the wood's own end at that height: a slanted end is not at the wood's extreme.
    x0, x1 = (ends[0][0], ends[1][2]) if not np.isnan([*ends[0], *ends[1]]).any() else (wood.bounds[0], wood.bounds[2])
    slope = (ys[1] - ys[0]) / (x1 - x0)
    a, b = (x0 - 50.0, ys[0] - 50.0 * slope), (x1 + 50.0, ys[1] + 50.0 * slope)
    edge = FAR if near_stays else -FAR
    return Polygon([a, b, (b[0], edge), (a[0], edge)])


def _tape_edges(ys: list[float], near_stays: bool, wood: Polygon, work: Work, place: _Place) -> list[float]:
    """The edge at a wall put where the tape says: from the row before to the spacer, near both ends."""
    swap = [0, 1, 1, 0, 0, 0]
    placed = place.put(_largest(wood.difference(_half(wood, ys, near_stays))), work.free)
    piece, floor = affinity.affine_transform(placed, swap), affinity.affine_transform(work.free, swap)
    offs = taped_offs(piece, floor, 1, 1.0) if near_stays else taped_offs(piece, floor, 0, -1.0)
    if offs is None:
        return ys
    work.laid.measured += 1
    sign = 1.0 if near_stays else -1.0
    return [ys[0] + sign * offs[0], ys[1] + sign * offs[1]]


def _cut_shape(name: str, card: Card, wood: Polygon, work: Work) -> Polygon:
    """Cut-outs: every corner of what comes off stands at a figure, at an end or at an edge of the wood."""
    if not card.arrows:
        for ring in work.bench.traced[name]:
            wood = wood.difference(Polygon(ring).buffer(0.01, join_style="mitre"))
        return wood
    left, top, right, bottom = _box(card.wood)
    x0, y0, x1, y1 = wood.bounds
    xs = {left: x0, right: x1} | {a.tip[0]: _along(a, card, wood) for a in card.arrows if a.is_level}
    ys = {top: y0, bottom: y1} | {a.tip[1]: _across(a, card, wood) for a in card.arrows if not a.is_level}
    solid = wood
    for ring in card.off:
        corners = [_corner(place, xs, ys, card, solid) for place in ring]
        off = Polygon(_past(corners, (x0, y0, x1, y1))).buffer(0)
        wood = wood.difference(off)
        for label, at in card.pencils:
            if Polygon(ring).distance(Point(at)) < 2.0:
                rest = solid.intersection(off).difference(wood.buffer(work.bench.kerf, join_style="mitre"))
                work.pile[label] = _largest(rest)
    return wood


def _corner(place, xs: dict[float, float], ys: dict[float, float], card: Card, wood: Polygon) -> tuple[float, float]:
    """A corner of what comes off: told by figures, or on a slanted end or edge of the wood at the one it has."""
    x, y = _known(xs, place[0]), _known(ys, place[1])
    if x is not None and y is not None:
        return x, y
    _, top, _, bottom = _box(card.wood)
    if x is not None:
        column = wood.intersection(LineString([(x, -FAR), (x, FAR)]))
        return x, column.bounds[1] if place[1] < (top + bottom) / 2 else column.bounds[3]
    if y is not None:
        line = wood.intersection(LineString([(-FAR, y), (FAR, y)]))
        left, _, right, _ = _box(card.wood)
        return line.bounds[0] if place[0] < (left + right) / 2 else line.bounds[2], y
    raise ValueError(f"no figure tells the place {place} on paper; there are {sorted(xs)} and {sorted(ys)}")


def _past(corners, wood) -> list[tuple[float, float]]:
    """A little beyond the wood where a corner lies on its end or edge, so that no hair is left."""
    x0, y0, x1, y1 = wood
    return [(x - 0.5 if abs(x - x0) < 1e-6 else x + 0.5 if abs(x - x1) < 1e-6 else x,
             y - 0.5 if abs(y - y0) < 1e-6 else y + 0.5 if abs(y - y1) < 1e-6 else y) for x, y in corners]


def _known(places: dict[float, float], at: float) -> float | None:
    """What the wood measures at a place on paper: the figure whose mark stands there; None if there is none."""
    paper = min(places, key=lambda p: abs(p - at))
    return places[paper] if abs(paper - at) <= NEAR_MM else None
