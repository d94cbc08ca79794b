"""Survey and plan in the words and units of the person at the page; the page itself does no arithmetic on lengths."""
from __future__ import annotations

import math
from typing import Any

import numpy as np

from capture.camera import project
from capture.floor import Floor, without_drift
from capture.language.messages import figure, gettext, led, marked, worded
from capture.adjustment.residuals import HIDDEN_SLIP_MM, smallest_slip
from capture.adjustment.survey import PhotoFit, Reading, Survey
from desk.actions.kept_plan import KeptPlan
from desk.convert import past_end
from desk.jobfile.job import Job
from desk.text.avoided import show_avoided
from desk.text.precision import area_words, length_and_spread
from layout.plan import Choice, Piece, Plan
from layout.region.baseline import row_at_wall
from layout.words.plan import choice_words, plan_words
from printpack.units import Units, how_many
from printpack.words.cut_phrases import take_words

#: Half axis of a 95 % ellipse in standard deviations: the root of chi-square's 0.95 quantile with 2 degrees of freedom,
#: 5.991 (any table).
_ELLIPSE_95 = 2.4477
#: Walls offered to a door that does not fit its own.
_WALLS_OFFERED = 3
_LAY = {"left-to-right": marked("left to right"), "right-to-left": marked("right to left")}
#: Less than this cannot be read off a tape, mm.
_AGREES_MM = 0.5


def show_survey(survey: Survey, show: str) -> dict[str, Any]:
    """Wall lengths and area with their plus-minus, in the order of the floor's walls; taped readings by their place
    in the job."""
    units = Units(show)
    area_mm2, pm_mm2 = survey.floor.area()
    walls = [length_and_spread(wall.length_mm, wall.pm95_mm, units) for wall in survey.floor.walls()]
    return {"walls": [{"length": length, "pm": spread} for length, spread in walls],
            "area": area_words(area_mm2, pm_mm2, units),
            "unit": gettext("feet and inches") if show == "imperial" else "mm", "ovals": _ovals(survey.floor, units),
            "expected": {photo.photo: _expected(survey, photo) for photo in survey.photos},
            "tape": {r.where: _tape_note(r, units) for r in survey.readings if r.kind in ("tape", "offset")
                     and r.where},}


def show_misfits(floor: Floor, job: Job) -> list[dict[str, Any]]:
    """Doors longer than what is left of their walls: name, sentence, and walls by their two corners that the door fits
    where it begins, told from the first; a few, the longest first."""
    known = set(floor.names)
    misfits = [(door, problem) for door in job.doors if set(door.wall) <= known for problem in past_end(floor, door)]
    walls = sorted(floor.walls(), key=lambda wall: -wall.length_mm)
    fitting = [[[wall.a, wall.b] for wall in walls if wall.length_mm >= door.from_mm + door.width_mm]
               for door, _ in misfits]
    return [{"name": door.name, "says": problem.says, "walls": fits[:_WALLS_OFFERED]}
            for (door, problem), fits in zip(misfits, fitting)]


def show_followed(floor: Floor, show: str) -> dict[str, Any]:
    """A floor that is being changed by hand: places in mm by name, and its walls' lengths."""
    units = Units(show)
    return {"points": {name: [round(x, 1), round(y, 1)] for name, (x, y) in zip(floor.names, floor.points_mm.tolist())},
            "walls": [{"length": units.bare(wall.length_mm), "pm": ""} for wall in floor.walls()]}


def _ovals(floor: Floor, units: Units) -> dict[str, dict[str, Any]]:
    """Where each point may be, as a 95 % ellipse: half axes in mm, turn of the long one in degrees from x; {} for an
    exact floor.

    Told for the room as a whole, not with one corner held, so that no corner looks surer than it is because it is the
    origin.
    """
    if not floor.cov_mm2.any():
        return {}
    half = without_drift(floor.points_mm, floor.cov_mm2)
    cov = without_drift(floor.points_mm, half.T)
    found = {}
    for i, name in enumerate(floor.names):
        values, axes = np.linalg.eigh(cov[2 * i:2 * i + 2, 2 * i:2 * i + 2])
        short, long = (_ELLIPSE_95 * float(np.sqrt(max(value, 0.0))) for value in values)
        found[name] = {"long": round(long, 2), "short": round(short, 2),
                       "turn": round(math.degrees(math.atan2(axes[1, 1], axes[0, 1])), 1), "pm": units.spread(long)}
    return found


def _expected(survey: Survey, photo: PhotoFit) -> dict[str, list[float]]:
    """Where the floor's points should appear in a photo, px; those outside its frame or behind its camera are left
    out."""
    floor, count = survey.floor, len(survey.floor.names)
    places = project(floor.points_mm, np.broadcast_to(photo.rotation, (count, 3, 3)),
                     np.broadcast_to(photo.shift_mm, (count, 3)), np.full(count, photo.focal_px),
                     np.broadcast_to([photo.k1, photo.k2], (count, 2)), np.array(photo.centre_px))
    inside = np.all((places >= 0.0) & (places <= np.array(photo.size_px) - 1.0), axis=1)
    return {name: [round(float(x), 1), round(float(y), 1)] for name, (x, y),
            seen in zip(floor.names, places, inside) if seen}


def _tape_note(reading: Reading, units: Units) -> str:
    """How a taped length stands with all the other readings together."""
    if smallest_slip(reading) > HIDDEN_SLIP_MM:
        return gettext("no other reading checks this one")
    if abs(reading.residual) < _AGREES_MM:
        return gettext("agrees with the rest")
    off = units.fine(abs(reading.residual))
    return (gettext("{length} longer than the rest says", length=off) if reading.residual > 0
            else gettext("{length} shorter than the rest says", length=off))


def show_plan(plan: Plan, floor: Floor, show: str) -> dict[str, Any]:
    """The plan's figures, its rows, every piece by name, size and row; `way`: the wishes that keep its rows
    running as they do; `first`: the row at the start wall; `wall`: the ends of that wall, None if it has no name;
    `avoided`: see `show_avoided`."""
    units, way, said = Units(show), _wishes(plan.choices[0], floor), plan_words(plan, show)
    first = _first_row(plan, floor)
    return {"figures": _figures(plan, first["width"], units), "first": first,
            "pieces": {piece.id: _piece_words(piece, plan, units) for piece in plan.pieces},
            "because": list(said.reasons), "gave": list(said.gave_way), "notes": list(said.warnings),
            "cautions": list(said.cautions),
            "shopping": [led(how_many(line.quantity, line.unit), line.what) if line.quantity else line.what
                         for line in said.shopping], "why": [line.why for line in said.shopping], "way": way,
            "wall": [floor.at(name).tolist() for name in way["start"]] if way["start"] != "auto" else None,
            "avoided": show_avoided(plan, floor, show)}


def show_kept(kept: KeptPlan | None, *, begun: bool) -> dict[str, Any] | None:
    """The plan a job keeps: the day it was kept, what there is to say of it, whether it is being laid; None for a
    job without one."""
    return None if kept is None else {"day": kept.day, "current": kept.is_current, "says": kept.says, "begun": begun}


def _first_row(plan: Plan, floor: Floor) -> dict[str, float]:
    """The row at the start wall, which the grip moves: its far side (row frame) and its width, mm."""
    row, width = row_at_wall(plan, floor)
    return {"far": row.far_mm, "width": width}


def _figures(plan: Plan, first_mm: float, units: Units) -> list[dict[str, str]]:
    last = plan.rows[-1]
    least, in_a_pack = _proofs(plan)
    return [{"name": gettext("Boards"), "value": str(plan.boards), "note": least},
            {"name": gettext("Packs"), "value": str(plan.packs_to_buy), "note": in_a_pack},
            {"name": gettext("Waste"), "value": f"{figure(plan.waste_percent, '.1f')} %",
             "note": gettext("of the wood of those boards")},
            {"name": gettext("Rows"), "value": str(len(plan.rows)), "note": worded(_LAY[plan.lay]) if plan.lay else ""},
            {"name": gettext("First row"), "value": units.length(first_mm), "note": gettext("wide, at the start wall")},
            {"name": gettext("Last row"), "value": units.length(last.far_mm - last.near_mm),
             "note": gettext("wide, with its gap already taken off")}]


def _proofs(plan: Plan) -> tuple[str, str]:
    """What there is to say of the number of boards, and of packs."""
    fewest = gettext("the fewest there can be")
    if plan.board.mix:
        return gettext("how many of each length: see what to buy"), fewest if plan.proven else gettext(
            "the wood of {packs} would be long enough", packs=plan.least_packs)
    least = fewest if plan.boards == plan.bound else gettext("no plan of these rows needs fewer than {count}",
                                                             count=plan.bound)
    return least, gettext("{count} boards in a pack", count=plan.board.pack)


def show_ways(plan: Plan, floor: Floor, show: str) -> list[dict[str, Any]]:
    """The ways that were weighed for a plan, best first: figures, and the wishes that ask for just this way.

    rows: ends of the lines between its rows across the whole floor, mm, for a sketch.
    """
    ways = [_way(choice, plan, floor, Units(show)) for choice in plan.choices]
    if ways:
        ways[0]["first"] = Units(show).length(row_at_wall(plan, floor)[1])
    return ways


def _wishes(choice: Choice, floor: Floor) -> dict[str, Any]:
    """What to write into a job's flooring to get this way again: its walls; where the floor has none such, its
    angle."""
    walls = {(wall.a, wall.b) for wall in floor.walls()}
    if choice.along in walls and choice.start in walls:
        return {"direction": list(choice.along), "start": list(choice.start)}
    return {"direction": choice.u_deg, "start": "auto"}


def _way(choice: Choice, plan: Plan, floor: Floor, units: Units) -> dict[str, Any]:
    u = np.array([math.cos(math.radians(choice.u_deg)), math.sin(math.radians(choice.u_deg))])
    v = np.array([u[1], -u[0]])
    along, across = floor.ring() @ u, floor.ring() @ v
    first = float(across.min()) + plan.gap_mm + choice.first_row_mm
    seams = np.arange(first, float(across.max()) - plan.gap_mm, plan.board.width_mm)
    ends = [[(u * s + v * t).round(1).tolist() for s in (along.min(), along.max())] for t in seams]
    return {"says": choice_words(choice), "u": u.round(6).tolist(), "v": v.round(6).tolist(), "rows": ends,
            "wishes": _wishes(choice, floor), "boards": choice.boards, "packs": -(-choice.boards // plan.board.pack)
            if choice.packs is None else choice.packs, "cuts": choice.cuts,
            "narrowest": units.length(choice.narrowest_mm),
            "first": units.length(min(choice.first_row_mm, plan.board.width_mm)),
            "last": units.length(choice.last_row_mm)}


def _piece_words(piece: Piece, plan: Plan, units: Units) -> dict[str, Any]:
    size = gettext("{length} long, {width} wide", length=units.length(piece.to_mm - piece.from_mm),
                   width=units.length(piece.far_mm - piece.near_mm))
    number = "" if piece.takes or plan.board.mix else f" {piece.board}"
    wood = f"{take_words(piece, plan, units)}{number}"
    return {"title": gettext("Piece {piece}, from {wood}", piece=piece.id, wood=wood), "size": size,
            "row": next(row.number for row in plan.rows if piece in row.pieces)}
