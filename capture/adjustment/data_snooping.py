"""Which reading is wrong, and what it probably should have been.

Baarda's data snooping: the reading with the largest standardised residual over its critical value is set aside, the
floor is solved again, and so on. A reading that stands alone as the wrong one stays out of the floor that is shown, and
its sentence says so: one slip of a tape must not bend every wall. Readings that are equally likely to be the wrong one
are named together and all kept, with the uncertainty widened.
"""
from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from capture.adjustment.least_squares import Fit, Precision, assess, line_groups, minimise, reading_squares
from capture.camera import project
from capture.adjustment.equations import State, equations
from capture.floor import Z95
from capture.adjustment.parameter_index import Indexed
from capture.network import Network
from capture.adjustment.residuals import CRITICAL_2D, critical, is_tested, read_off
from capture.adjustment.survey import Reading
from capture.tape import INCH_MM, format_length, format_spread

_MOST = 4
_TRIED = 10
#: Floors without one or the other reading that differ by less (99 % of chi-square, one degree of freedom) are equally
#: likely.
_INSEPARABLE = 6.63
#: Share of slips that are of no usual size, and the range they may have; our own guess, no source.
_ANY_SLIP_SHARE, _SLIP_RANGE_MM = 0.3, 2000.0
#: Below this even the order of two suspects says nothing.
_TIED = 0.5


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Scene:
    """What the sentences are made from: the floor solved without the doubted readings."""

    ix: Indexed
    network: Network
    state: State
    precision: Precision
    show: str


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Snooped:
    """The doubted readings as (number, sentence), worst first, and the floor without those that stand alone as wrong.

    line_weights: 0 on the lines of readings left out, 1 elsewhere; fit: the minimum with those weights.
    """

    suspects: tuple[tuple[int, str], ...]
    fit: Fit
    line_weights: np.ndarray


def snoop(ix: Indexed, network: Network, fit: Fit, show: str) -> Snooped:
    """Test all readings; see `readings.labels` for their numbers."""
    groups = line_groups(ix)
    weights, current, found = np.ones(len(groups)), fit, []
    for _ in range(_MOST):
        precision = assess(ix, current.state, line_weights=weights)
        readings = read_off(ix, network, precision)
        score = _scores(readings, weights, groups)
        if score.max(initial=0.0) <= 1.0:
            break
        tried = _left_out(ix, fit, current, weights, readings, score)
        scenes = [(cost, readings[k], k, _scene(ix, network, without, np.where(groups == k, 0.0, weights), show))
                  for cost, k, without in tried if cost < tried[0][0] + _INSEPARABLE]
        if len(scenes) > 1:
            found += _among_twins(scenes)
            break
        _, _, worst, scene = scenes[0]
        without = tried[0][2]
        weights, current = np.where(groups == worst, 0.0, weights), without
        found.append((worst, f"{_sentence(scene, readings[worst], worst)} (it is left out of the floor shown)"))
    return Snooped(suspects=tuple(found), fit=current, line_weights=weights)


def _scene(ix: Indexed, network: Network, fit: Fit, weights: np.ndarray, show: str) -> _Scene:
    return _Scene(ix=ix, network=network, state=fit.state, precision=assess(ix, fit.state, line_weights=weights),
                  show=show)


def _among_twins(scenes: list[tuple[float, Reading, int, _Scene]]) -> list[tuple[int, str]]:
    """Sentences for readings any one of which would explain the contradiction; the likeliest first, as far as it can be
    told.

    scenes: (cost of the floor without it, reading, its number, that floor).
    """
    ranked = sorted(((cost + _oddity(scene, reading, k), reading, k, scene) for cost, reading, k, scene in scenes),
                    key=lambda one: one[0])
    twins = [(odds - ranked[0][0], reading, k) for odds, reading, k, _ in ranked]
    if all(reading.kind == "tape" and set(reading.names) == set(ranked[0][1].names) for _, reading, _ in twins):
        return _taped_twice([(k, reading) for _, reading, k in twins], ranked[0][3].show)
    (_, likely, number), (gap, _, _), scene = twins[0], twins[1], ranked[0][3]
    if gap < _TIED:
        says = _nobody_knows([reading for _, reading, _ in twins])
        return [(k, says) for _, _, k in twins]
    others = " or ".join(_named(reading) for _, reading, _ in twins[1:])
    first = (f"{_sentence(scene, likely, number)}; a slip in {others} would explain it almost as well, so all are kept "
             "in the floor shown")
    return [(number, first)] + [(k, f"{_named(reading)} may be wrong instead of {_named(likely)}: take both again")
                                for _, reading, k in twins[1:]]


def _nobody_knows(twins: list[Reading]) -> str:
    """The sentence for readings of which one is wrong, with no hint at which."""
    photo = twins[0].photo
    if photo and all(reading.kind == "mark" and reading.photo == photo for reading in twins):
        return (f"one of these marks in {photo} is wrong, and nothing tells which: "
                f"{', '.join(reading.names[0] for reading in twins)}; look at each "
                "again, and if the picture is of another room, take it out of the job")
    names = ", ".join(_named(reading) for reading in twins)
    return (f"one of these readings is wrong, and nothing tells which: {names}; take each again, or measure one more "
            "diagonal")


def _taped_twice(twins: list[tuple[int, Reading]], show: str) -> list[tuple[int, str]]:
    """The sentence for lengths of one pair of points that contradict one another and nothing else."""
    values = " and as ".join(format_length(reading.value, show=show) for _, reading in twins)
    says = (f"{_named(twins[0][1])} was taped as {values}, and the other readings do not tell which is right; measure "
            "it again and keep that one")
    return [(k, says) for k, _ in twins]


def _scores(readings: tuple[Reading, ...], weights: np.ndarray, groups: np.ndarray) -> np.ndarray:
    """|w| over its critical value; 0 for lens priors and for readings already set aside."""
    used = np.bincount(groups, weights=weights) > 0
    tested = _tested(readings)
    return np.array([abs(r.w) / critical(r, tested) if used[k] and is_tested(r) else 0.0
                     for k, r in enumerate(readings)])


def _tested(readings: tuple[Reading, ...]) -> int:
    return sum(map(is_tested, readings))


def _left_out(ix: Indexed, fit: Fit, current: Fit, weights: np.ndarray, readings: tuple[Reading, ...],
              score: np.ndarray) -> list[tuple[float, int, Fit]]:
    """(cost of the rest and the reading's critical value squared, reading left out, floor without it), lowest first.

    For small slips the lowest cost goes with the largest w (the drop is w squared); a slip of many sd bends the floor
    so far that w alone misleads, so the most suspicious few are each left out and the floor solved again.
    """
    groups = line_groups(ix)
    starts = [current.state] + ([fit.robust_state] if fit.robust_state is not None else [])
    tried = []
    trusted = fit.robust_state if fit.robust_state is not None else current.state
    wildest = int(np.argmax(np.where(np.bincount(groups, weights=weights) > 0, reading_squares(ix, trusted), 0.0)))
    for k in dict.fromkeys([wildest, *np.argsort(-score, kind="stable")[:_TRIED].tolist()]):
        if score[k] > 0.5 * score.max() or k == wildest:
            left = np.where(groups == k, 0.0, weights)
            tries = [minimise(ix, minimise(ix, s, robust=True, line_weights=left, iterations=30).state,
                              line_weights=left) for s in starts]
            without = min(tries, key=lambda one: one.cost)
            # A mark's two lines explain more by chance than a tape's one: each is judged above its own critical value.
            tried.append((without.cost + critical(readings[k], _tested(readings)) ** 2, int(k), without))
    return sorted(tried, key=lambda one: one[0])


def _named(reading: Reading) -> str:
    if reading.kind == "tape":
        return f"{reading.names[0]}-{reading.names[1]}"
    if reading.kind == "square":
        return f"square corner {reading.names[0]}"
    if reading.kind == "paper":
        return f"the sheet of paper {'-'.join(reading.names)}"
    if reading.kind in ("mark", "edge"):
        return f"{'-'.join(reading.names)} in {reading.photo}"
    if reading.kind in ("target", "sheet", "sheet-size"):
        what = {"target": "", "sheet": "the shape of ", "sheet-size": "the printed size of "}[reading.kind]
        return f"{what}target {reading.names[0]}{' in ' if reading.photo else ''}{reading.photo}"
    return f"{reading.names[0]} off {'-'.join(reading.names[1:])}"


def _sentence(scene: _Scene, reading: Reading, number: int) -> str:
    if reading.kind in ("tape", "offset"):
        return _length_sentence(scene, reading, number)
    if reading.kind == "mark":
        return _mark_sentence(scene, reading, number)
    if reading.kind == "edge":
        return (f"{reading.photo}: a click on wall {'-'.join(reading.names)} is {abs(reading.residual):.0f} px off the "
                "wall's line; "
                "put it on the floor line of that wall or delete it")
    if reading.kind in ("target", "sheet", "sheet-size"):
        return _target_sentence(scene, reading)
    if reading.kind == "paper":
        return (f"the sheet of paper {'-'.join(reading.names)} does not have its size by the other readings; check "
                "that its corners are marked in "
                "order round it, the first two along the side given first, and that nobody moved it")
    if reading.kind == "square":
        return f"corner {reading.names[0]} is not square by the other readings; take it out of the square corners"
    return (f"{reading.names[0]} does not lie on wall {'-'.join(reading.names[1:])} by the other readings; check which "
            "wall it is on")


def _target_sentence(scene: _Scene, reading: Reading) -> str:
    if reading.kind == "target":
        return (f"{reading.photo}: target {reading.names[0]} does not lie where the other photos saw it; if the sheet "
                "was moved between "
                "photos, take them all again without it")
    if reading.kind == "sheet":
        return (f"target {reading.names[0]} is not a flat square by the photos; tape it flat or print it again, and "
                "take the photos again")
    if len(reading.names) > 1:
        return (f"targets {reading.names[0]} and {reading.names[1]} differ in size by the photos; print all of them at "
                "the same scale")
    seen = scene.ix.target_points[0]
    side = float(np.hypot(*(scene.state.points_mm[seen[2]] - scene.state.points_mm[seen[0]])) / np.sqrt(2.0))
    return (f"the printed targets are {side:.0f} mm by the other readings, and {reading.value:.0f} mm by the job; "
            "measure their black square "
            "and write its size in the job, or check the tape lengths")


def _length_sentence(scene: _Scene, reading: Reading, number: int) -> str:
    expected, sd = _expected_length(scene, reading, number)
    def show(mm: float) -> str:
        return format_length(mm, show=scene.show)

    off = reading.value - expected
    text = (f"{'tape' if reading.kind == 'tape' else 'offset'} {_named(reading)}: {show(reading.value)} looks "
            f"{show(abs(off))} too "
            f"{'long' if off > 0 else 'short'}; the other readings say {show(expected)} ± "
            f"{format_spread(Z95 * sd, show=scene.show)}")
    guess = _likely_slip(scene, reading, expected, max(3.0 * np.hypot(sd, reading.sd), 4.0))
    return f"{text}; {guess}" if guess else f"{text}; measure it again"


def _oddity(scene: _Scene, reading: Reading, number: int) -> float:
    """-2 log of how likely a slip of this size is: people misread a tape by whole marks of it more often than by any
    other length.

    It only orders readings that the others cannot tell apart.
    """
    density = _ANY_SLIP_SHARE / _SLIP_RANGE_MM
    if reading.kind in ("tape", "offset"):
        expected, sd = _expected_length(scene, reading, number)
        spread = float(np.hypot(sd, reading.sd))
        usual = _slips(reading.value, scene.show)
        gaps = np.array([value - expected for value, _ in usual]) / spread
        density += (
            (1.0 - _ANY_SLIP_SHARE)
            / len(usual)
            * float(np.sum(np.exp(-0.5 * gaps**2)))
            / (spread * np.sqrt(2.0 * np.pi))
        )
    return -2.0 * float(np.log(density))


def _expected_length(scene: _Scene, reading: Reading, number: int) -> tuple[float, float]:
    """Length computed from the other readings, and its standard deviation."""
    line = int(np.flatnonzero(line_groups(scene.ix) == number)[0])
    residual, jac = equations(scene.ix, scene.state)
    slope = jac[line] * reading.sd
    return reading.value - float(residual[line]) * reading.sd, float(np.sqrt(max(slope @ scene.precision.cov @ slope,
                                                                                 0.0)))


def _likely_slip(scene: _Scene, reading: Reading, expected: float, tolerance: float) -> str:
    """The commonest slip that would explain it, if one does."""
    value = reading.value
    usual = _slips(value, scene.show)
    tries = usual + [(value / 10.0, "the decimal mark is probably one place off")]
    tries += [(swapped, "two digits are probably swapped") for swapped in _digit_swaps(value)
              if scene.show != "imperial"]
    tries += [(value + case, "the length of the tape's case was probably left out")
              for case in (60.0, 70.0, 75.0, 80.0, 90.0)]
    tries += [(value * 10.0, "centimetres were probably typed as millimetres"),
              (value * 1000.0, "metres were probably typed as millimetres")]
    tries += [(value * 2.54, "centimetres were probably read off the inch side"),
              (value / 2.54, "inches were probably taken for centimetres")]
    tries = [pair for pair in tries if pair[0] > 0]
    best = min(tries, key=lambda pair: abs(pair[0] - expected))
    first = next((pair for pair in tries if abs(pair[0] - expected) <= tolerance), None)
    if first and (abs(first[0] - expected) < abs(best[0] - expected) + 0.7 * tolerance):
        return f"{first[1]}: {format_length(first[0], show=scene.show)}?"
    if abs(best[0] - expected) <= tolerance:
        return f"{best[1]}: {format_length(best[0], show=scene.show)}?"
    return _other_pair(scene, reading, tolerance)


def _slips(value: float, show: str) -> list[tuple[float, str]]:
    """Readings one whole mark of the tape off, the commoner first."""
    if show == "imperial":
        inch = float(INCH_MM)
        steps = [(12 * inch, "1 ft"), (inch, "1 in"), (10 * inch, "10 in")]
    else:
        steps = [(100.0, "10 cm"), (1000.0, "1 m"), (200.0, "20 cm"), (10.0, "1 cm")]
    return [(value + sign * step, f"probably misread by {name}") for step, name in steps for sign in (1, -1)]


def _digit_swaps(value: float) -> list[float]:
    digits = str(round(value))
    swaps = [digits[:i] + digits[i + 1] + digits[i] + digits[i + 2:] for i in range(len(digits) - 1)]
    return [float(s) for s in swaps if s != digits]


def _other_pair(scene: _Scene, reading: Reading, tolerance: float) -> str:
    """A pair of points with one end in common whose distance is what was typed."""
    if reading.kind != "tape":
        return ""
    ix, points = scene.ix, scene.state.points_mm
    for kept, lost in (reading.names, reading.names[::-1]):
        for name in ix.names:
            if name not in (kept, lost):
                apart = float(np.hypot(*(points[ix.names.index(name)] - points[ix.names.index(kept)])))
                if abs(apart - reading.value) <= tolerance:
                    return f"it is what {kept}-{name} should measure: was it that pair?"
    return ""


def _mark_sentence(scene: _Scene, reading: Reading, number: int) -> str:
    ix, state, name = scene.ix, scene.state, reading.names[0]
    photo = int(ix.mark_photo[number])
    camera = ix.photo_camera[photo]
    count = len(ix.names)
    seen = project(state.points_mm[:count], np.broadcast_to(state.rotations[photo], (count, 3, 3)),
                   np.broadcast_to(state.shifts_mm[photo], (count, 3)), np.full(count, np.exp(state.log_focal[camera])),
                   np.broadcast_to(state.bend[camera], (count, 2)), state.centres_px[photo])
    gap = np.hypot(*(seen - ix.mark_px[number]).T)
    off = gap[ix.names.index(name)]
    if not np.isfinite(off):
        return (f"{reading.photo}: mark {name} names a corner that is out of this photo's sight by the other readings; "
                "rename or delete the mark")
    text = f"{reading.photo}: mark {name} is {off:.0f} px from where the other readings put it"
    near = int(np.argmin(gap))
    if ix.names[near] != name and gap[near] < max(4.0 * CRITICAL_2D * reading.sd, 10.0):
        return f"{text}; that spot is corner {ix.names[near]}: rename the mark?"
    return f"{text}; look at that corner again"


def with_suspects(readings: tuple[Reading, ...], suspects: tuple[tuple[int, str], ...]) -> tuple[Reading, ...]:
    """The readings with the suspects marked."""
    says = dict(suspects)
    return tuple(replace(r, suspect=True, says=says[k]) if k in says else r for k, r in enumerate(readings))
