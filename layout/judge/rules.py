"""The judge on joints and rules: factory ends at every joint, factory edges at every seam, stagger, shortest,
narrowest."""
from __future__ import annotations

from dataclasses import dataclass
from math import radians, tan

import numpy as np
import shapely
from shapely.geometry import Polygon

from capture.language.messages import lazy_gettext
from layout.judge.fault import Fault
from layout.judge.piece_geometry import INSIDE_MM, LEAST_CONTACT_MM, SAME_PLACE_MM, Joint, Laid, Reading, level_edges
from layout.plan import Plan

WOOD_MM = 1e-6
SAID_MM = 0.05
LONG_SLOPE = tan(radians(20.0))
LEAST_STRETCH_MM = 1.0
#: A joint this near the end of a stretch of seam lies at its end, mm.
AT_END_MM = 0.01
#: What clipping leaves behind is no part of a row, mm2.
HAIR_MM2 = 0.01
#: Rules that `joints` and `sawing` look after.
ELSEWHERE = ("pipe-joint", "notch-joint", "alike", "sliver")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seam:
    """Where two rows meet: the pieces and the joints of the row above and of the row below, its level, and its
    stretches of contact."""

    number: int
    level_mm: float
    upper: list[Laid]
    lower: list[Laid]
    joints_above: list[Joint]
    joints_below: list[Joint]
    contact: list[tuple[float, float]]

    @property
    def where(self) -> str:
        """As a plan names it: by the row below."""
        return f"row {self.number}"


def check_rules(plan: Plan, reading: Reading) -> list[Fault]:
    """Faults of joints and seams, and of the three rules against what the plan says gave way."""
    seams = _seams(plan, reading)
    breaches = [*_staggers(plan, seams), *_shortest(plan), *_narrowest(plan, reading.parts)]
    return [*_cut_ends(plan, reading.joints), *_cut_edges(plan, seams),
            *_not_said(plan, breaches, _at_an_end(seams))]


def _cut_ends(plan: Plan, joints: tuple[Joint, ...]) -> list[Fault]:
    """At a joint both boards show a factory end: the left one its right end, the right one its left end."""
    faults = []
    for joint in joints:
        if joint.far_mm - joint.near_mm < LEAST_CONTACT_MM:
            continue
        for one, place in ((joint.left, joint.left.s0_mm + plan.board_of(joint.left.piece.board).length_mm),
                           (joint.right, joint.right.s0_mm)):
            if abs(joint.s_mm - place) > 1e-5:
                faults.append(Fault(slug="joint-cut-end", where=one.piece.id, amount=abs(joint.s_mm - place),
                                    says=lazy_gettext("a sawn end meets a joint")))
    return faults


def _cut_edges(plan: Plan, seams: list[_Seam]) -> list[Fault]:
    """Along a seam the row above shows its boards' far edges and the row below their near edges."""
    faults = []
    for seam in seams:
        for row, click_mm in ((seam.upper, plan.board.width_mm), (seam.lower, 0.0)):
            for one in row:
                off = abs(one.t0_mm + click_mm - seam.level_mm)
                touch = sum(hi - lo for lo, hi in _overlap(level_edges(one, seam.level_mm), seam.contact))
                if touch > LEAST_CONTACT_MM and off > 1e-5:
                    faults.append(Fault(slug="seam-cut-edge", where=one.piece.id, amount=off,
                                        says=lazy_gettext("a ripped edge meets a seam")))
    return faults


def _staggers(plan: Plan, seams: list[_Seam]) -> list[tuple[str, str, float, float]]:
    """(rule, where, asked, had) for each pair of rows whose joints come too near on a common stretch of seam."""
    found = []
    for seam in seams:
        above = [joint.s_mm for joint in seam.joints_above if joint.far_mm > seam.level_mm - SAME_PLACE_MM]
        below = [joint.s_mm for joint in seam.joints_below if joint.near_mm < seam.level_mm + SAME_PLACE_MM]
        least = min((abs(a - b) for lo, hi in seam.contact for a in above if lo + AT_END_MM < a < hi - AT_END_MM
                     for b in below if lo + AT_END_MM < b < hi - AT_END_MM), default=float("inf"))
        if least < plan.rules.stagger_mm - WOOD_MM * 10:
            found.append(("stagger", seam.where, plan.rules.stagger_mm, least))
    return found


def _at_an_end(seams: list[_Seam]) -> set[tuple[str, str]]:
    """Rows where a joint lies where a stretch of seam ends, so that a plan may or may not count it: its distance is
    no breach, nor wrong to tell."""
    return {("stagger", seam.where) for seam in seams for lo, hi in seam.contact
            for joint in (*seam.joints_above, *seam.joints_below) if min(abs(joint.s_mm - lo), abs(joint.s_mm - hi))
            <= AT_END_MM}


def _seams(plan: Plan, reading: Reading) -> list[_Seam]:
    """Every seam of the floor, from the start wall on."""
    pieces: dict[int, list[Laid]] = {row.number: [] for row in plan.rows}
    ends: dict[int, list[Joint]] = {row.number: [] for row in plan.rows}
    for one in reading.laid:
        pieces[one.row].append(one)
    for joint in reading.joints:
        ends[joint.left.row].append(joint)
    return [_Seam(number=lower.number, level_mm=upper.far_mm, upper=pieces[upper.number], lower=pieces[lower.number],
                  joints_above=ends[upper.number], joints_below=ends[lower.number],
                  contact=_contact(pieces[upper.number], pieces[lower.number], upper.far_mm))
            for upper, lower in zip(plan.rows[:-1], plan.rows[1:])]


def _shortest(plan: Plan) -> list[tuple[str, str, float, float]]:
    """Pieces that are shorter than the rule, those alone between two walls included."""
    return [("shortest", piece.id, plan.rules.shortest_mm, piece.to_mm - piece.from_mm) for piece in plan.pieces
            if piece.to_mm - piece.from_mm < plan.rules.shortest_mm - WOOD_MM * 10]


def _narrowest(plan: Plan, parts: dict[int, list[Polygon]]) -> list[tuple[str, str, float, float]]:
    """Rows that get narrower than the rule along walls that run with them, or reach across less than that
    altogether."""
    found = []
    for row in plan.rows:
        least = min((min(_least_width(part), part.bounds[3] - part.bounds[1]) for part in parts[row.number]
                     if part.area > HAIR_MM2), default=float("inf")) + 2 * INSIDE_MM
        depth = row.far_mm - row.near_mm
        had = min(least, depth)
        if had < plan.rules.narrowest_mm - 0.01:
            found.append(("narrowest", f"row {row.number}", plan.rules.narrowest_mm, had))
    return found


def _least_width(part: Polygon) -> float:
    """Least t-width of a part between two edges that run within 20 degrees of the rows, by upright lines near every
    corner."""
    left, near, right, far = part.bounds
    if part.area > (right - left) * (far - near) - 1e-6:
        return far - near
    rings = [shapely.get_coordinates(ring) for ring in (part.exterior, *part.interiors)]
    edges = np.concatenate([np.hstack([ring[:-1], ring[1:]]) for ring in rings])
    stops = np.unique(np.concatenate([ring[:, 0] for ring in rings]))
    wide = stops[1:] - stops[:-1] >= LEAST_STRETCH_MM
    uprights = np.concatenate([stops[:-1][wide] + 1e-4, stops[1:][wide] - 1e-4])
    ends = np.stack([uprights.repeat(2), np.tile([near - 1.0, far + 1.0], len(uprights))], axis=1).reshape(-1, 2, 2)
    least = float("inf")
    for chord in shapely.get_parts(shapely.intersection(part, shapely.linestrings(ends))):
        (s, t0), (_, t1) = shapely.get_coordinates(chord)[[0, -1]].tolist()
        if all(_on_long_edge(edges, s, t) for t in (t0, t1)):
            least = min(least, abs(t1 - t0))
    return least


def _on_long_edge(edges: np.ndarray, s: float, t: float) -> bool:
    lo, hi = np.minimum(edges[:, 0], edges[:, 2]), np.maximum(edges[:, 0], edges[:, 2])
    across = edges[(lo <= s) & (s <= hi) & (hi > lo)]
    slope = (across[:, 3] - across[:, 1]) / (across[:, 2] - across[:, 0])
    nearest = int(np.argmin(np.abs(across[:, 1] + slope * (s - across[:, 0]) - t)))
    return bool(abs(slope[nearest]) < LONG_SLOPE)


def _not_said(plan: Plan, breaches: list[tuple[str, str, float, float]],
              open_to_both: set[tuple[str, str]]) -> list[Fault]:
    """Breaches the plan does not own up to, and rules it says gave way that did not; where a rule is `open_to_both`
    it may be told or not."""
    said = {(rule.rule, rule.where): rule for rule in plan.relaxed if rule.rule not in ELSEWHERE}
    faults = []
    for rule, where, asked, had in breaches:
        told = said.pop((rule, where), None)
        agrees = told is not None and (abs(told.had_mm - had) <= SAID_MM
                                       or ((rule, where) in open_to_both and told.had_mm < had))
        if told is None or not agrees or abs(told.asked_mm - asked) > SAID_MM:
            faults.append(Fault(slug=rule, where=where, amount=had,
                                says=lazy_gettext(
                                    "{rule} is {had:.2f} mm where {asked:g} was asked, and the plan does not say so",
                                    rule=rule, had=float(had), asked=float(asked))))
    faults += [Fault(slug="relaxed-wrong", where=where, amount=told.had_mm,
                     says=lazy_gettext("the plan says {rule} gave way here, but it did not", rule=rule))
                for (rule, where),
               told in said.items() if told.had_mm < told.asked_mm - SAID_MM and (rule, where) not in open_to_both]
    return faults


def _contact(upper: list[Laid], lower: list[Laid], level: float) -> list[tuple[float, float]]:
    """Stretches of the seam with cover on both sides, joined where they touch."""
    sides = [_joined([edge for one in side for edge in level_edges(one, level)]) for side in (upper, lower)]
    return _joined(_overlap(*sides))


def _overlap(first: list[tuple[float, float]], second: list[tuple[float, float]]) -> list[tuple[float, float]]:
    return [(max(a, c), min(b, d)) for a, b in first for c, d in second if min(b, d) - max(a, c) > SAME_PLACE_MM]


def _joined(stretches: list[tuple[float, float]]) -> list[tuple[float, float]]:
    joined: list[tuple[float, float]] = []
    for lo, hi in sorted(stretches):
        if joined and lo <= joined[-1][1] + SAME_PLACE_MM:
            joined[-1] = (joined[-1][0], max(joined[-1][1], hi))
        else:
            joined.append((lo, hi))
    return joined
