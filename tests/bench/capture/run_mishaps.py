"""Drawn surveys with one mishap each: is it named, is it named first, and what does the answer cost?

``python -m tests.bench.capture.run_mishaps [cases of each kind, 20] [first seed, 70000] [kind ...]``. A survey (two to
four photos, walls taped, one to three lengths across, a wall's line clicked where it shows) is drawn and one thing is
spoilt; ``sound`` spoils nothing. Named first: the first thing that the answer offers to change, changed, is the survey
as it was drawn; a wall order counts either way round. Which cases can be decided at all is said by an adjustment of its
own (`tests.support.independent_adjustment`: SciPy's trust region on a pinhole model written anew): the survey as told
must fail chi-square at 0.001 (or its walls cross, a corner be seen through one, or two of its corners be one), as it
was drawn it must pass, and with any other single reading left out it must be at least 6.63 worse (chi-square, 0.99, one
degree: Baarda's separability of two alternatives, as in Teunissen, Testing Theory, 2006, ch. 4, from memory). A photo
of another room with four marks or fewer cannot be decided: three of them fit some camera exactly (resection of three
points, Grunert 1841), so a slip in the fourth explains as much. Corners listed clockwise need no mend: right is the
floor as it was drawn. A corner never seen is told by the question about the wall that goes past it.
"""
from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from capture.adjustment.survey import Survey
from capture.errors import CaptureError
from capture.network import Network
from capture.readings.coverage import unseen_walls
from capture.solve import solve_floor
from tests.bench.capture.draw_mishaps import KINDS, Mishap, draw
from tests.support import simulate
from tests.support.independent_adjustment import Adjusted, adjust

#: Quantiles of chi-square: 0.001 two-sided snooping, and the least lead over another explanation.
_LEAD = 6.63
#: Two letters can be told to be one corner where each is placed against the other to this, one standard deviation, mm.
_SURELY_APART_MM = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """What became of one survey."""

    kind: str
    seed: int
    decidable: bool
    first: bool
    alarm: bool
    said: str
    seconds: float


def is_decidable(mishap: Mishap) -> bool:
    """Whether an adjustment that knows where the truth is can tell this mishap from a sound survey and from any one
    other reading gone wrong."""
    drawn = adjust(mishap.drawn, mishap.case)
    if not drawn.passes():
        return False
    if mishap.kind in ("clockwise", "never seen"):
        return True
    if mishap.kind == "elsewhere" and sum(m.photo in mishap.spoilt for m in mishap.told.marks) <= 4:
        return False
    if mishap.kind == "order":
        return not _is_simple(mishap.case, mishap.told.outline) or _is_seen_through(mishap)
    if mishap.kind == "two letters":
        return adjust(mishap.told, mishap.case).apart_sd_mm < _SURELY_APART_MM
    told = adjust(mishap.told, mishap.case)
    return not told.passes() and all(rival.cost > drawn.cost + _LEAD for rival in _rivals(mishap))


def _rivals(mishap: Mishap) -> Iterator[Adjusted]:
    """The survey as told with one reading left out that is not spoilt: those that share a corner or a photo with what
    is, for no other can take its place; ten at most, at random."""
    told, spoilt = mishap.told, set(mishap.spoilt)
    touched = {name for t in told.tapes if t.where in spoilt for name in (t.a, t.b)}
    touched |= {m.point for m in told.marks if m.where in spoilt}
    photos = {m.photo for m in told.marks if m.where in spoilt} | spoilt
    rest = [replace(told, tapes=told.tapes[:k] + told.tapes[k + 1:]) for k, t in enumerate(told.tapes)
            if t.where not in spoilt and touched & {t.a, t.b}]
    rest += [replace(told, marks=told.marks[:k] + told.marks[k + 1:]) for k, m in enumerate(told.marks)
             if m.where not in spoilt and (m.point in touched or m.photo in photos)]
    np.random.default_rng(0).shuffle(rest)
    return (adjust(network, mishap.case, quick=True) for network in rest[:10])


def _is_simple(case: simulate.Case, outline: tuple[str, ...]) -> bool:
    from shapely.geometry import Polygon
    return bool(Polygon([case.corners[case.names.index(name)] for name in outline]).is_valid)


def _is_seen_through(mishap: Mishap) -> bool:
    """Whether a true camera has a marked corner clearly behind a wall of the order that was told."""
    from shapely.geometry import LineString
    case, ring = mishap.case, mishap.told.outline
    spots = dict(zip(case.names, case.corners))
    eyes = {str(k): (-turn.T @ shift)[:2] for k, (turn, shift) in enumerate(zip(case.rotations, case.shifts))}
    walls = [(wall, LineString([spots[p] for p in wall])) for wall in zip(ring, ring[1:] + ring[:1])]
    return any(LineString([eyes[m.photo], spots[m.point]]).crosses(line) for m in mishap.told.marks
               for wall, line in walls if m.point not in wall)


def is_named_first(mishap: Mishap, answer: Survey | CaptureError) -> bool:
    """Whether the first change that the answer offers makes the survey what it was drawn as."""
    if mishap.kind == "clockwise":
        return isinstance(answer, Survey) and not answer.suspects and simulate.aligned_rms_mm(
            answer.floor.ring(mishap.case.names), mishap.case.corners) < 50.0
    if mishap.kind == "never seen":
        return set(mishap.spoilt) in map(set, unseen_walls(mishap.told))
    mends = offered(mishap.told, answer)
    if not mends:
        return False
    changed = mends[0]
    match mishap.kind:
        case "letters" | "backwards":
            return {m.where: m.point for m in changed.marks} == {m.where: m.point for m in mishap.drawn.marks}
        case "order":
            return _same_round(changed.outline, mishap.drawn.outline)
        case "elsewhere":
            return {p.name for p in changed.photos} == {p.name for p in mishap.drawn.photos}
        case "two letters":
            left = set(changed.outline)
            return len(left) == len(mishap.drawn.outline) and len(left & set(mishap.spoilt)) == 1
        case "unit" | "slip" | "digits":
            return [round(t.length_mm / 15) for t in changed.tapes] == [round(t.length_mm / 15) for t in
                                                                        mishap.drawn.tapes] or _near(changed, mishap)
        case "pair":
            return [{t.a, t.b} for t in changed.tapes] == [{t.a, t.b} for t in mishap.drawn.tapes]
        case "one spot":
            return mishap.spoilt[0] in _touched(mishap.told, changed)
    return False


def _near(changed: Network, mishap: Mishap) -> bool:
    return len(changed.tapes) == len(mishap.drawn.tapes) and all(
        abs(a.length_mm - b.length_mm) < 15.0 for a, b in zip(changed.tapes, mishap.drawn.tapes))


def _touched(told: Network, changed: Network) -> set[str]:
    """Places of the marks that the change takes out or renames."""
    after = {m.where: m.point for m in changed.marks}
    return {m.where for m in told.marks if after.get(m.where) != m.point}


def _same_round(one: tuple[str, ...], other: tuple[str, ...]) -> bool:
    rounds = {tuple(ring[k:] + ring[:k]) for ring in (one, one[::-1]) for k in range(len(one))}
    return other in rounds


def offered(told: Network, answer: Survey | CaptureError) -> list[Network]:
    """The network with each change made that the answer offers, the first first."""
    from capture import mends as offers
    mends_of, mends_of_mishap = offers.mends_of, getattr(offers, "mends_of_mishap", None)
    if isinstance(answer, CaptureError):
        mends = list(mends_of_mishap(answer.mishap)) if hasattr(answer, "mishap") else []
    else:
        from capture.words import in_words
        said = in_words(answer, "metric")
        mends = [mend for reading in said.suspects[:1] for mend in mends_of(reading, said.suspects, "metric")]
    return [apply(told, mend) for mend in mends]


def apply(told: Network, mend: object) -> Network:
    """The network with one change made."""
    from capture import mends as kinds
    where = getattr(mend, "where", "")
    match mend:
        case kinds.UseLength(mm=mm):
            return replace(told, tapes=tuple(replace(t, length_mm=mm) if t.where == where else t for t in told.tapes))
        case kinds.OtherPair(between=(a, b)):
            return replace(told, tapes=tuple(replace(t, a=a, b=b) if t.where == where else t for t in told.tapes))
        case kinds.OtherPoint(point=point):
            return replace(told, marks=tuple(replace(m, point=point) if m.where == where else m for m in told.marks))
        case kinds.SwapPoints(other=other, points=(one, two)):
            letter = {where: two, other: one}
            return replace(told, marks=tuple(replace(m, point=letter.get(m.where, m.point)) for m in told.marks))
        case kinds.LeaveOut():
            return replace(told, marks=tuple(m for m in told.marks if m.where != where),
                           tapes=tuple(t for t in told.tapes if t.where != where),
                           photos=tuple(p for p in told.photos if p.name != where))
    return _apply_mishap(told, mend)


def _apply_mishap(told: Network, mend: object) -> Network:
    from capture import mends as kinds
    match mend:
        case kinds.Rename(letters=letters):
            letter = dict(letters)
            return replace(told, marks=tuple(replace(m, point=letter.get(m.where, m.point)) for m in told.marks))
        case kinds.OtherOrder(outline=outline):
            return replace(told, outline=outline)
        case kinds.KeepOne(dropped=dropped):
            return replace(told, outline=tuple(name for name in told.outline if name != dropped))
        case kinds.DropPhoto(where=name):
            return replace(told, photos=tuple(p for p in told.photos if p.name != name),
                           marks=tuple(m for m in told.marks if m.photo != name))
    raise TypeError(type(mend).__name__)


def run(kind: str, seed: int, *, decide: bool = True) -> Ran:
    """One drawn survey, solved."""
    mishap = draw(kind, seed)
    answer: Survey | CaptureError
    began = time.process_time()
    try:
        answer = solve_floor(mishap.told)
    except CaptureError as fault:
        answer = fault
    seconds = time.process_time() - began
    said = (f"{answer.slug}: {answer}" if isinstance(answer, CaptureError) else
            "; ".join(f"{r.kind} {'-'.join(r.names)} {r.photo}" for r in answer.suspects)
            + " | " + ", ".join(note.slug for note in answer.notes))
    alarm = isinstance(answer, CaptureError) or bool(answer.suspects)
    return Ran(kind=kind, seed=seed, decidable=decide and kind != "sound" and is_decidable(mishap),
               first=is_named_first(mishap, answer), alarm=alarm, said=said, seconds=seconds)


def main(arguments: list[str]) -> None:
    count, first = (int(a) for a in (arguments + ["20", "70000"][len(arguments):])[:2])
    kinds = arguments[2:] or list(KINDS)
    print("| mishap | drawn | decidable | named first of these | of all | told of any | CPU median / p95 / worst |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for kind in kinds:
        ran = [run(kind, first + k) for k in range(count)]
        fair = [one for one in ran if one.decidable]
        times = np.array([one.seconds for one in ran])
        named, alarms = sum(one.first for one in ran), sum(one.alarm for one in ran)
        print(f"| {kind} | {count} | {len(fair)} | {sum(one.first for one in fair)} | {named} | {alarms} | "
              f"{np.median(times):.2f} / {np.quantile(times, 0.95):.1f} / "
              f"{times.max():.1f} s |", flush=True)
        for one in ran:
            if not one.first or one.seconds > 5:
                print(f"  {one.kind} {one.seed}{' decidable' if one.decidable else ''} {one.seconds:.1f} s: "
                      f"{one.said[:160]}", file=sys.stderr)


if __name__ == "__main__":
    main(sys.argv[1:])
