"""The widths of neighbours in one drawing: pieces of a row that are ripped from the same edge, end to end."""
from __future__ import annotations

from layout.plan import Point
from printpack.strip.step import ONE_MM, SQUARE_MM, Step, Tape
from printpack.words.cut_phrases import SAME_MM


def neighbours(run: list[Step]) -> list[list[Step]]:
    """The steps for the width of pieces that follow one another, grouped as one drawing can show them: ripped from the
    same edge, and all parallel or alike where they meet."""
    groups: list[list[Step]] = []
    for step in run:
        last = groups[-1][-1] if groups else None
        if last and _drawn_together(last, step):
            groups[-1].append(step)
        else:
            groups.append([step])
    return groups


def _drawn_together(left: Step, right: Step) -> bool:
    """Both are ripped once from the same edge, both parallel or alike where they meet, their ends square."""
    if not len(left.lines) == len(right.lines) == 1 or _edge(left) != _edge(right) or left.pm_mm or right.pm_mm:
        return False
    level = [_is_parallel(step) for step in (left, right)]
    meet = abs(_at(left, 1) - _at(right, 0)) < ONE_MM
    return (all(level) or (meet and not any(level))) and _is_square(left) and _is_square(right)


def _is_parallel(step: Step) -> bool:
    return abs(_at(step, 0) - _at(step, 1)) < SAME_MM


def _edge(step: Step) -> float:
    """The edge a width is measured from, mm across."""
    return step.tapes[0].start[1]


def _at(step: Step, end: int) -> float:
    """The width at the left (0) or the right end (1), mm."""
    return abs(step.lines[0][end][1] - _edge(step))


def _is_square(step: Step) -> bool:
    """Whether both ends of the wood are square: only then neighbours are drawn end to
    end."""
    a, b, c, d = step.wood
    return abs(a[0] - d[0]) < SQUARE_MM and abs(b[0] - c[0]) < SQUARE_MM


def side_by_side(group: list[Step]) -> Step:
    """One step for neighbours: their woods end to end, the saw line through, a figure at every joint, or for every
    piece ripped parallel; one figure if all are alike."""
    x, joints = 0.0, [0.0]
    wide = max(y for _, y in group[0].wood)
    path: list[Point] = []
    edge = _edge(group[0])
    for step in group:
        long = max(px for px, _ in step.wood) - min(px for px, _ in step.wood)
        sign = 1.0 if edge == 0.0 else -1.0
        path += [(x, edge + sign * _at(step, 0)), (x + long, edge + sign * _at(step, 1))]
        x += long
        joints.append(x)
    marks, lane = [path[0], *path[1::2]], "joint"
    if _is_parallel(group[0]):
        marks, lane = [((p[0] + q[0]) / 2, p[1]) for p, q in zip(path[::2], path[1::2])], "under"
    if max(abs(y - path[0][1]) for _, y in path) < SAME_MM:
        marks, lane = path[:1], "left"
    reach = next((tape.reach_mm for step in group for tape in step.tapes if tape.reach_mm), None)
    far = wide if edge == 0.0 else 0.0
    return Step(pieces=tuple(step.pieces[0] for step in group), kind="widths", first=False, takes="",
                wood=((0.0, 0.0), (x, 0.0), (x, wide), (0.0, wide)), lines=(tuple(path),),
                off=((*path, (x, far), (0.0, far)),), joints=tuple(joints),
                tapes=tuple(Tape(start=(mx, edge), end=(mx, my), mm=abs(my - edge), lane=lane) for mx, my in marks),
                pm_mm=(reach[1] - reach[0]) / 2 if reach else 0.0)
