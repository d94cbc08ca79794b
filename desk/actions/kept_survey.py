"""The surveyed floor a kept plan was made for, as it stands under `plan.kept`: written, and read back key by key."""
from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from capture.floor import Floor, Island
from capture.adjustment.survey import Advice, Reading, Survey
from layout.planfile.reader import Reader, damaged, number_in, shown

#: Points of a floor with a name; their covariance has the square of four times as many numbers.
MOST_POINTS = 1000
#: What is kept of a doubted reading and of what to measure next.
_READING = ("kind", "names", "photo", "value", "residual", "sd", "w", "redundancy", "suspect", "says", "where")
_ADVICE = ("a", "b", "gain_mm", "says")


def survey_tree(survey: Survey) -> dict[str, Any]:
    """A survey as it is kept: the floor with its covariance, and what it was to be doubted for."""
    floor = survey.floor
    told = {"names": list(floor.names), "points": floor.points_mm.tolist(), "cov": floor.cov_mm2.tolist(),
            "outline": list(floor.outline), "islands": [{"name": island.name, "corners": list(island.corners)}
                                                        for island in floor.islands], "gauge": floor.gauge}
    return {"floor": told, "warnings": list(survey.warnings),
            "suspects": [_told(reading, _READING) for reading in survey.suspects],
            "next": [_told(advice, _ADVICE) for advice in survey.advice[:1]]}


def _told(one: Reading | Advice, keys: Sequence[str]) -> dict[str, Any]:
    return {key: getattr(one, key) for key in keys}


def read_survey(kept: Reader, verdict: str) -> Survey:
    """The survey of a kept plan. Raises LayoutError (damaged-plan), naming the first key that is amiss."""
    return Survey(floor=_floor(kept.inner("floor")), suspects=kept.each("suspects", _reading),
                  advice=kept.each("next", _advice), verdict=verdict, warnings=kept.texts("warnings"))


def _reading(r: Reader) -> Reading:
    return Reading(kind=r.text("kind"), names=r.texts("names"), photo=r.text("photo"), value=r.number("value"),
                   residual=r.number("residual"), sd=r.number("sd"), w=r.number("w"), redundancy=r.number("redundancy"),
                   suspect=r.truth("suspect"), says=r.text("says"), where=r.text("where"))


def _advice(r: Reader) -> Advice:
    return Advice(a=r.text("a"), b=r.text("b"), gain_mm=r.number("gain_mm"), says=r.text("says"))


def _floor(r: Reader) -> Floor:
    names = r.texts("names")
    if not 3 <= len(names) <= MOST_POINTS or len(set(names)) < len(names):
        raise damaged(f"{r.where}.names", f"is {shown(names)}, not 3 to {MOST_POINTS} names, each once")
    points = r.ring("points")
    if len(points) != len(names):
        raise damaged(f"{r.where}.points", f"has {len(points)} places for {len(names)} names")
    outline = _corners(r, "outline", names)
    islands = r.each("islands", lambda one: Island(name=one.text("name"), corners=_corners(one, "corners", names)))
    return Floor(names=names, points_mm=np.array(points), cov_mm2=_covariance(r, 2 * len(names)), outline=outline,
                 islands=islands, gauge=r.text("gauge"))


def _corners(r: Reader, key: str, names: tuple[str, ...]) -> tuple[str, ...]:
    corners = r.texts(key)
    strange = next((name for name in corners if name not in names), None)
    if strange is not None:
        raise damaged(f"{r.where}.{key}", f"names {shown(strange)}, which is no point of the kept floor")
    if len(corners) < 3 or len(set(corners)) < len(corners):
        raise damaged(f"{r.where}.{key}", f"is {shown(corners)}, but it must be 3 corners or more, each once")
    return corners


def _covariance(r: Reader, size: int) -> np.ndarray:
    """A square table of numbers, the same on both sides of its diagonal, no spread below zero."""
    rows = [[number_in(*member) for member in Reader({"row": row}, where).items("row")]
            for row, where in r.items("cov")]
    if len(rows) != size or any(len(row) != size for row in rows):
        raise damaged(f"{r.where}.cov", f"is not a table of {size} rows of {size} numbers")
    cov = np.array(rows, dtype=np.float64)
    if not np.allclose(cov, cov.T, rtol=1e-6, atol=1e-6) or (np.diag(cov) < 0.0).any():
        raise damaged(f"{r.where}.cov", "is no covariance: its two halves differ, or a spread is below zero")
    return cov
