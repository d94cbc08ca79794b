"""A row's picture in words, for whoever hears it: read aloud by the phone, and the drawing's label.

Each step is one sentence; a distance says from which end or edge it counts.
"""
from __future__ import annotations

from capture.language.messages import gettext, listed, marked, worded
from printpack.strip.row_picture import RowPicture
from printpack.strip.step import Pencil, Step, Tape
from printpack.units import NO_BREAK, Units
from printpack.words.cut_phrases import kept_for

#: What is done, by the kind of step.
_DONE = {"length": marked("saw across {where}"), "fit": marked("as it is, {where}"),
         "width": marked("saw along {where}"), "widths": marked("saw along {where}"),
         "shape": marked("cut out {where}"), "holes": marked("drill {where}")}
#: A distance along the board: whether it counts from its left end, and whether it is told at your edge.
_ALONG = {(True, False): marked("{length} from the left end"),
          (True, True): marked("{length} from the left end at your edge"),
          (False, False): marked("{length} from the right end"),
          (False, True): marked("{length} from the right end at your edge")}
#: A distance across it: whether it counts from the wall edge, and the end it is told at.
_ACROSS = {(True, ""): marked("{length} from the wall edge"),
           (True, "left"): marked("{length} from the wall edge at the left"),
           (True, "right"): marked("{length} from the wall edge at the right"),
           (False, ""): marked("{length} from your edge"),
           (False, "left"): marked("{length} from your edge at the left"),
           (False, "right"): marked("{length} from your edge at the right")}


def picture_words(picture: RowPicture, units: Units) -> str:
    """All steps of a row."""
    said = " ".join(step_words(step, units) for step in picture.steps) or gettext("Nothing to saw.")
    gap = picture.start_gap_mm
    if not gap:
        return said
    spacers = gettext("Spacers at the start wall: {gap}.", gap=units.length(gap))
    return f"{spacers} {said}".replace(NO_BREAK, " ")


def step_words(step: Step, units: Units) -> str:
    """One saw step."""
    pencils = [_pencilled(pencil) for pencil in step.pencils if pencil.to]
    return " ".join((_sawn(step, units), *_taped(step, units), *pencils)).replace(NO_BREAK, " ")


def _pencilled(pencil: Pencil) -> str:
    if pencil.goes_to is None:
        return gettext("Pencil {piece} on the rest.", piece=pencil.to)
    return gettext("Pencil {piece} on the rest: {what}.", piece=pencil.to, what=kept_for(pencil.goes_to))


def _sawn(step: Step, units: Units) -> str:
    """What is done, to which wood and where."""
    first, last = step.pieces[0], step.pieces[-1]
    names = first if first == last else gettext("{first} to {last}", first=first, last=last)
    where = listed([_distance(tape, units) for tape in step.tapes]) if step.tapes else gettext("by the template")
    bores = (gettext("{size} across", size=units.length(bore.diameter)) for bore in step.bores)
    done = worded(_DONE[step.kind], where=", ".join((where, *bores)))
    if not step.first:
        return gettext("{pieces}: {done}.", pieces=names, done=done)
    if step.takes:
        return gettext("{pieces}: offcut, {done}.", pieces=names, done=done)
    return gettext("{pieces}: new board, {done}.", pieces=names, done=done)


def _taped(step: Step, units: Units) -> list[str]:
    """What the tape should come to, if it is taped in place first."""
    reach = next((tape.reach_mm for tape in step.tapes if tape.reach_mm), None)
    if reach:
        return [gettext("Measure first: {least} to {most}.", least=units.bare(reach[0]), most=units.length(reach[1]))]
    return [gettext("Measure first: {spread}.", spread=units.spread(step.pm_mm))] if step.pm_mm else []


def _distance(tape: Tape, units: Units) -> str:
    dx, dy = tape.end[0] - tape.start[0], tape.end[1] - tape.start[1]
    if abs(dx) >= abs(dy):
        return worded(_ALONG[dx > 0, tape.lane == "below"], length=units.length(tape.mm))
    end = tape.lane if tape.lane in ("left", "right") else ""
    return worded(_ACROSS[dy > 0, end], length=units.length(tape.mm))
