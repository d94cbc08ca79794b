"""Start values found by the tool: rough floors from photos and tape, each brought to its minimum, the lowest kept."""
from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import chdtri

from capture.adjust import Fit, line_groups, minimise, reading_squares, robust_cost
from capture.camera import px_to_rays
from capture.chain import Sketch, pose_arrays, sketch_photos
from capture.equations import State, ring_area_mm2
from capture.errors import CaptureError
from capture.indexed import LENS, Indexed
from capture.looks import Known, best_trials, known_lengths, make_looks, normals_grid, unit_floor
from capture.placing import Partial, place_rest
from capture.plausible import implausibility, is_simple
from capture.turns import sketch_turns

#: Fits whose cost differs by less than this cannot be told apart by the readings (a difference of about two sigma); of what rests on
#: rough prices alone (hints, a slip) a share may be wrong too.
_TIE, _TIE_OF_HINTS = 4.0, 0.25
#: More than what a room with a bay has against it; two clicks off their wall, say.
_ODD = 15.0
#: What one wrong reading counts against a floor, however wrong it is: -2 log of the odds of a slip (1 in 100 clicks, 1 in 50
#: lengths; our own guess, no source) times the density of a sound reading at its middle over that of a slip, which may be
#: anywhere in a picture of 1600 x 1200 px or within 5 m.
_WRONG_MARK, _WRONG_CLICK, _WRONG_LENGTH, _WRONG_BELIEF = 32.0, 21.0, 22.0, 50.0
#: A rough floor this much worse than a minimum already found (robust costs) is not worth bringing to its own.
_HOPELESS = 60.0
#: Readings left out in turn, the worst-fitting first, before a floor without one of them is believed: the fewer readings to
#: spare, the likelier that leaving out a sound one explains all as well.
_DOUBTED_MOST, _DOUBTED_LEAST, _DOUBTED_BY_SPARE = 8, 2, 48
#: A lens known less well than this may be another of the phone's lenses: ultra-wide or twice as long.
_VAGUE_FOCAL, _OTHER_FOCALS = 0.2, (0.55, 1.8)
#: Steps that tell promising rough floors from others.
_ROUGH_STEPS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class _Effort:
    """How wide to search: trials of each first photo, sketches kept, beam of alternatives, minima sought; and how much
    it counts that walls are mostly square to one another."""

    first_trials: int
    sketches: int
    beam: int
    polished: int
    square_weight: float = 1.0


#: Enough where one reading of several photos is left out: what remains is sound and mostly easy, and it is tried for many readings.
_LIGHT_EFFORT = _Effort(first_trials=2, sketches=8, beam=6, polished=4)
_EFFORTS = (_Effort(first_trials=4, sketches=24, beam=6, polished=10), _Effort(first_trials=6, sketches=30, beam=12, polished=20, square_weight=0.15))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Start:
    """The lowest minimum found and, if another floor fits almost as well, that one too."""

    fit: Fit
    rival: Fit | None


def find_start(ix: Indexed) -> Start:
    """The best minimum over all rough floors; where it fits badly, a wider search is made before it is believed.

    Raises CaptureError "no-start" if nothing leads to a floor.
    """
    fits = _minima(ix, _EFFORTS[0])
    if not any(is_believable(ix, fit) for fit in fits):
        fits += _minima(ix, _EFFORTS[1])
        if np.any(ix.lens_focal_sd > _VAGUE_FOCAL) and not any(is_believable(ix, fit) for fit in fits):
            fits += [fit for factor in _OTHER_FOCALS for fit in _minima(ix, _EFFORTS[0], focal=factor)]
        if not any(is_believable(ix, fit) or _sound_but_for_a_tape(ix, fit) for fit in fits):
            fits += _minima_without_one(ix, min(fits, key=lambda fit: robust_cost(ix, fit.state), default=None))
    if not fits:
        raise CaptureError("no-start", "these readings give no floor at all: check that the marks name the right corners and that "
                                       "the corners are listed in order round the room")
    likely = {id(fit): fit for fit in (min(fits, key=lambda fit: fit.cost), _choose(ix, fits).fit)}
    fits += [mirrored for fit in likely.values() for mirrored in _mirror_images(ix, fit) if np.isfinite(mirrored.cost)]
    return _choose(ix, fits)


def _minima_without_one(ix: Indexed, best: Fit | None) -> list[Fit]:
    """Minima from rough floors made without one mark or tape, the worst-fitting first, until the rest agree.

    A mark on the wrong corner or a length a metre off can spoil every sketch it takes part in.
    """
    marks, clicks, tapes = ix.mark_readings, len(ix.click_photo), len(ix.tape_mm)
    squares = reading_squares(ix, best.robust_state or best.state) if best else np.zeros(marks + clicks + tapes)
    fits: list[Fit] = []
    doubtful = [int(k) for k in np.argsort(-squares, kind="stable") if k < marks or marks + clicks <= k < marks + clicks + tapes]
    effort = _EFFORTS[0] if len(ix.photo_names) <= 1 else _LIGHT_EFFORT
    enough = min(max(_DOUBTED_BY_SPARE // _to_spare(ix), _DOUBTED_LEAST), _DOUBTED_MOST)
    for number, k in enumerate(doubtful):
        if fits and number >= enough:
            break
        rest = _without_mark(ix, k) if k < marks else _without_tape(ix, k - marks - clicks)
        for fit in _minima(rest, effort)[:2]:
            if _sound(rest, fit):
                # Not brought to the minimum of all readings: the one that is wrong would bend the floor out of shape.
                fits.append(Fit(state=fit.state, cost=float(np.sum(reading_squares(ix, fit.state))), robust_state=fit.state))
    return fits


def _without_mark(ix: Indexed, reading: int) -> Indexed:
    kept = np.flatnonzero(ix.mark_reading != reading)
    fewer = {name: getattr(ix, name)[kept] for name in ("mark_photo", "mark_point", "mark_px", "mark_sd")}
    return replace(ix, **fewer, mark_reading=ix.mark_reading[kept] - (ix.mark_reading[kept] > reading))


def _without_tape(ix: Indexed, k: int) -> Indexed:
    return replace(ix, **{name: np.delete(getattr(ix, name), k, axis=0) for name in ("tape_ends", "tape_mm", "tape_sd")})


def _minima(ix: Indexed, effort: _Effort, *, focal: float = 1.0) -> list[Fit]:
    """Minima reached from the most promising rough floors, seen from above, in the solver's gauge.

    focal: factor on the focal lengths that the rough floors are drawn with.
    """
    states = _photo_states(replace(ix, lens_focal=ix.lens_focal * focal), effort) if len(ix.photo_names) else _tape_states(ix, effort)
    rough = [minimise(ix, state, robust=True, iterations=_ROUGH_STEPS) for state in states]
    # The likeliest sketch is brought to its minimum whatever its cost so far: a slip can keep the right one from getting low soon.
    first = [fit for fit in rough[:1] if np.isfinite(fit.cost)]
    rough = sorted((fit for fit in rough if np.isfinite(fit.cost)), key=lambda fit: fit.cost + implausibility(ix, fit.state))
    fits: list[Fit] = []
    promising = _different(rough)[:effort.polished]
    for fit in promising + [fit for fit in first if fit not in promising]:
        if fits and fit.cost > min(done.cost for done in fits) + _HOPELESS and fit not in first:
            continue
        bent = minimise(ix, fit.state, robust=True, iterations=30)
        fits.append(_right_way_up(ix, replace(minimise(ix, bent.state, iterations=60), robust_state=bent.state)))
    return [fit for fit in fits if np.isfinite(fit.cost)]


def _different(fits: list[Fit]) -> list[Fit]:
    """The fits without those whose points are all within 30 mm of a better one's."""
    kept: list[Fit] = []
    for fit in fits:
        if all(_apart(fit.state, other.state) > 30.0 for other in kept):
            kept.append(fit)
    return kept


def _sound(ix: Indexed, fit: Fit) -> bool:
    """Whether a floor is a room and fits as well as readings of the stated quality should."""
    return fit.cost <= _plausible_cost(ix) and is_simple(fit.state.points_mm[ix.outline])


def is_believable(ix: Indexed, fit: Fit) -> bool:
    """Whether a sound floor looks like a room too, so that no other need be sought."""
    return _sound(ix, fit) and implausibility(ix, fit.state) < _ODD


def is_sound_but_for_one(ix: Indexed, fit: Fit) -> bool:
    """Whether one wrong reading that a person took would explain a bad fit, with nothing else against the room."""
    state = fit.robust_state or fit.state
    priors = 2 * len(ix.target_numbers) + LENS * len(ix.lens_focal) + len(ix.photo_names) + len(ix.tape_error_sd)
    return _is_sound_but_for(ix, state, reading_squares(ix, state), slice(0, -priors or None))


def _sound_but_for_a_tape(ix: Indexed, fit: Fit) -> bool:
    """Whether one slip of the tape would explain a bad fit, with nothing else against the room."""
    if fit.robust_state is None or not len(ix.tape_mm):
        return False
    taped = ix.mark_readings + len(ix.click_photo)
    lengths = slice(taped, taped + len(ix.tape_mm) + len(ix.offset_mm))
    return _is_sound_but_for(ix, fit.robust_state, reading_squares(ix, fit.robust_state), lengths)


def _is_sound_but_for(ix: Indexed, state: State, squares: np.ndarray, among: slice) -> bool:
    """Whether a floor fits and looks like a room once the worst of some readings is not counted."""
    return float(np.sum(squares) - np.max(squares[among])) <= _plausible_cost(ix) and implausibility(ix, state) < _ODD


def _plausible_cost(ix: Indexed) -> float:
    """99.9 % quantile of the cost of readings that are as good as they claim."""
    return float(chdtri(_to_spare(ix), 0.001))


def _to_spare(ix: Indexed) -> int:
    """Observation lines beyond the number of unknowns; at least 1."""
    return max(len(line_groups(ix)) - (ix.columns - 3), 1)


def _mirror_images(ix: Indexed, fit: Fit) -> list[Fit]:
    """The mirrored floor with every photo placed anew: as good only if no photo shows three points off a line."""
    looks = make_looks(ix)
    if not looks:
        return []
    flipped = fit.state.points_mm * np.array([1.0, -1.0])
    places = {k: complex(x, y) for k, (x, y) in enumerate(flipped)}
    way = np.diff(flipped[[*ix.outline, 0]], axis=0) @ np.array([1.0, 1j])
    known = Known(places=places, frame=complex(np.sum((way / np.maximum(np.abs(way), 1.0)) ** 4)),
                  height=float(np.median(fit.state.eye_heights())))
    poses = {}
    for look in looks:
        for trial in best_trials(look, known, keep=1, normals=normals_grid()):
            poses[look.photo] = trial
    if len(poses) < len(ix.photo_names):
        return []
    sketch = Sketch(known=known, poses=poses, against=0.0)
    rough = minimise(ix, _state(ix, Partial(places=places, against=0.0), sketch, 1.0), robust=True, iterations=30)
    return [_right_way_up(ix, replace(minimise(ix, rough.state, iterations=60), robust_state=rough.state))] if np.isfinite(rough.cost) else []


def _choose(ix: Indexed, fits: list[Fit]) -> Start:
    """The fit that is most a room: lowest robust cost plus what speaks against it as a room seen by a person in it."""
    def against(fit: Fit) -> tuple[float, float]:
        return min(_against(ix, state) for state in (fit.state, fit.robust_state) if state is not None)

    ranked = sorted((*against(fit), number) for number, fit in enumerate(fits))
    lowest, hints, best = ranked[0]
    chosen, tie = fits[best], lowest + _TIE + _TIE_OF_HINTS * hints
    rivals = [fits[k] for cost, _, k in ranked[1:] if cost < tie and _apart(chosen.state, fits[k].state) > 100.0]
    return Start(fit=chosen, rival=rivals[0] if rivals else None)


def _against(ix: Indexed, state: State) -> tuple[float, float]:
    """All that speaks against a floor, and how much of it rests on rough prices instead of readings."""
    odd = implausibility(ix, state)
    whole, spared = robust_cost(ix, state), _spared_cost(ix, state)
    return (whole + odd, odd) if whole <= spared[0] else (spared[0] + odd, spared[1] + odd)


def _spared_cost(ix: Indexed, state: State) -> tuple[float, float]:
    """The cost without the reading that is best called wrong plus the price for calling it so, and that price."""
    squares = reading_squares(ix, state)
    kinds = ((ix.mark_readings, _WRONG_MARK), (len(ix.click_photo), _WRONG_CLICK), (len(ix.tape_mm) + len(ix.offset_mm), _WRONG_LENGTH))
    prices = np.full(len(squares), _WRONG_BELIEF)
    known = np.repeat([price for _, price in kinds], [count for count, _ in kinds])
    prices[:len(known)] = known
    best = int(np.argmin(prices - squares))
    return float(np.sum(squares) - squares[best] + prices[best]), float(prices[best])


def _apart(one: State, other: State) -> float:
    return float(np.max(np.hypot(*(one.points_mm - other.points_mm).T)))


def _right_way_up(ix: Indexed, fit: Fit) -> Fit:
    """The fit seen from above, in the solver's gauge; cost inf if some cameras are above the floor and some below.

    Without photos nothing tells the mirror image apart, and the outline is taken to run anticlockwise.
    """
    heights = fit.state.eye_heights()
    below = bool(np.all(heights < 0)) if len(heights) else ring_area_mm2(fit.state.points_mm[ix.outline]) < 0
    if len(heights) and not below and np.any(heights < 0):
        return replace(fit, cost=np.inf)

    def turned(state: State) -> State:
        return (state.seen_from_above() if below else state).in_gauge(0, 1)

    return replace(fit, state=turned(fit.state), robust_state=turned(fit.robust_state) if fit.robust_state else None)


def _photo_states(ix: Indexed, effort: _Effort) -> list[State]:
    states: list[State] = []
    for sketch in sketch_photos(ix, first_trials=effort.first_trials, limit=effort.sketches, square_weight=effort.square_weight):
        scaled, factor = _scaled(ix, sketch)
        whole = place_rest(ix, scaled, sketch.known.frame, _seen_walls(ix, sketch, factor), beam=effort.beam)
        states += [_state(ix, one, sketch, factor) for one in whole[:max(3, effort.beam // 4)]]
    return states


def _scaled(ix: Indexed, sketch: Sketch) -> tuple[Partial, float]:
    """The sketch at the size that its tape lengths ask for."""
    places = sketch.known.places
    taped = [(a, b, float(mm)) for (a, b), mm in zip(ix.tape_ends.tolist(), ix.tape_mm)]

    def ratios(lengths: list[tuple[int, int, float]]) -> list[float]:
        return [mm / abs(places[a] - places[b]) for a, b, mm in lengths if a in places and b in places and abs(places[a] - places[b]) > 1.0]

    # Paper is short and only rules where no tape does.
    factor = float(np.median(ratios(taped) or ratios(known_lengths(ix)) or [1.0]))
    return Partial(places={p: z * factor for p, z in places.items()}, against=sketch.against), factor


def _seen_walls(ix: Indexed, sketch: Sketch, factor: float) -> dict[frozenset[int], list[complex]]:
    """Plan places of wall-line clicks, by wall."""
    found: dict[frozenset[int], list[complex]] = {}
    for photo, wall, px in zip(ix.click_photo.tolist(), ix.click_wall.tolist(), ix.click_px):
        if photo in sketch.poses:
            camera, trial = ix.photo_camera[photo], sketch.poses[photo]
            rays = px_to_rays(px[None], ix.lens_focal[camera], ix.lens_bend[camera], ix.photo_centre[photo])
            figure, valid = unit_floor(np.array([trial.normal]), rays / np.linalg.norm(rays))
            if valid[0]:
                found.setdefault(frozenset(wall), []).append(factor * (trial.a * figure[0, 0] + trial.b))
    return found


def _state(ix: Indexed, whole: Partial, sketch: Sketch | None, factor: float) -> State:
    """Arrays of a rough floor, in the solver's gauge."""
    points = np.array([[whole.places[k].real, whole.places[k].imag] for k in range(ix.point_count)])
    rotations, shifts = np.zeros((len(ix.photo_names), 3, 3)), np.zeros((len(ix.photo_names), 3))
    for photo, trial in (sketch.poses if sketch else {}).items():
        rotations[photo], shift = pose_arrays(trial)
        shifts[photo] = factor * shift
    state = State(points_mm=points, rotations=rotations, shifts_mm=shifts, log_focal=np.log(ix.lens_focal), bend=ix.lens_bend.copy(),
                  centres_px=ix.photo_centre.copy(),
                  tape_error=np.zeros(len(ix.tape_error_sd)))
    return state.in_gauge(0, 1)


def _tape_states(ix: Indexed, effort: _Effort) -> list[State]:
    """Rough floors from tape lengths only, begun at several taped pairs."""
    pairs = {frozenset(p): (p, mm) for p, mm in zip(map(tuple, ix.tape_ends.tolist()), ix.tape_mm) if p[0] != p[1]}
    degree = np.bincount(ix.tape_ends.ravel(), minlength=len(ix.names))
    size = len(ix.outline)
    walls = {frozenset((k, (k + 1) % size)) for k in range(size)}
    order = sorted(pairs, key=lambda pair: (pair not in walls, -sum(degree[list(pair)])))
    states = [_state(ix, whole, None, 1.0) for sketch in sketch_turns(ix, keep=effort.polished)
              for whole in place_rest(ix, sketch, 1.0, {}, beam=4)[:1]]
    for pair in order[:effort.first_trials]:
        (a, b), mm = pairs[pair]
        start = Partial(places={a: 0j, b: complex(mm)}, against=0.0)
        states += [_state(ix, whole, None, 1.0) for whole in place_rest(ix, start, 1.0 if pair in walls else 0.0, {},
                                                                        beam=8 * effort.beam)[:2 * effort.beam]]
    return states
