"""A saw line by its corners: how far along the board from an end each stands, and how far in from an edge.

`frame` is the wood before the cut: left near, right near, right far, left far; board frame, mm.
"""
from __future__ import annotations

from dataclasses import replace

from layout.plan import Point, Ring
from printpack.strip.step import ONE_MM, SQUARE_MM, Tape


def corner_tapes(path: Ring, frame: Ring, edge: str, ends: tuple[str, ...]) -> list[Tape]:
    """The figures of a saw line through its corners: along the board, and in from an edge. ends: those a tape may count
    from."""
    left, right = min(x for x, _ in frame), max(x for x, _ in frame)
    tapes: list[Tape] = []
    for x, y in path:
        if min(abs(x - left), abs(x - right)) <= ONE_MM:
            continue
        side = _edge_at(frame, (x, y)) or edge
        end, lane = _hook(frame, side, x, ends), "above" if side == "near" else "below"
        if not any(abs(tape.end[0] - x) < ONE_MM and (tape.lane == lane or not _edge_at(frame, (x, y)))
                   for tape in tapes):
            tapes.append(Tape(start=(end, edge_y(frame, side, end)), end=(x, edge_y(frame, side, x)),
                              mm=abs(x - end), lane=lane))
    return tapes + _depths(path, frame, edge, (left, right))


def _hook(frame: Ring, edge: str, x: float, ends: tuple[str, ...]) -> float:
    """Where along an edge the tape is hooked: at the nearer square end of `ends`, else at that edge's own nearer
    corner."""
    a, b, c, d = frame
    square = [p[0] for p, q, side in ((a, d, "left"), (b, c, "right")) if side in ends and abs(p[0] - q[0]) < SQUARE_MM]
    own = dict(zip(("left", "right"), (a, b) if edge == "near" else (d, c)))
    return min(square or [own[side][0] for side in ends], key=lambda end: abs(x - end))


def _depths(path: Ring, frame: Ring, edge: str, ends: Point) -> list[Tape]:
    """How deep the saw line runs at its corners; one figure where it runs along the board."""
    found: list[Tape] = []
    for x, y in path:
        deep = abs(y - edge_y(frame, edge, x))
        if _edge_at(frame, (x, y)) or any(abs(tape.mm - deep) < ONE_MM for tape in found):
            continue
        lane = "left" if abs(x - ends[0]) < ONE_MM else "right" if abs(x - ends[1]) < ONE_MM else "by"
        found.append(Tape(start=(x, edge_y(frame, edge, x)), end=(x, y), mm=deep, lane=lane))
    return _at_ends(found, path, ends)


def _at_ends(tapes: list[Tape], path: Ring, ends: Point) -> list[Tape]:
    """A depth that holds up to an end of the piece is told there, where there is room for it."""
    told = []
    for tape in tapes:
        for lane, x in zip(("left", "right"), ends):
            if tape.lane == "by" and any(abs(px - x) < ONE_MM and abs(py - tape.end[1]) < ONE_MM for px, py in path):
                tape = replace(tape, start=(x, tape.start[1]), end=(x, tape.end[1]), lane=lane)
        told.append(tape)
    return told


def _edge_at(frame: Ring, place: Point) -> str:
    """The edge a place lies on, "" for none."""
    return next((edge for edge in ("near", "far") if abs(place[1] - edge_y(frame, edge, place[0])) < ONE_MM), "")


def edge_y(frame: Ring, edge: str, x: float) -> float:
    """Where the piece's wall edge (near) or your edge (far) stands across, at a place along."""
    a, b, c, d = frame
    (x0, y0), (x1, y1) = (a, b) if edge == "near" else (d, c)
    return y0 + (y1 - y0) * (x - x0) / ((x1 - x0) or 1.0)
