"""Drawn surveys with one mishap each: is it named, is it named first, and what does the answer cost?

``python -m tests.bench.capture.run_mishaps [cases of each kind, 20] [first seed, 70000] [kind ...]``. A survey (two to
four photos, walls taped, one to three lengths across, a wall's line clicked where it shows) is drawn and one thing is
spoilt; ``sound`` spoils nothing. Named first: the first thing that the answer offers to change, changed, is the survey
as it was drawn; a wall order counts either way round. Which cases can be decided at all is said by an adjustment of its
own (`tests.support.independent_adjustment`: SciPy's trust region on a pinhole model written anew): the survey as told
must fail chi-square at 0.001 (or its walls cross, or two of its corners be one), as it was drawn it must pass, and with
any other single reading left out it must be at least 6.63 worse (chi-square, 0.99, one degree: Baarda's separability
of two alternatives, as in Teunissen, Testing Theory, 2006, ch. 4, from memory).
"""
from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from capture.adjustment.survey import Survey
from capture.errors import CaptureError
from capture.network import Mark, Network, TapeLength
from capture.solve import solve_floor
from tests.support import simulate
from tests.support.independent_adjustment import Adjusted, adjust

#: Quantiles of chi-square: 0.001 two-sided snooping, and the least lead over another explanation.
_LEAD = 6.63
#: Two letters can be told to be one corner where each is placed against the other to this, one standard deviation, mm.
_SURELY_APART_MM = 30.0
_UNITS = {"feet typed as metres": 1 / 0.3048, "metres typed as feet": 0.3048, "inches typed as cm": 1 / 2.54,
          "cm typed as inches": 2.54, "cm typed as mm": 0.1}


@dataclass(frozen=True, slots=True, kw_only=True)
class Mishap:
    """A survey as it is told and as it was drawn; what was spoilt: places of readings, or corners, or a photo."""

    kind: str
    told: Network
    drawn: Network
    case: simulate.Case
    spoilt: tuple[str, ...]


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


def numbered(network: Network) -> Network:
    """Every reading with a place of its own, as a job gives it."""
    return replace(network, marks=tuple(replace(m, where=f"marks[{k}]") for k, m in enumerate(network.marks)))


def draw(kind: str, seed: int) -> Mishap:
    """A drawn survey with this mishap; drawn until the mishap can happen in it."""
    rng = np.random.default_rng(seed)
    while True:
        case = simulate.draw_determined(rng, photos=int(rng.integers(2, 5)), diagonals=int(rng.integers(1, 4)))
        network = numbered(case.network)
        made = _KINDS[kind](rng, network)
        if made is not None:
            told, drawn, spoilt = made
            return Mishap(kind=kind, told=told, drawn=drawn, case=case, spoilt=spoilt)


Made = tuple[Network, Network, tuple[str, ...]] | None


def _sound(rng: np.random.Generator, network: Network) -> Made:
    return network, network, ()


def _with_points(network: Network, renamed: dict[int, str]) -> Network:
    """The network with other letters at some marks, by number."""
    return replace(network, marks=tuple(replace(m, point=renamed.get(k, m.point)) for k, m in enumerate(network.marks)))


def _marks_of(rng: np.random.Generator, network: Network, least: int) -> list[int]:
    """The marks of a photo with so many at least; empty if none has."""
    by_photo = [[k for k, m in enumerate(network.marks) if m.photo == p.name] for p in network.photos]
    fit = [mine for mine in by_photo if len(mine) >= least]
    return fit[int(rng.integers(len(fit)))] if fit else []


def _letters(rng: np.random.Generator, network: Network) -> Made:
    """Two marks of a photo have each other's letter."""
    mine = _marks_of(rng, network, 3)
    if not mine:
        return None
    i, j = rng.choice(mine, 2, replace=False)
    told = _with_points(network, {i: network.marks[j].point, j: network.marks[i].point})
    return told, network, (network.marks[i].where, network.marks[j].where)


def _backwards(rng: np.random.Generator, network: Network) -> Made:
    """The letters of a photo run round the wrong way."""
    mine = _marks_of(rng, network, 4)
    if not mine:
        return None
    order = sorted(mine, key=lambda k: network.outline.index(network.marks[k].point))
    told = _with_points(network, {k: network.marks[other].point for k, other in zip(order, order[::-1])})
    return told, network, tuple(network.marks[k].where for k, other in zip(order, order[::-1]) if k != other)


def _order(rng: np.random.Generator, network: Network) -> Made:
    """Two neighbours are swapped in the outline."""
    k, outline = int(rng.integers(len(network.outline))), list(network.outline)
    j = (k + 1) % len(outline)
    outline[k], outline[j] = outline[j], outline[k]
    return replace(network, outline=tuple(outline)), network, (outline[k], outline[j])


def _elsewhere(rng: np.random.Generator, network: Network) -> Made:
    """The marks of one photo are those of a photo of another room, with letters that this room has too."""
    other = simulate.draw_case(rng, photos=2, diagonals=1).network
    name = network.photos[int(rng.integers(len(network.photos)))].name
    theirs = [m for m in other.marks if m.photo == "0" and m.point in network.outline]
    if len(theirs) < 4:
        return None
    marks = [m for m in network.marks if m.photo != name] + [replace(m, photo=name) for m in theirs]
    drawn = replace(network, photos=tuple(p for p in network.photos if p.name != name),
                    marks=tuple(m for m in network.marks if m.photo != name),
                    wall_lines=tuple(w for w in network.wall_lines if w.photo != name))
    told = numbered(replace(network, marks=tuple(marks), wall_lines=drawn.wall_lines))
    seen = Counter(m.point for m in drawn.marks) + Counter(p for t in drawn.tapes for p in (t.a, t.b))
    return (told, drawn, (name,)) if len(network.photos) > 2 and min(seen[p] for p in network.outline) > 2 else None


def _length(network: Network, k: int, tape: TapeLength) -> Made:
    tapes = (*network.tapes[:k], tape, *network.tapes[k + 1:])
    return replace(network, tapes=tapes), network, (tape.where,)


def _unit(rng: np.random.Generator, network: Network) -> Made:
    """A length in another unit."""
    k, factor = int(rng.integers(len(network.tapes))), float(rng.choice(list(_UNITS.values())))
    return _length(network, k, replace(network.tapes[k], length_mm=network.tapes[k].length_mm * factor))


def _slip(rng: np.random.Generator, network: Network) -> Made:
    """A length off by 100 mm."""
    k, off = int(rng.integers(len(network.tapes))), float(rng.choice([-100.0, 100.0]))
    return _length(network, k, replace(network.tapes[k], length_mm=network.tapes[k].length_mm + off))


def _digits(rng: np.random.Generator, network: Network) -> Made:
    """Two neighbouring digits of a length swapped, the result off by 20 mm or more."""
    k = int(rng.integers(len(network.tapes)))
    digits = str(round(network.tapes[k].length_mm))
    i = int(rng.integers(len(digits) - 1))
    typed = float(digits[:i] + digits[i + 1] + digits[i] + digits[i + 2:])
    if typed < 100.0 or abs(typed - network.tapes[k].length_mm) < 20.0:
        return None
    return _length(network, k, replace(network.tapes[k], length_mm=typed))


def _pair(rng: np.random.Generator, network: Network) -> Made:
    """A length typed to another corner than it was measured to."""
    k = int(rng.integers(len(network.tapes)))
    tape = network.tapes[k]
    free = [name for name in network.outline if name not in (tape.a, tape.b)
            and {tape.a, name} not in [{t.a, t.b} for t in network.tapes]]
    return _length(network, k, replace(tape, b=str(rng.choice(free)))) if free else None


def _two_letters(rng: np.random.Generator, network: Network) -> Made:
    """A corner has another letter in some photos, listed behind it."""
    corner = str(rng.choice(network.outline))
    mine = [k for k, m in enumerate(network.marks) if m.point == corner]
    if len(mine) < 2:
        return None
    other = sorted(rng.choice(mine, int(rng.integers(1, len(mine))), replace=False).tolist())
    at = network.outline.index(corner) + 1
    photos = {network.marks[k].photo for k in other}
    lines = tuple(replace(w, wall=tuple("Z" if p == corner else p for p in w.wall)) if w.photo in photos else w
                  for w in network.wall_lines)
    told = replace(_with_points(network, dict.fromkeys(other, "Z")), wall_lines=lines,
                   outline=(*network.outline[:at], "Z", *network.outline[at:]))
    return told, network, (corner, "Z")


def _one_spot(rng: np.random.Generator, network: Network) -> Made:
    """In one photo the mark of a corner lies on another corner that is marked there too."""
    mine = _marks_of(rng, network, 3)
    if not mine:
        return None
    i, j = rng.choice(mine, 2, replace=False)
    there: Mark = network.marks[j]
    x, y = rng.normal(0, there.sd_px, 2) + (there.x_px, there.y_px)
    marks = list(network.marks)
    marks[i] = replace(marks[i], x_px=float(x), y_px=float(y))
    drawn = replace(network, marks=network.marks[:i] + network.marks[i + 1:])
    told = replace(network, marks=tuple(marks))
    return (told, drawn, (marks[i].where,)) if {m.point for m in drawn.marks} == set(network.outline) else None


_KINDS: dict[str, Callable[[np.random.Generator, Network], Made]] = {
    "sound": _sound, "letters": _letters, "backwards": _backwards, "order": _order, "elsewhere": _elsewhere,
    "unit": _unit, "slip": _slip, "digits": _digits, "pair": _pair, "two letters": _two_letters, "one spot": _one_spot}


def is_decidable(mishap: Mishap) -> bool:
    """Whether an adjustment that knows where the truth is can tell this mishap from a sound survey and from any one
    other reading gone wrong."""
    drawn = adjust(mishap.drawn, mishap.case)
    if not drawn.passes():
        return False
    if mishap.kind == "order":
        return not _is_simple(mishap.case, mishap.told.outline)
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


def is_named_first(mishap: Mishap, answer: Survey | CaptureError) -> bool:
    """Whether the first change that the answer offers makes the survey what it was drawn as."""
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
    kinds = arguments[2:] or list(_KINDS)
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
