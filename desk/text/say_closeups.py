"""What close-ups tell, in sentences for people and as data for programs."""
from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from capture.closeup.pipe_sizes import PipeSize, SizeMatch, girth_mm
from capture.closeup.accuracy import shrunk
from capture.closeup.pipe_circle import Ring
from capture.tape import format_length
from desk.actions.closeups import Agreement, Measured
from desk.jobfile.job import Job
from desk.text.reports import paragraph, section

#: Distances from the reference at which the error is said, mm.
_SAID_AT_MM = (20.0, 60.0, 120.0, 200.0, 300.0)
#: How far off the floor a reference may have lain unnoticed, for a sentence, mm.
_OFF_MM = 5.0
CAUTION = ("Before anything is sawn or drilled beside a pipe or a door: pipes and cables may run hidden in the floor "
           "and the wall, and heating pipes "
           "are hot and under pressure. A template tells the shape, not what lies below. Never trim a fire door's "
           "frame.")


def say_closeups(measured: Sequence[Measured], job: Job) -> str:
    """Every close-up: its reference, how far it can be trusted, what was traced and whether that agrees with the
    tape."""
    if not measured:
        return ("The job has no close-ups. Lay an A4 sheet or a card flat beside the casing or pipe, take a photo from "
                "above, and list it under "
                '"closeups" in job.json.\n')
    lines: list[str] = []
    for one in measured:
        lines += _one(one, job)
    lines += section("Take care", (CAUTION,))
    return "\n".join(lines).lstrip("\n") + "\n"


def _one(one: Measured, job: Job) -> list[str]:
    title = one.entry.file + (f", of {one.entry.of}" if one.entry.of else "")
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
    by = "marked by you" if one.entry.corners_px else "found by the tool"
    size = " x ".join(f"{side:g}" for side in thing.sides_mm)
    alike = (
        f" {thing.alike[0].upper()}{thing.alike[1:]} has the same shape: make sure it is none."
        if thing.alike and not one.question
        else ""
    )
    at = [(mm, pm) for mm, pm in one.promise.errors if mm in _SAID_AT_MM]
    errors = ", ".join(f"± {pm:.1f} mm at {mm:.0f} mm" for mm, pm in at)
    trust = "Even beside it the error is too large to promise anything."
    if errors:
        trust = (f"Counted from its rim, 19 times in 20 the error is within {errors}. Nothing is promised beyond "
                 f"{one.promise.reach_mm:.0f} mm. This "
                 f"holds if the {thing.says} lay on the floor itself, which one photo cannot tell: {_OFF_MM:g} mm off "
                 "it, on a rug, everything "
                 f"comes out {100 * shrunk(one.found.view, _OFF_MM):.1f} % too small.")
    return [f"The scale comes from the {thing.says} ({size} mm) at {x:.0f}, {y:.0f} px, {by}.{alike}", trust]


def _outline_words(one: Measured, job: Job) -> list[str]:
    if one.outline is None:
        return []
    snapped, runs = sum(run.snapped for run in one.outline.runs), len(one.outline.runs)
    pm = one.outline.pm95_mm()
    said = [(f"The outline has {len(one.outline.corners_mm)} corners; {snapped} of its {runs} runs lie on edges seen "
             "in the photo")
            + (", the others on your clicks." if snapped < runs else ".") + (" Its corners are sure to ± "
                                                                             f"{max(pm):.1f} mm at worst.")]
    if one.leg_mm is not None:
        wide, deep = (format_length(float(v), show=job.show) for v in (one.leg_mm[:, 0].max(), one.leg_mm[:, 1].max()))
        said.append(f"The {one.entry.leg} leg of {one.entry.of} is {wide} wide and stands {deep} off the wall line"
                    + ("; the other leg is taken as its mirror image." if one.entry.mirror else "."))
    return said


def ring_words(ring: Ring, size: SizeMatch, name: str, job: Job) -> list[str]:
    """A pipe's diameter and the standard size it is, or the question which it is."""
    measured = f"{name or 'The pipe'} is {ring.diameter_mm:.1f} ± {1.96 * ring.diameter_sd_mm:.1f} mm across"
    if not size.fits:
        return [
            f"{measured}: that is no standard size within its error (nearest: {size.best.name}, "
            f"{size.best.diameter_mm:g} mm), so check it with "
            f"a strip of paper: its girth over 3.14 is the diameter."
        ]
    first, odds = size.odds[0]
    if size.sure:
        return [(f"{measured}: {first.name}, {first.diameter_mm:g} mm outside, at {100 * min(odds, 0.99):.0f} %. Is it "
                 f"{first.diameter_mm:g} mm?")]
    others = " or ".join(f"{_short(one)} ({100 * share:.0f} %)" for one, share in size.odds[:3])
    second = size.odds[1][0] if len(size.odds) > 1 else first
    return [
        f"{measured}: it may be {others}. Wrap a strip of paper round it: {girth_mm(first):.1f} mm for "
        f"{first.diameter_mm:g}, "
        f"{girth_mm(second):.1f} mm for {second.diameter_mm:g}."
    ]


def collar_question(one: Measured) -> str:
    """Whether what was clicked round a pipe is its collar; "" if nobody need be asked."""
    if one.ring is None or one.collar_of is None:
        return ""
    return (f"You tapped a ring {one.ring.diameter_mm:.0f} mm across, where {one.entry.of} is {one.collar_of:g} mm: is "
            "this the collar round the pipe?")


def _collar_words(one: Measured) -> list[str]:
    if one.ring is None:
        return []
    return [f"The collar of {one.entry.of} is {one.ring.diameter_mm:.0f} ± {1.96 * one.ring.diameter_sd_mm:.1f} mm "
            "across. The pipe is taken to stand in its middle; its own diameter stays as it was typed."]


def _short(size: PipeSize) -> str:
    return f"{size.diameter_mm:g} mm, {size.name}" if f"{size.diameter_mm:g} mm" not in size.name else size.name


def agreement_words(agreement: Agreement) -> str:
    """Whether the photo and the tape say the same."""
    what = agreement.what[0].upper() + agreement.what[1:]
    numbers = (f"{agreement.photo_mm:.1f} ± {agreement.pm95_mm:.1f} mm by the photo, {agreement.other_mm:g} mm by "
               f"{agreement.other}")
    return f"{what}: {numbers}; they agree." if agreement.agree else \
        (f"{what}: {numbers}. They do not agree: measure it again, and make sure the sheet or card is what it was "
         "taken for and lies flat "
         "on the floor.")


def closeups_answer(measured: Sequence[Measured]) -> dict[str, Any]:
    """What `closeups --json` says. Lengths mm; a casing's leg in its wall's frame: away from the opening, into the
    room."""
    return {"format": "tapegroove-closeups", "version": 1, "caution": CAUTION,
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
