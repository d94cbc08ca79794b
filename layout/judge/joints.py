"""The judge on end joints near pipe holes, notches and joints two rows before, against what the plan says gave way.
Row frame, mm."""
from __future__ import annotations

from math import radians, tan

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.polygon import orient

from capture.language.messages import lazy_gettext
from layout.judge.fault import Fault
from layout.judge.piece_geometry import INSIDE_MM, Joint, Reading
from layout.plan import Plan

HOLE_CLEAR_MM, NOTCH_CLEAR_MM = 30.0, 60.0
#: Joints two rows apart keep off one another by this much where boards are at least so long, mm.
APART_MM, LONG_BOARD_MM = 100.0, 1200.0
#: A joint this near to a pipe's middle counts as on it, mm: joints lie on whole mm, pipes anywhere.
ON_CENTRE_MM = 0.51
SAID_MM = 0.05
#: A notch surely counts from the second of these depths on, and perhaps from the first, mm: a shallower step leaves no
#: tongue that could break, and where it lies exactly differs within the edge window.
NOTCH_DEEP_MM = (14.0, 16.0)
#: A hole biting less than this does not weaken a board, mm2.
BITE_MM2 = 2.0
STEEP = tan(radians(20.0))
SLACK = tan(radians(0.1))

Places = dict[str, float]


def check_joints(plan: Plan, reading: Reading) -> list[Fault]:
    """Joints nearer than 30 mm to a hole they do not halve, and nearer than 60 mm to a notch's inner corner."""
    holes = _near_holes(plan, reading)
    surely = _near_notches(reading, NOTCH_DEEP_MM[1], STEEP + SLACK)
    perhaps = _near_notches(reading, NOTCH_DEEP_MM[0], STEEP - SLACK)
    return [*_unsaid(plan, "pipe-joint", HOLE_CLEAR_MM, holes, holes),
            *_unsaid(plan, "notch-joint", NOTCH_CLEAR_MM, surely, perhaps), *_alike(plan, reading)]


def _alike(plan: Plan, reading: Reading) -> list[Fault]:
    """Joints two rows apart that lie alike; a pattern and packs of several lengths are laid as they are."""
    if plan.pattern != "fewest" or plan.board.mix or plan.board.length_mm < LONG_BOARD_MM:
        return []
    by_row: dict[int, list[float]] = {}
    for joint in reading.joints:
        by_row.setdefault(joint.left.row, []).append(joint.s_mm)
    found: Places = {}
    for row, places in by_row.items():
        for s in by_row.get(row - 2, ()):
            _keep_least(found, row, min(abs(s - other) for other in places), APART_MM)
    return _unsaid(plan, "alike", APART_MM, found, found)


def _near_holes(plan: Plan, reading: Reading) -> Places:
    """Least clear wood between a joint and a hole, by row, where it is too little."""
    found: Places = {}
    for hole in plan.holes:
        centre = Point(*plan.to_row_frame(hole.centre_mm))
        disc = centre.buffer(hole.diameter_mm / 2)
        bitten = {one.row for one in reading.laid if one.shape.intersects(disc)
                  and one.shape.intersection(disc).area > BITE_MM2}
        for joint in (joint for joint in reading.joints if joint.left.row in bitten
                      and abs(joint.s_mm - centre.x) > ON_CENTRE_MM):
            line = LineString([(joint.s_mm, joint.near_mm), (joint.s_mm, joint.far_mm)])
            _keep_least(found, joint.left.row, max(0.0, line.distance(centre) - hole.diameter_mm / 2), HOLE_CLEAR_MM)
    return found


def _near_notches(reading: Reading, deep: float, slope: float) -> Places:
    """Least distance of a joint from an inner corner in its stretch of the row, by row, where it is too little."""
    by_row: dict[int, list[Joint]] = {}
    for joint in reading.joints:
        by_row.setdefault(joint.left.row, []).append(joint)
    found: Places = {}
    for row, here in by_row.items():
        for part in reading.parts[row]:
            corners = _inner_corners(part, deep, slope)
            for joint in here if corners else ():
                if part.distance(Point(joint.s_mm, (joint.near_mm + joint.far_mm) / 2)) < INSIDE_MM:
                    _keep_least(found, row, min(abs(joint.s_mm - corner) for corner in corners), NOTCH_CLEAR_MM)
    return found


def _inner_corners(part: Polygon, deep: float, slope: float) -> list[float]:
    """s of the corners that stand into the wood and have a side across the row."""
    found = []
    for ring in (orient(part).exterior, *orient(part).interiors):
        corners = shapely.get_coordinates(ring)
        after = corners[1:] - corners[:-1]
        before = np.concatenate([after[-1:], after[:-1]])
        inner = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0] < 0
        across = [(np.abs(side[:, 1]) >= deep) & (np.abs(side[:, 1]) >= slope * np.abs(side[:, 0]))
                  for side in (before, after)]
        found += corners[:-1][inner & (across[0] | across[1]), 0].tolist()
    return found


def _keep_least(found: Places, row: int, had: float, asked: float) -> None:
    if had < asked - 1e-3:
        found[f"row {row}"] = min(had, found.get(f"row {row}", asked))


def _unsaid(plan: Plan, slug: str, asked: float, surely: Places, perhaps: Places) -> list[Fault]:
    """Breaches the plan does not own up to with their amount, and breaches it owns up to that are none."""
    said = {rule.where: rule for rule in plan.relaxed if rule.rule == slug}
    says = lazy_gettext("an end joint is nearer than {asked:g} mm to one two rows before, and the plan does not say so",
                        asked=float(asked)) if slug == "alike" else lazy_gettext(
        "an end joint is nearer than {asked:g} mm to a hole or a notch, and the plan does not say so",
        asked=float(asked))
    faults = [Fault(slug=slug, where=where, amount=had, says=says)
              for where, had in surely.items() if where not in said or said[where].had_mm > had + SAID_MM]
    return faults + [Fault(slug="relaxed-wrong", where=where, amount=told.had_mm,
                           says=lazy_gettext("the plan says {rule} gave way here, but it did not", rule=slug))
                      for where, told in said.items()
                     if told.had_mm < asked - SAID_MM and abs(perhaps.get(where, asked) - told.had_mm) > SAID_MM]
