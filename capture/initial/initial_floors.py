"""Rough floors with their photos, from every source there is; the adjustment brings them to their minima and picks.

Photos laid side by side (`chain.py`) do not need the walls' lengths; outlines from wall lengths and turns (`turns.py`)
do not need the photos, which are then stood on them (`standing.py`). A slip in the one spoils nothing in the other.
"""
from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from capture.camera import px_to_rays
from capture.initial.photo_registration import Sketch, pose_arrays, sketch_photos
from capture.readings.state import State
from capture.readings.indexed import Indexed
from capture.initial.pose_hypotheses import known_lengths, make_looks, normals_grid, unit_floor
from capture.initial.trilateration import Partial, place_rest
from capture.initial.resection import stand_photos, stand_without
from capture.initial.traverses import sketch_turns
from capture.readings.tape import Tapes
from capture.readings.photo import Marks, WallClicks


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How wide to search: trials of each first photo, sketches kept, beam of alternatives, outlines from turns, minima
    sought; and how much it counts that walls are mostly square to one another."""

    first_trials: int
    sketches: int
    beam: int
    turned: int
    polished: int
    square_weight: float = 1.0


#: Rough floors kept while points are placed from tape alone: so many points on all of them together, in floors of more
#: corners than rooms have.
_PLACED_AT_ONCE, _LEAST_BEAM = 1200, 8
#: Enough where one reading of several photos is left out: what remains is sound and mostly easy, and it is tried for
#: many readings.
LIGHT_EFFORT = Effort(first_trials=2, sketches=8, beam=6, turned=3, polished=4)
EFFORTS = (Effort(first_trials=4, sketches=24, beam=6, turned=8, polished=10),
           Effort(first_trials=6, sketches=30, beam=12, turned=24, polished=24, square_weight=0.15))


def rough_states(ix: Indexed, effort: Effort, *, focal: float = 1.0) -> list[State]:
    """States in the solver's gauge, the likeliest first. focal: factor on the focal lengths that photos are laid
    with."""
    if not len(ix.photo_names):
        return _tape_states(ix, effort)
    ix = replace(ix, lens_focal=ix.lens_focal * focal)
    return _photo_states(ix, effort) + _stood_states(ix, effort)


def state_on(ix: Indexed, floor: Partial, *, doubting: bool) -> State | None:
    """The photos stood on a floor, then every point that is still nowhere placed; None where a photo cannot be stood.

    doubting: a photo may do without one of its marks where the others then fit better.
    """
    looks = make_looks(ix)
    sketch = stand_photos(ix, floor, looks, normals_grid(), doubting=doubting) if looks else None
    if sketch is None or len(sketch.poses) < len(ix.photo_names):
        return None
    whole = place_rest(ix, Partial(places=sketch.known.places, against=0.0), sketch.known.frame,
                       _seen_walls(ix, sketch, 1.0), beam=4)
    return _state(ix, whole[0], sketch, 1.0)


def states_without_marks(ix: Indexed, state: State) -> list[tuple[State, int]]:
    """(a state, the mark's reading) for each mark of a named point: the photo that shows it stood anew on the same
    floor without it.

    A wrong mark may have put the camera where no small step leads back from.
    """
    places, normals = {k: complex(x, y) for k, (x, y) in enumerate(state.points_mm)}, normals_grid()
    found = []
    for look in make_looks(ix):
        mine = np.flatnonzero(ix.of(Marks).photo == look.photo)
        for k, trial in stand_without(ix, places, look, normals):
            rotations, shifts = state.rotations.copy(), state.shifts_mm.copy()
            rotations[look.photo], shifts[look.photo] = pose_arrays(trial)
            found.append((replace(state, rotations=rotations, shifts_mm=shifts), int(ix.of(Marks).reading[mine[k]])))
    return found


def _stood_states(ix: Indexed, effort: Effort) -> list[State]:
    """Outlines from their turns with the photos on them."""
    states = [state_on(ix, outline, doubting=True) for outline in sketch_turns(ix, keep=effort.turned)]
    return [state for state in states if state is not None]


def _photo_states(ix: Indexed, effort: Effort) -> list[State]:
    states: list[State] = []
    for sketch in sketch_photos(ix, first_trials=effort.first_trials, limit=effort.sketches,
                                square_weight=effort.square_weight):
        scaled, factor = _scaled(ix, sketch)
        whole = place_rest(ix, scaled, sketch.known.frame, _seen_walls(ix, sketch, factor), beam=effort.beam)
        states += [_state(ix, one, sketch, factor) for one in whole[:max(3, effort.beam // 4)]]
    return states


def _scaled(ix: Indexed, sketch: Sketch) -> tuple[Partial, float]:
    """The sketch at the size that its tape lengths ask for."""
    places = sketch.known.places
    taped = ix.of(Tapes).distances()

    def ratios(lengths: list[tuple[int, int, float]]) -> list[float]:
        return [mm / abs(places[a] - places[b]) for a, b, mm in lengths if a in places and b in places
                and abs(places[a] - places[b]) > 1.0]

    # Paper is short and only rules where no tape does.
    factor = float(np.median(ratios(taped) or ratios(known_lengths(ix)) or [1.0]))
    return Partial(places={p: z * factor for p, z in places.items()}, against=sketch.against), factor


def _seen_walls(ix: Indexed, sketch: Sketch, factor: float) -> dict[frozenset[int], list[complex]]:
    """Plan places of wall-line clicks, by wall."""
    found: dict[frozenset[int], list[complex]] = {}
    clicks = ix.of(WallClicks)
    for photo, wall, px in zip(clicks.photo.tolist(), clicks.wall.tolist(), clicks.px):
        if photo in sketch.poses:
            camera, trial = ix.photo_camera[photo], sketch.poses[photo]
            rays = px_to_rays(px[None], ix.lens_focal[camera], ix.lens_distortion[camera], ix.photo_centre[photo])
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
    state = State(points_mm=points, rotations=rotations, shifts_mm=shifts, log_focal=np.log(ix.lens_focal),
                  distortion=ix.lens_distortion.copy(), centres_px=ix.photo_centre.copy(),
                  tape_error=np.zeros(len(ix.tape_error_sd)))
    return state.in_gauge(0, 1)


def _tape_states(ix: Indexed, effort: Effort) -> list[State]:
    """Rough floors from tape lengths only, begun at several taped pairs."""
    tapes = ix.of(Tapes)
    pairs = {frozenset(p): (p, mm) for p, mm in zip(map(tuple, tapes.ends.tolist()), tapes.mm) if p[0] != p[1]}
    degree = np.bincount(tapes.ends.ravel(), minlength=len(ix.names))
    size = len(ix.outline)
    walls = {frozenset((k, (k + 1) % size)) for k in range(size)}
    order = sorted(pairs, key=lambda pair: (pair not in walls, -sum(degree[list(pair)])))
    states = [_state(ix, whole, None, 1.0) for sketch in sketch_turns(ix, keep=effort.polished)
              for whole in place_rest(ix, sketch, 1.0, {}, beam=4)[:1]]
    for pair in order[:effort.first_trials]:
        (a, b), mm = pairs[pair]
        start = Partial(places={a: 0j, b: complex(mm)}, against=0.0)
        beam = min(8 * effort.beam, max(_LEAST_BEAM, _PLACED_AT_ONCE // ix.point_count))
        floors = place_rest(ix, start, 1.0 if pair in walls else 0.0, {}, beam=beam)[:2 * effort.beam]
        states += [_state(ix, whole, None, 1.0) for whole in floors]
    return states
