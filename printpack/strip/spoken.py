"""A row's picture in words, for whoever hears it: read aloud by the phone, and the drawing's label.

Each step is one sentence; a distance says from which end or edge it counts.
"""
from __future__ import annotations

from printpack.strip.row_picture import RowPicture
from printpack.strip.step import Bore, Step, Tape
from printpack.units import NO_BREAK, Units
from printpack.words.cut_phrases import listed

_DONE = {"length": "saw across", "fit": "as it is,", "width": "saw along", "widths": "saw along",
         "shape": "cut out", "holes": "drill"}


def picture_words(picture: RowPicture, units: Units) -> str:
    """All steps of a row."""
    said = " ".join(step_words(step, units) for step in picture.steps) or "Nothing to saw."
    gap = picture.start_gap_mm
    return f"Spacers at the start wall: {units.length(gap)}. {said}".replace(NO_BREAK, " ") if gap else said


def step_words(step: Step, units: Units) -> str:
    """One saw step."""
    names = step.pieces[0] if len(step.pieces) == 1 else f"{step.pieces[0]} to {step.pieces[-1]}"
    taken = ("offcut, " if step.takes else "new board, ") if step.first else ""
    where = listed([_distance(tape, units) for tape in step.tapes]) if step.tapes else "by the template"
    bores = "".join(f", {_bore(bore, units)}" for bore in step.bores)
    reach = next((tape.reach_mm for tape in step.tapes if tape.reach_mm), None)
    taped = f" Measure first: {units.bare(reach[0])} to {units.length(reach[1])}." if reach else \
        f" Measure first: {units.spread(step.pm_mm)}." if step.pm_mm else ""
    pencils = "".join(f" Pencil {pencil.to} on the rest." for pencil in step.pencils if pencil.to)
    return f"{names}: {taken}{_DONE[step.kind]} {where}{bores}.{taped}{pencils}".replace(NO_BREAK, " ")


def _distance(tape: Tape, units: Units) -> str:
    dx, dy = tape.end[0] - tape.start[0], tape.end[1] - tape.start[1]
    if abs(dx) >= abs(dy):
        at = " at your edge" if tape.lane == "below" else ""
        return f"{units.length(tape.mm)} from the {'left' if dx > 0 else 'right'} end{at}"
    at = {"left": " at the left", "right": " at the right"}.get(tape.lane, "")
    return f"{units.length(tape.mm)} from {'the wall edge' if dy > 0 else 'your edge'}{at}"


def _bore(bore: Bore, units: Units) -> str:
    return f"{units.length(bore.diameter)} across"
