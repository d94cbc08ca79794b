"""Start values found by the tool: rough floors from photos and tape, each brought to its minimum, the lowest kept."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from capture.language.messages import lazy_gettext
from capture.readings.chi_square import chi_square
from capture.adjustment.least_squares import Fit, assess, reading_squares
from capture import progress
from capture.adjustment.batch import minimise_all, robust_costs, squares_of
from capture.readings.state import State
from capture.readings.geometry import ring_area_mm2
from capture.errors import CaptureError
from capture.readings.indexed import Indexed
from capture.initial.trilateration import Partial
from capture.adjustment.floor_prior import implausibility, is_simple
from capture.initial.work import USUAL_WORK, Work
from capture.readings.photo import Marks
from capture.initial.initial_floors import EFFORTS, LIGHT_EFFORT, Effort, rough_states, state_on, states_without_marks

#: Fits whose cost differs by less than this cannot be told apart by the readings (a difference of about two sigma); of
#: what rests on rough prices alone (hints, a slip) a share may be wrong too.
_TIE, _TIE_OF_HINTS = 4.0, 0.25
#: Floors that differ more than this somewhere are two, mm; a robust end farther off than that second distance is no end
#: of the same floor.
_ANOTHER_MM, _ELSEWHERE_MM = 50.0, 100.0
#: Floors nearer than this everywhere are one minimum, mm.
_SAME_MM = 0.5
#: More than what a room with a bay has against it; two clicks off their wall, say.
_ODD = 15.0
#: A lens known less well than this may be another of the phone's lenses: ultra-wide or twice as long.
_VAGUE_FOCAL, _OTHER_FOCALS = 0.2, (0.55, 1.8)
#: Floors without one reading that are followed to their end.
_WORTH_ENDING = 24
#: Steps that tell promising rough floors from others.
_ROUGH_STEPS = 8
#: Floors that are tried without one reading each, the worst readings tried of each; floors on which photos are stood
#: anew without a mark.
_SPARED_FLOORS, _SPARED_READINGS, _STOOD_FLOORS = 12, 3, 4
#: Rough floors are drawn without so many readings in turn at least, however little work is left.
_FEW_WITHOUT = 6
#: A floor of more named points than a room has is searched for no wider: each rough floor takes its time.
_ROOMLY = 30


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Start:
    """The lowest minimum found and, if another floor fits almost as well, that one too."""

    fit: Fit
    rival: Fit | None


def first_minima(ix: Indexed) -> list[Fit]:
    """Minima from the likeliest rough floors: enough for a sound survey."""
    return _minima(ix, EFFORTS[0])


def light_minima(ix: Indexed) -> list[Fit]:
    """Minima from few rough floors: enough where what was wrong is left out."""
    return _minima(ix, LIGHT_EFFORT)


def find_start(ix: Indexed) -> Start:
    """The best minimum over all rough floors; where it fits badly, a wider search is made before it is believed.

    Raises CaptureError "no-start" if nothing leads to a floor.
    """
    fits = first_minima(ix)
    if not is_any_believable(ix, fits):
        fits = fits + spared_minima(ix, fits)
    return chosen(ix, fits if is_any_found(ix, fits) else fits + wide_minima(ix, fits))


def wide_minima(ix: Indexed, fits: list[Fit], work: float = USUAL_WORK) -> list[Fit]:
    """Minima of a wider search, where none of those found so far is a room; none for more points than a room has.
    work: how wide it may be (`initial.work`)."""
    if ix.point_count > _ROOMLY:
        return []
    progress.tell("wide-search")
    limit = Work(work)
    wide = _minima(ix, _affordable(ix, EFFORTS[1], limit))
    if np.any(ix.lens_focal_sd > _VAGUE_FOCAL) and not is_any_believable(ix, wide):
        wide += [fit for factor in _OTHER_FOCALS
                 for fit in _minima(ix, _affordable(ix, EFFORTS[0], limit), focal=factor)]
    wide += spared_minima(ix, wide)
    return wide if is_any_found(ix, wide) else wide + _minima_without_one(ix, fits + wide, limit)


def _affordable(ix: Indexed, effort: Effort, limit: Work) -> Effort:
    """An effort cut down to what work is left."""
    share = limit.share(_work_of(ix, effort))
    return replace(effort, turned=max(1, round(share * effort.turned)), sketches=max(1, round(share * effort.sketches)))


def _work_of(ix: Indexed, effort: Effort) -> float:
    """Marks and points of the rough floors drawn, outlines from turns and sketches from photos."""
    return (len(ix.of(Marks).photo) + ix.point_count) * (effort.turned + effort.first_trials) / 5.0


def chosen(ix: Indexed, fits: list[Fit]) -> Start:
    """The likeliest of some minima and its rival, mirror images counted in. Raises CaptureError "no-start" if there
    are none."""
    if not fits:
        raise CaptureError("no-start", lazy_gettext(
            "these readings give no floor at all: check that the marks name the right corners and that the corners "
            "are listed in order round the room"))
    start = _choose(ix, fits)
    lowest, likeliest = min(fits, key=lambda fit: fit.cost), start.fit
    if is_sound(ix, likeliest) and ix.of(Marks).tell_left_from_right():
        return start
    likely = [lowest] if _apart(lowest.state, likeliest.state) < _SAME_MM else [lowest, likeliest]
    fits = fits + [mirrored for fit in likely for mirrored in _mirror_images(ix, fit)
                   if np.isfinite(mirrored.cost)]
    return _choose(ix, fits)


def _minima(ix: Indexed, effort: Effort, *, focal: float = 1.0) -> list[Fit]:
    """Minima reached from the most promising rough floors, seen from above, in the solver's gauge.

    focal: factor on the focal lengths that the rough floors are drawn with.
    """
    rough = minimise_all(ix, rough_states(ix, effort, focal=focal), robust=True, iterations=_ROUGH_STEPS)
    promising = _promising(ix, rough, effort.polished)
    # The likeliest sketch is brought to its minimum whatever its cost so far: a slip can keep the right one from
    # getting low soon.
    promising += [fit for fit in rough[:1] if np.isfinite(fit.cost) and fit not in promising]
    bent = minimise_all(ix, [fit.state for fit in promising], robust=True, iterations=30)
    done = minimise_all(ix, [fit.state for fit in bent], iterations=60)
    fits = [_right_way_up(ix, replace(fit, robust_state=before.state)) for fit, before in zip(done, bent)]
    return [fit for fit in fits if np.isfinite(fit.cost)]


def _promising(ix: Indexed, fits: list[Fit], most: int) -> list[Fit]:
    """The best fits with slips held off, each more than 30 mm somewhere from a better one."""
    sound = [fit for fit in fits if np.isfinite(fit.cost)]
    costs = [cost + implausibility(ix, fit.state) for cost, fit in zip(robust_costs(ix, [fit.state for fit in sound]),
                                                                       sound)]
    kept: list[Fit] = []
    for k in np.argsort(costs, kind="stable"):
        if len(kept) < most and all(_apart(sound[k].state, other.state) > 30.0 for other in kept):
            kept.append(sound[k])
    return kept


def spared_minima(ix: Indexed, fits: list[Fit]) -> list[Fit]:
    """Sound minima without one reading each: the worst few of the most promising floors are left out in turn, and of
    the best any mark."""
    ends = [Fit(state=state, cost=fit.cost) for fit in fits for state in (fit.state, fit.robust_state)
            if state is not None]
    floors = [fit.state for fit in _promising(ix, ends, _SPARED_FLOORS)]
    tried = [(state, k) for state in floors for k in _worst_readings(ix, state)]
    tried += [pair for state in floors[:_STOOD_FLOORS] for pair in states_without_marks(ix, state)]
    return sound_without(ix, [state for state, _ in tried], [k for _, k in tried])


def _worst_readings(ix: Indexed, state: State) -> list[int]:
    """Readings that are farthest off, and those whose leaving out would lower the cost most: a wrong one that few
    others check hides in small residuals of its own and of theirs."""
    precision, groups = assess(ix, state), ix.line_groups()
    taken = _taken_readings(ix)
    lines = [np.flatnonzero(groups == k) for k in taken]
    off = [precision.residual[mine] for mine in lines]
    raw = [gap @ gap for gap in off]
    gains = [gap @ np.linalg.pinv(precision.residual_cov[np.ix_(mine, mine)], rcond=1e-6) @ gap
             for gap, mine in zip(off, lines)]
    return list(dict.fromkeys(int(taken[k]) for values in (raw, gains)
                              for k in np.argsort(values, kind="stable")[:-_SPARED_READINGS - 1:-1]))


def _taken_readings(ix: Indexed) -> np.ndarray:
    """Numbers of the readings that a person took: what may be wrong."""
    return np.flatnonzero(np.repeat([kind.taken for kind in ix.readings], [len(kind) for kind in ix.readings]))


def _minima_without_one(ix: Indexed, fits: list[Fit], limit: Work) -> list[Fit]:
    """Minima from rough floors made without one mark or tape: whichever is wrong, the rest agree.

    A mark on the wrong corner or a length a metre off can spoil every sketch it takes part in. Where there is no work
    left for all of them, those are tried that are farthest off in the floors found so far.
    """
    effort = EFFORTS[0] if len(ix.photo_names) <= 1 else LIGHT_EFFORT
    without = dict(_all_without_one(ix))
    many = max(_FEW_WITHOUT, int(len(without) * limit.share(len(without) * _work_of(ix, effort))))
    if len(without) > many:
        likely = [k for fit in _promising(ix, fits, _SPARED_FLOORS) for k in _worst_readings(ix, fit.state)]
        without = {k: without[k] for k in list(dict.fromkeys([*likely, *without]))[:many] if k in without}
    tried = [(state, k) for k, rest in without.items() for state in rough_states(rest, effort)]
    return sound_without(ix, [state for state, _ in tried], [k for _, k in tried])


def sound_without(ix: Indexed, states: list[State], left_out: list[int]) -> list[Fit]:
    """Minima of all readings but one, from each state without a reading of its own, that fit and are rooms."""
    if not states:
        return []
    weights = np.where(ix.line_groups() == np.array(left_out)[:, None], 0.0, 1.0)
    rough = minimise_all(ix, states, iterations=_ROUGH_STEPS, line_weights=weights)
    near = [k for k in np.argsort([fit.cost for fit in rough], kind="stable")
            if np.isfinite(rough[k].cost)][:_WORTH_ENDING]
    done = minimise_all(ix, [rough[k].state for k in near], iterations=60, line_weights=weights[near])
    sound = [fit for fit in (_right_way_up(ix, fit) for fit in done) if is_sound(ix, fit)]
    # Not brought to the minimum of all readings: the one that is wrong would bend the floor out of shape.
    return [Fit(state=fit.state, cost=float(np.sum(reading_squares(ix, fit.state))), robust_state=fit.state)
            for fit in sound]


def _all_without_one(ix: Indexed) -> Iterator[tuple[int, Indexed]]:
    """(number of a reading, the network without it) for every reading that rough floors rest on."""
    first = 0
    for n, kind in enumerate(ix.readings):
        for k in range(len(kind)):
            rest = kind.without(k)
            if rest is not None:
                yield first + k, replace(ix, readings=(*ix.readings[:n], rest, *ix.readings[n + 1:]))
        first += len(kind)


def is_sound(ix: Indexed, fit: Fit) -> bool:
    """Whether a floor is a room and fits as well as readings of the stated quality should."""
    return fit.cost <= _plausible_cost(ix) and is_simple(fit.state.points_mm[ix.outline])


def is_believable(ix: Indexed, fit: Fit) -> bool:
    """Whether a sound floor looks like a room too, so that no other need be sought."""
    return is_sound(ix, fit) and implausibility(ix, fit.state) < _ODD


def fits_readings(ix: Indexed, fit: Fit) -> bool:
    """Whether a floor fits as well as readings of the stated quality should, be it a room or not."""
    return fit.cost <= _plausible_cost(ix)


def promising_floors(ix: Indexed, fits: list[Fit], most: int) -> list[State]:
    """The best ends of some minima with slips held off, each another floor."""
    ends = [Fit(state=state, cost=fit.cost) for fit in fits for state in (fit.robust_state, fit.state)
            if state is not None]
    return [fit.state for fit in _promising(ix, ends, most)]


def is_sound_but_for_one(ix: Indexed, fit: Fit) -> bool:
    """Whether one wrong reading that a person took would explain a bad fit, with nothing else against the room."""
    state = fit.robust_state or fit.state
    by_person = np.repeat([not kind.given for kind in ix.readings], [len(kind) for kind in ix.readings])
    return _is_sound_but_for(ix, state, reading_squares(ix, state), by_person)


def is_clean(ix: Indexed, fit: Fit) -> bool:
    """Whether a floor fits as nineteen of twenty sound ones do, with little against it as a room."""
    return fit.cost <= chi_square(_to_spare(ix), 0.05) and implausibility(ix, fit.state) < _ODD


def is_any_believable(ix: Indexed, fits: list[Fit]) -> bool:
    """See `is_believable`."""
    return any(is_believable(ix, fit) for fit in fits)


def is_any_found(ix: Indexed, fits: list[Fit]) -> bool:
    """Whether one of some floors looks like a room, and fits once one reading that a person took is left out."""
    return any(_is_found(ix, fit) for fit in fits)


def _is_found(ix: Indexed, fit: Fit) -> bool:
    """Whether a floor looks like a room, and fits once one reading that a person took is left out."""
    return is_believable(ix, fit) or (fit.robust_state is not None and is_sound_but_for_one(ix, fit))


def _is_sound_but_for(ix: Indexed, state: State, squares: np.ndarray, among: np.ndarray) -> bool:
    """Whether a floor fits and looks like a room once the worst of some readings is not counted."""
    return float(np.sum(squares) - np.max(squares[among])) <= _plausible_cost(ix) and implausibility(ix, state) < _ODD


def _plausible_cost(ix: Indexed) -> float:
    """99.9 % quantile of the cost of readings that are as good as they claim."""
    return chi_square(_to_spare(ix), 0.001)


def _to_spare(ix: Indexed) -> int:
    """Observation lines beyond the number of unknowns; at least 1."""
    return max(len(ix.line_groups()) - (ix.columns - 3), 1)


def _mirror_images(ix: Indexed, fit: Fit) -> list[Fit]:
    """The mirrored floor with every photo placed anew: as good only if no photo shows three points off a line."""
    if not len(ix.photo_names):
        return []
    flipped = fit.state.points_mm * np.array([1.0, -1.0])
    state = state_on(ix, Partial(places={k: complex(x, y) for k, (x, y) in enumerate(flipped)}, against=0.0),
                     doubting=False)
    if state is None:
        return []
    rough = minimise_all(ix, [state], robust=True, iterations=30)[0]
    return [_right_way_up(ix, replace(fit, robust_state=rough.state)) for fit in minimise_all(ix, [rough.state])]


def _choose(ix: Indexed, fits: list[Fit]) -> Start:
    """The fit that is most a room: lowest robust cost plus what speaks against it as a room seen by a person in it."""
    ends = [(fit, state) for fit in fits for state in (fit.state, fit.robust_state) if state is not None]
    against = _against(ix, [state for _, state in ends])
    ranked = sorted((*pair, number) for number, pair in enumerate(against))
    lowest, hints, best = ranked[0]
    (fit, end), tie = ends[best], lowest + _TIE + _TIE_OF_HINTS * hints
    rivals = [ends[k][1] for cost, _, k in ranked[1:] if cost < tie and _apart(end, ends[k][1]) > _ANOTHER_MM]
    firm = fit.robust_state if fit.robust_state is not None and _apart(end, fit.robust_state) < _ELSEWHERE_MM else end
    rival = Fit(state=rivals[0], cost=float(np.sum(reading_squares(ix, rivals[0])))) if rivals else None
    return Start(fit=replace(fit, robust_state=firm), rival=rival)


def doubts(ix: Indexed, states: list[State]) -> list[float]:
    """All that speaks against each of some floors (any number, in the units of a cost): the lowest is the room."""
    return [cost for cost, _ in _against(ix, states)]


def _against(ix: Indexed, states: list[State]) -> list[tuple[float, float]]:
    """All that speaks against each floor, and how much of it rests on rough prices instead of readings."""
    squares, odd = squares_of(ix, states), [implausibility(ix, state) for state in states]
    whole = np.sum(9.0 * np.log1p(squares / 9.0), axis=1)
    saved = squares - _prices(ix)
    best = np.argmax(saved, axis=1)
    spared = np.sum(squares, axis=1) - saved[np.arange(len(states)), best]
    return [(float(w + o), float(o)) if w <= s else (float(s + o), float(o + price))
            for w, s, o, price in zip(whole, spared, odd, _prices(ix)[best])]


def _prices(ix: Indexed) -> np.ndarray:
    """What calling each reading wrong counts."""
    return np.repeat([kind.slip_cost for kind in ix.readings], [len(kind) for kind in ix.readings])


def _apart(one: State, other: State) -> float:
    return float(np.max(np.hypot(*(one.points_mm - other.points_mm).T)))


def _right_way_up(ix: Indexed, fit: Fit) -> Fit:
    """The fit seen from above, in the solver's gauge; cost inf if some cameras are above the floor and some below.

    Without photos nothing tells the mirror image apart, and the outline is taken to run anticlockwise.
    """
    heights = fit.state.camera_heights()
    below = bool(np.all(heights < 0)) if len(heights) else ring_area_mm2(fit.state.points_mm[ix.outline]) < 0
    if len(heights) and not below and np.any(heights < 0):
        return replace(fit, cost=np.inf)

    def turned(state: State) -> State:
        return (state.seen_from_above() if below else state).in_gauge(0, 1)

    return replace(fit, state=turned(fit.state), robust_state=turned(fit.robust_state) if fit.robust_state else None)
