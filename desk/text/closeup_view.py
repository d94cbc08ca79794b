"""One close-up as the page shows it: sentences, the reference in the picture, and a drawing in mm with what was
traced."""
from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from capture.image.edge_profiles import Array
from capture.language.messages import worded
from desk.actions.closeups import Founds, Measured, keep_in, measure_closeup
from desk.jobfile.job import Job
from desk.text.say_closeups import CAUTION, closeup_words, collar_question

#: Places an outline's shape, or a pipe's ring, is drawn through in the picture.
_ROUND = 48


def show_closeup(one: Measured, job: Job) -> dict[str, Any]:
    """For the page. `reference`: corners in px of the picture; `drawing`: mm on the floor, y up; `seen`: the same in
    px of the picture."""
    told: dict[str, Any] = {"file": one.entry.file, "fault": one.fault, "question": one.question,
                            "collar": collar_question(one),
                            "says": closeup_words(one, job), "caution": worded(CAUTION), "reference": None,
                            "drawing": None, "seen": [], "ready": _is_ready(one)}
    if one.found is None:
        return told
    view = one.found.view
    told["reference"] = {"name": view.reference.name, "says": str(view.reference.says),
                         "corners": _rounded(one.found.corners_px, 1), "marked": bool(one.entry.corners_px)}
    told["reach"] = 0.0 if one.promise is None else round(one.promise.reach_mm)
    lines = _lines(one)
    if lines:
        told["drawing"] = {"lines": [_rounded(line, 2) for line in lines], "pm": _worst_pm(one),
                           "reference": _rounded(_rectangle(one), 2)}
        told["seen"] = [_rounded(view.to_px(line, one.entry.height_mm), 1) for line in lines]
    return told


def tell_closeup(folder: Path, job: Job, number: int, *, keep: bool, before: Founds) -> dict[str, Any]:
    """What the close-up of that number, from 0, tells; with `keep` also the parts of the job as they are with it
    kept."""
    one = measure_closeup(folder, job, job.closeups[number], before=before)
    return {"shown": show_closeup(one, job), "kept": kept_parts(one, job) if keep else None}


def kept_parts(one: Measured, job: Job) -> dict[str, Any]:
    """Those parts of the job's tree that what was measured may change, as they are with it kept."""
    tree = keep_in(job, [one])
    return {key: tree[key] for key in ("doors", "pipes", "tape") if key in tree}


def _is_ready(one: Measured) -> bool:
    """Whether keeping it in the job would keep anything, with nothing left to be answered first."""
    if one.collar_of is not None:
        return False
    return one.leg_mm is not None or (one.ring is not None
                                      and bool(one.offsets or (one.size is not None and one.size.sure)))


def _lines(one: Measured) -> list[Array]:
    """What was traced as chains of places on the floor, mm."""
    lines = []
    if one.outline is not None:
        line = one.outline.line_mm
        lines.append(np.concatenate([line, line[:1]]) if one.outline.closed else line)
    if one.ring is not None:
        turn = np.linspace(0.0, 2 * np.pi, _ROUND + 1)
        lines.append(one.ring.centre_mm + one.ring.diameter_mm / 2 * np.column_stack([np.cos(turn), np.sin(turn)]))
    return lines


def _worst_pm(one: Measured) -> float:
    """Half a 95 % interval of what was traced, mm, in its worst place."""
    spreads = [*(one.outline.pm95_mm() if one.outline is not None else ()),
               *(1.96 * np.sqrt(np.diag(one.ring.cov)[:2]) if one.ring is not None else ())]
    return round(float(max(spreads)), 1)


def _rectangle(one: Measured) -> Array:
    assert one.found is not None, "a drawing has a reference"
    w, h = one.found.view.sides_mm / 2
    return np.array([[-w, -h], [w, -h], [w, h], [-w, h]])


def _rounded(places: Array, digits: int) -> list[list[float]]:
    return [[round(float(x), digits), round(float(y), digits)] for x, y in places]
