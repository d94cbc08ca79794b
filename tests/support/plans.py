"""Hand-made plans for the tests of printing: simple rows, no search, built with shapely alone.

They are not good plans (every row starts with a fresh board or the last offcut), only complete ones: each piece has its
outline, its place in its board and its cuts, so that what is printed can be compared with what was asked.
All rooms and names are invented.
"""
from __future__ import annotations

import datetime
from dataclasses import replace

import numpy as np
from shapely.geometry import Point as Spot
from shapely.geometry import Polygon as Area
from shapely.geometry import box
from shapely.ops import unary_union

from capture.floor import Floor
from layout.facts.notes import LooseSurvey
from layout.facts.purchases import Boards, Spacers, Underlay
from layout.facts.reasons import RowsRun
from layout.frame import Frame
from layout.plan import BeadingPiece, Cut, Hole, Item, Offcut, Piece, Plan, Polygon, Relaxed, Row, Run
from layout.room import Board, Casing, Door, Pipe, Room, Rules
from printpack.job import PackJob

BOARD = Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)
KERF = 3.0
GAP = 10.0
DATE = datetime.date(2026, 3, 5)

RECTANGLE = ((0, 0), (3010, 0), (3010, 596), (0, 596))
BREAST = ((0, 0), (4300, 0), (4300, 3050), (2700, 3050), (2700, 2690), (1500, 2690), (1500, 3050), (0, 3050))
SLANTED = ((0, 0), (3300, 0), (2950, 2400), (0, 2400))
LONG = ((0, 0), (3600, 0), (3600, 4700), (0, 4700))
#: A piece under a wall that runs flat across its right end, board frame, mm: the board's left end and its far edge
#: stay, a rip runs along it and a slanted line closes it; the rest begins a kerf behind its tip.
BAY_PIECE = ((0.0, 120.0), (374.8, 131.8), (444.0, 192.0), (0.0, 192.0))
_BEYOND = ((1285.0, 192.0), (1285.0, 160.45), (374.8, 131.8), (444.0, 192.0))


def floor_of(ring, sd_mm: float = 1.5) -> Floor:
    """A floor whose corners are each uncertain by sd_mm, independently."""
    names = tuple("ABCDEFGHIJKL"[:len(ring)])
    return Floor(names=names, points_mm=np.array(ring, float), cov_mm2=np.eye(2 * len(ring)) * sd_mm ** 2,
                 outline=names)


def plan_of(ring, *, first_mm: float = 192.0, pipes: tuple[Pipe, ...] = (), board: Board = BOARD,
            stagger: float = 420.0) -> Plan:
    """Rows along x from the top wall of the room downwards."""
    floor = Area(ring)
    cover = floor.buffer(-GAP, join_style="mitre")
    top = cover.bounds[3]
    edges = [0.0, first_mm]
    while edges[-1] < top - cover.bounds[1] - 1e-6:
        edges.append(edges[-1] + board.width_mm)
    laying = _Laying(cover, top, board, pipes, stagger)
    rows = tuple(laying.row(number, near, far) for number, (near, far) in enumerate(zip(edges, edges[1:]), start=1))
    offcuts = tuple(laying.offcuts)
    holes = tuple(Hole(pipe=p.name, centre_mm=p.centre_mm, pipe_mm=p.diameter_mm, diameter_mm=p.diameter_mm + 2 * GAP,
                       pieces=tuple(laying.pierced.get(p.name, ()))) for p in pipes)
    return Plan(floor=Polygon(outline=tuple(map(tuple, ring))), cover=(Polygon(outline=_ring(cover)),), board=board,
                kerf_mm=KERF, gap_mm=GAP, gap_least_mm=GAP, gap_most_mm=GAP, rules=Rules(), lay="left-to-right",
                frame=Frame(u=(1.0, 0.0), v=(0.0, -1.0), start_mm=(cover.bounds[0], top)), pattern="fewest", rows=rows,
                offcuts=offcuts,
                holes=holes, boards=laying.boards, bound=laying.boards - 1,
                bound_by="wood", proven=False,
                packs=-(-laying.boards // board.pack), waste_percent=6.3,
                reasons=(RowsRun(along=("A", "B"), start=("C", "D")),), choices=(),
                shopping=(Item(purchase=Boards(size_mm=(board.length_mm, board.width_mm, board.thickness_mm), spare=0,
                                               boards=laying.boards, pack=board.pack, pack_more=False, owned=()),
                               quantity=-(-laying.boards // board.pack)),
                          Item(purchase=Underlay(), quantity=2), Item(purchase=Spacers(), quantity=40)),
                beading=(BeadingPiece(where="A-B", length_mm=3010.0, start_deg=45.2, end_deg=0.0),
                         BeadingPiece(where="B-C", length_mm=596.0, start_deg=0.0, end_deg=44.8)),
                notes=(LooseSurvey(pm95_mm=4.0),),
                relaxed=(Relaxed(rule="shortest", where="2.1", asked_mm=300.0, had_mm=282.0),))


def job_of(ring, *, title: str = "Back bedroom (invented)", show: str = "metric", pipes: tuple[Pipe, ...] = (),
           doors: tuple[Door, ...] = (), paper_scale: tuple[float, float] = (1.0, 1.0), sd_mm: float = 1.5,
           **laying) -> PackJob:
    """A whole job on that room."""
    floor = floor_of(ring, sd_mm)
    room = Room(names=floor.outline, outline_mm=floor.points_mm, pipes=pipes, doors=doors, length_sd_mm=1.4)
    return PackJob(title=title, show=show, date=DATE, floor=floor, plan=plan_of(ring, pipes=pipes, **laying), room=room,
                   survey_notes=("Measure A to C once more: the tape reads 12 mm more than the other readings allow.",),
                   underlay_mm=3.0, underlay_width_mm=1000.0, paper_scale=paper_scale)


def bay_piece():
    """(a plan, its first piece as that one)."""
    job = job_of(RECTANGLE)
    plan, first = job.plan, job.plan.rows[0].pieces[0]
    left, top = plan.frame.start_mm
    piece = replace(first, outline_mm=tuple((left + x, top - (y - 120.0)) for x, y in BAY_PIECE), from_mm=0.0,
                    to_mm=444.0, near_mm=120.0, far_mm=192.0, keeps=("left", "far"), leaves=("R",), takes="", cuts=(
                        Cut(kind="rip", kept="far", at=(72.0, 58.02)), Cut(kind="line", shape=_BEYOND)))
    rest = Offcut(label="R", board=first.board, from_mm=447.0, to_mm=1285.0, near_mm=0.0, far_mm=192.0,
                  keeps=("right", "near", "far"), cut_by=piece.id, used_by="3.1")
    return replace(plan, offcuts=(rest,)), piece


def breast_job(**changes) -> PackJob:
    """The room with a chimney breast, two pipes and a door."""
    pipes = (Pipe(name="P1", centre_mm=(3400.0, 2990.0), diameter_mm=15.0),
             Pipe(name="P2", centre_mm=(3450.0, 2990.0), diameter_mm=15.0),
             Pipe(name="P3", centre_mm=(60.0, 1300.0), diameter_mm=22.0))
    doors = (Door(name="D1", wall=("A", "B"), from_mm=640.0, width_mm=762.0, reveal_mm=110.0,
                  casing=Casing(width_mm=57.0, thickness_mm=15.0)),)
    return job_of(BREAST, **({"pipes": pipes, "doors": doors, "first_mm": 150.0} | changes))


class _Laying:
    """Lays rows one after another; an offcut that starts a row is the one the row before left."""

    def __init__(self, cover: Area, top: float, board: Board, pipes: tuple[Pipe, ...], stagger: float) -> None:
        self.cover, self.top, self.board, self.pipes, self.stagger = cover, top, board, pipes, stagger
        self.boards = 0
        self.offcuts: list[Offcut] = []
        self.pierced: dict[str, list[str]] = {}

    def row(self, number: int, near: float, far: float) -> Row:
        left, _, right, _ = self.cover.bounds
        strip = self.cover.intersection(box(left, self.top - far, right, self.top - near))
        parts = sorted((p for p in getattr(strip, "geoms", [strip]) if p.area > 100), key=lambda p: p.bounds[0])
        runs, count = [], 0
        for part in parts:
            pieces = []
            for x0, x1 in self._joints(part, number):
                count += 1
                shape = part.intersection(box(x0, -1e6, x1, 1e6))
                pieces.append(self._piece(f"{number}.{count}", shape, near, (x0, x1), part))
            runs.append(Run(pieces=tuple(pieces)))
        return Row(number=number, near_mm=near, far_mm=far, runs=tuple(runs))

    def _joints(self, part: Area, number: int) -> list[tuple[float, float]]:
        left, _, right, _ = part.bounds
        first = self.board.length_mm - (number * self.stagger) % (self.board.length_mm - 300)
        ends = [left]
        step = first
        while ends[-1] + step < right - 1e-6:
            ends.append(min(ends[-1] + step, right - 300))
            step = self.board.length_mm
        return list(zip(ends, [*ends[1:], right]))

    def _piece(self, name: str, shape: Area, row_near: float, span: tuple[float, float], part: Area) -> Piece:
        length, width = self.board.length_mm, self.board.width_mm
        left, low, right, high = shape.bounds
        starts, ends = abs(span[0] - part.bounds[0]) < 1e-6, abs(span[1] - part.bounds[2]) < 1e-6
        far_rip = self.top - low < row_near + width - 0.01 and self.top - low > 0
        first_row = row_near == 0.0
        near_mm = width - (high - low) if first_row and high - low < width - 0.01 else 0.0
        from_mm = length - (right - left) if starts and not ends else 0.0
        if right - left > length - 1e-6:
            from_mm = 0.0
        keeps = [side for side, kept in (("left", from_mm == 0.0),
                                         ("right", abs(from_mm + right - left - length) < 1e-6),
                                         ("near", near_mm == 0.0), ("far", near_mm + high - low > width - 0.01))
                 if kept]
        cuts = self._cuts(shape, from_mm, near_mm, keeps)
        self.boards += 1
        leaves = self._leaves(name, from_mm, from_mm + right - left, keeps)
        for pipe in self.pipes:
            if any(c.pipe == pipe.name for c in cuts):
                self.pierced.setdefault(pipe.name, []).append(name)
        assert far_rip or "far" in keeps
        return Piece(id=name, board=self.boards, takes="", outline_mm=_ring(shape), holes_mm=(), from_mm=from_mm,
                     to_mm=from_mm + right - left, near_mm=near_mm, far_mm=near_mm + high - low, keeps=tuple(keeps),
                     cuts=tuple(cuts), leaves=leaves)

    def _leaves(self, name: str, start: float, end: float, keeps: list[str]) -> tuple[str, ...]:
        a, b = (end + KERF, self.board.length_mm) if "left" in keeps else (0.0, start - KERF)
        if b - a < 250:
            return ()
        label = f"K{len(self.offcuts) + 1}"
        self.offcuts.append(Offcut(label=label, board=self.boards, from_mm=a, to_mm=b, near_mm=0.0,
                                   far_mm=self.board.width_mm, keeps=("right", "near", "far"), cut_by=name, used_by=""))
        return (label,)

    def _cuts(self, shape: Area, from_mm: float, near_mm: float, keeps: list[str]) -> list[Cut]:
        left, low, _right, high = shape.bounds
        def board_at(x: float, y: float) -> tuple[float, float]:
            return x - left + from_mm, high - y + near_mm
        corners = [board_at(x, y) for x, y in _ring(shape)]
        cuts: list[Cut] = []
        length, width = self.board.length_mm, self.board.width_mm
        slant = _right_ends(corners, near_mm, near_mm + high - low)
        if "left" not in keeps:
            cuts.append(Cut(kind="cross", kept="right", at=(length - from_mm,) * 2))
        if "right" not in keeps:
            cuts.append(Cut(kind="cross", kept="left" if "left" in keeps else "right",
                            at=slant if "left" in keeps else (length - slant[0], length - slant[1])))
        if "far" not in keeps:
            cuts.append(Cut(kind="rip", kept="near", at=(high - low,) * 2))
        if "near" not in keeps:
            cuts.append(Cut(kind="rip", kept="far", at=(width - near_mm,) * 2))
        frame = Area([(from_mm, near_mm), (slant[0], near_mm), (slant[1], near_mm + high - low),
                      (from_mm, near_mm + high - low)])
        taken = frame.difference(Area(corners).buffer(0.01, join_style="mitre"))
        for part in getattr(taken, "geoms", [taken]):
            if part.area > 50:
                cuts.append(Cut(kind="notch", shape=tuple((round(x, 1), round(y, 1)) for x, y in _ring(part))))
        for pipe in self.pipes:
            if Spot(pipe.centre_mm).buffer(pipe.diameter_mm / 2 + GAP).intersects(shape):
                cuts.append(Cut(kind="hole", centre=board_at(*pipe.centre_mm), diameter=pipe.diameter_mm + 2 * GAP,
                                pipe=pipe.name))
        return cuts


def _right_ends(corners, near: float, far: float) -> tuple[float, float]:
    """Where the piece's right end meets its near and its far edge (board frame); the box's end if an edge is broken
    there."""
    reach = max(x for x, _ in corners)
    at_near = max((x for x, y in corners if abs(y - near) < 0.01), default=reach)
    at_far = max((x for x, y in corners if abs(y - far) < 0.01), default=reach)
    return (at_near, at_far) if max(at_near, at_far) > reach - 0.01 and abs(at_near - at_far) < 100 else (reach, reach)


def _ring(area: Area) -> tuple[tuple[float, float], ...]:
    ring = list(unary_union(area).simplify(0.01).exterior.coords)[:-1]
    from shapely.geometry import LinearRing
    return tuple((float(x), float(y)) for x, y in (ring if LinearRing(ring).is_ccw else ring[::-1]))
