"""What close-ups tell, in sentences for people and as data for programs."""
from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from capture.closeup.pipe_sizes import PipeSize, SizeMatch, girth_mm
from capture.closeup.accuracy import shrunk
from capture.closeup.pipe_circle import Ring
from capture.language.messages import figure, gettext, marked, worded
from capture.tape import format_length
from desk.actions.closeups import Agreement, Measured
from desk.jobfile.job import Job
from desk.text.reports import paragraph, section

#: Distances from the reference at which the error is said, mm.
_SAID_AT_MM = (20.0, 60.0, 120.0, 200.0, 300.0)
#: How far off the floor a reference may have lain unnoticed, for a sentence, mm.
_OFF_MM = 5.0
CAUTION = marked(
    "Before anything is sawn or drilled beside a pipe or a door: pipes and cables may run hidden in the floor and the "
    "wall, and heating pipes are hot and under pressure. A template tells the shape, not what lies below. Never trim a "
    "fire door's frame.")


def say_closeups(measured: Sequence[Measured], job: Job) -> str:
    """Every close-up: its reference, how far it can be trusted, what was traced and whether that agrees with the
    tape."""
    if not measured:
        return gettext(
            "The job has no close-ups. Lay an A4 sheet or a card flat beside the casing or pipe, take a photo from "
            'above, and list it under "closeups" in job.json.\n')
    lines: list[str] = []
    for one in measured:
        lines += _one(one, job)
    lines += section(gettext("Take care"), (worded(CAUTION),))
    return "\n".join(lines).lstrip("\n") + "\n"


def _one(one: Measured, job: Job) -> list[str]:
    title = gettext("{file}, of {thing}", file=one.entry.file, thing=one.entry.of) if one.entry.of else one.entry.file
    return ["", title, *(line for sentence in closeup_words(one, job) for line in paragraph(sentence, "  - "))]


def closeup_words(one: Measured, job: Job) -> list[str]:
    """What one close-up tells, a sentence or two each."""
    if one.fault:
        return [one.fault]
    return [*((one.question,) if one.question else ()), *_reference_words(one), *_outline_words(one, job),
            *((collar_question(one),) if one.collar_of else ()),
            *(ring_words(one.ring, one.size, one.entry.of, job) if one.ring and one.size else ()),
            *(_collar_words(one) if one.is_collar else ()),
            *(agreement_words(agreement) for agreement in one.agreements), *one.asks]


def _reference_words(one: Measured) -> list[str]:
    """What the scale rests on, and the error at each distance."""
    if one.found is None or one.promise is None:
        return []
    thing = one.found.view.reference
    x, y = one.found.corners_px.mean(axis=0)
    size = " x ".join(figure(side, "g") for side in thing.sides_mm)
    at = [(mm, pm) for mm, pm in one.promise.errors if mm in _SAID_AT_MM]
    errors = ", ".join(gettext("± {spread:.1f} mm at {distance:.0f} mm", spread=pm, distance=mm) for mm, pm in at)
    trust = gettext("Even beside it the error is too large to promise anything.")
    if errors:
        trust = gettext(
            "Counted from its rim, 19 times in 20 the error is within {errors}. Nothing is promised beyond "
            "{reach:.0f} mm. This holds if the {reference} lay on the floor itself, which one photo cannot tell: "
            "{off:g} mm off it, on a rug, everything comes out {percent:.1f} % too small.", errors=errors,
            reach=one.promise.reach_mm, reference=thing.says, off=_OFF_MM,
            percent=100 * shrunk(one.found.view, _OFF_MM))
    seen = {"reference": thing.says, "size": size, "x": float(x), "y": float(y)}
    scale = (gettext("The scale comes from the {reference} ({size} mm) at {x:.0f}, {y:.0f} px, marked by you.", **seen)
             if one.entry.corners_px else
             gettext("The scale comes from the {reference} ({size} mm) at {x:.0f}, {y:.0f} px, found by the tool.",
                     **seen))
    if thing.alike and not one.question:
        alike = str(thing.alike)
        doubt = gettext("{things} has the same shape: make sure it is none.", things=alike[0].upper() + alike[1:])
        scale = f"{scale} {doubt}"
    return [scale, trust]


def _outline_words(one: Measured, job: Job) -> list[str]:
    if one.outline is None:
        return []
    snapped, runs = sum(run.snapped for run in one.outline.runs), len(one.outline.runs)
    pm = one.outline.pm95_mm()
    counts = {"corners": len(one.outline.corners_mm), "snapped": snapped, "runs": runs, "spread": float(max(pm))}
    said = [gettext("The outline has {corners} corners; {snapped} of its {runs} runs lie on edges seen in the photo, "
                    "the others on your clicks. Its corners are sure to ± {spread:.1f} mm at worst.", **counts)
            if snapped < runs else
            gettext("The outline has {corners} corners; {snapped} of its {runs} runs lie on edges seen in the photo. "
                    "Its corners are sure to ± {spread:.1f} mm at worst.", **counts)]
    if one.leg_mm is not None:
        wide, deep = (format_length(float(v), show=job.show) for v in (one.leg_mm[:, 0].max(), one.leg_mm[:, 1].max()))
        said.append(_leg_words(one, wide, deep))
    return said


def _leg_words(one: Measured, wide: str, deep: str) -> str:
    leg = gettext("left") if one.entry.leg == "left" else gettext("right")
    if one.entry.mirror:
        return gettext("The {leg} leg of {door} is {wide} wide and stands {deep} off the wall line; the other leg is "
                       "taken as its mirror image.", leg=leg, door=one.entry.of, wide=wide, deep=deep)
    return gettext("The {leg} leg of {door} is {wide} wide and stands {deep} off the wall line.", leg=leg,
                   door=one.entry.of, wide=wide, deep=deep)


def ring_words(ring: Ring, size: SizeMatch, name: str, job: Job) -> list[str]:
    """A pipe's diameter and the standard size it is, or the question which it is."""
    measured = gettext("{pipe} is {diameter:.1f} ± {spread:.1f} mm across", pipe=name or gettext("The pipe"),
                       diameter=float(ring.diameter_mm), spread=float(1.96 * ring.diameter_sd_mm))
    if not size.fits:
        return [gettext(
            "{measured}: that is no standard size within its error (nearest: {name}, {diameter:g} mm), so check it "
            "with a strip of paper: its girth over 3.14 is the diameter.", measured=measured, name=size.best.name,
            diameter=size.best.diameter_mm)]
    first, odds = size.odds[0]
    if size.sure:
        return [gettext(
            "{measured}: {name}, {diameter:g} mm outside, at {odds:.0f} %. Is it {diameter:g} mm?",
            measured=measured, name=first.name, diameter=first.diameter_mm, odds=100 * min(odds, 0.99))]
    others = gettext(" or ").join(f"{_short(one)} ({100 * share:.0f} %)" for one, share in size.odds[:3])
    second = size.odds[1][0] if len(size.odds) > 1 else first
    return [gettext(
        "{measured}: it may be {others}. Wrap a strip of paper round it: {girth:.1f} mm for {first:g}, "
        "{other_girth:.1f} mm for {second:g}.", measured=measured, others=others, girth=girth_mm(first),
        first=first.diameter_mm, other_girth=girth_mm(second), second=second.diameter_mm)]


def collar_question(one: Measured) -> str:
    """Whether what was clicked round a pipe is its collar; "" if nobody need be asked."""
    if one.ring is None or one.collar_of is None:
        return ""
    return gettext(
        "You tapped a ring {diameter:.0f} mm across, where {pipe} is {size:g} mm: is this the collar round the "
        "pipe?", diameter=one.ring.diameter_mm, pipe=one.entry.of, size=one.collar_of)


def _collar_words(one: Measured) -> list[str]:
    if one.ring is None:
        return []
    return [gettext(
        "The collar of {pipe} is {diameter:.0f} ± {spread:.1f} mm across. The pipe is taken to stand in its "
        "middle; its own diameter stays as it was typed.", pipe=one.entry.of, diameter=one.ring.diameter_mm,
        spread=1.96 * one.ring.diameter_sd_mm)]


def _short(size: PipeSize) -> str:
    if f"{size.diameter_mm:g} mm" in size.name:
        return size.name
    return f"{figure(size.diameter_mm, 'g')} mm, {size.name}"


def agreement_words(agreement: Agreement) -> str:
    """Whether the photo and the tape say the same."""
    what = agreement.what[0].upper() + agreement.what[1:]
    numbers = gettext(
        "{photo:.1f} ± {pm95:.1f} mm by the photo, {other:g} mm by {by}", photo=agreement.photo_mm,
        pm95=agreement.pm95_mm, other=agreement.other_mm, by=agreement.other)
    if agreement.agree:
        return gettext("{what}: {numbers}; they agree.", what=what, numbers=numbers)
    return gettext(
        "{what}: {numbers}. They do not agree: measure it again, and make sure the sheet or card is what it was "
        "taken for and lies flat on the floor.", what=what, numbers=numbers)


def closeups_answer(measured: Sequence[Measured]) -> dict[str, Any]:
    """What `closeups --json` says. Lengths mm; a casing's leg in its wall's frame: away from the opening, into the
    room."""
    return {"format": "tapegroove-closeups", "version": 1, "caution": worded(CAUTION),
            "closeups": [_entry(one) for one in measured]}


def _entry(one: Measured) -> dict[str, Any]:
    base: dict[str, Any] = {"file": one.entry.file, "of": one.entry.of, "where": one.entry.where, "fault": one.fault,
                            "question": one.question or collar_question(one), "asks": list(one.asks)}
    if one.found is not None and one.promise is not None:
        view = one.found.view
        base |= {"reference": {"name": view.reference.name, "says": str(view.reference.says),
                               "corners_px": one.found.corners_px.tolist(), "marked": bool(one.entry.corners_px),
                               "tilt_deg": view.tilt_rad * 57.29577951308232, "misfit": view.misfit},
                 "errors": [{"at": mm, "pm95": pm} for mm, pm in one.promise.errors], "reach": one.promise.reach_mm}
    if one.outline is not None:
        base["outline"] = {"corners": one.outline.corners_mm.tolist(), "pm95": one.outline.pm95_mm().tolist(),
                           "line": one.outline.line_mm.tolist(), "leg": None if one.leg_mm is None
                           else one.leg_mm.tolist(), "snapped": [run.snapped for run in one.outline.runs]}
    if one.ring is not None and one.size is not None:
        odds = [{"name": size.name, "diameter": size.diameter_mm, "odds": share} for size, share in one.size.odds]
        base["pipe"] = {"diameter": one.ring.diameter_mm, "pm95": 1.96 * one.ring.diameter_sd_mm,
                        "centre": one.ring.centre_mm.tolist(), "sure": one.size.sure, "odds": odds,
                        "offsets": [{"wall": list(wall), "mm": mm, "pm95": 1.96 * sd} for wall, mm, sd in one.offsets]}
    return base | {"agreements": [{"what": a.what, "photo": a.photo_mm, "pm95": a.pm95_mm, "other": a.other_mm,
                                   "by": a.other, "agree": a.agree, "says": agreement_words(a)}
                                  for a in one.agreements]}
