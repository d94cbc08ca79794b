"""Photos stood on a floor known roughly by a closed form (`initial.plane_poses`), whatever letters their marks are
given: thousands of letterings are tried in the time of one adjustment.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from capture.camera import px_to_rays
from capture.initial.photo_registration import pose_arrays
from capture.initial.plane_poses import plane_poses, refined_pose
from capture.initial.pose_hypotheses import Known, best_trials, make_looks, normals_grid
from capture.initial.trilateration import Partial, place_rest
from capture.readings.geometry import floor_points
from capture.readings.indexed import Indexed
from capture.readings.photo import Marks
from capture.readings.state import State

#: Places of points on a rough floor, complex plan mm, by index.
Places = dict[int, complex]


@dataclass(frozen=True, slots=True, eq=False)
class Stand:
    """Where a camera is over the floor, seen from above, and the root mean square of the gaps at its marks, px."""

    rotation: np.ndarray
    shift: np.ndarray
    off_px: float


def clicks_of(ix: Indexed, photo: int) -> list[tuple[int, int]]:
    """(mark, point) of every mark of a photo on a named point."""
    marks = ix.of(Marks)
    return [(int(k), int(marks.point[k])) for k in np.flatnonzero(marks.photo == photo)
            if marks.point[k] < len(ix.names)]


def stood_as_told(ix: Indexed, places: Places) -> dict[int, Stand]:
    """Every photo that stands on a floor with the letters it was given, by its number; with two marks only as far as
    phones are held."""
    found = {}
    looks = {look.photo: look for look in make_looks(ix)}
    for photo in range(len(ix.photo_names)):
        clicks = clicks_of(ix, photo)
        stand = stood(ix, photo, clicks, places)
        if stand is None and photo in looks and sum(point in places for _, point in clicks) == 2:
            trials = best_trials(looks[photo], Known(places=places), keep=1, normals=normals_grid())
            stand = Stand(*pose_arrays(trials[0]), 0.0) if trials else None
        if stand is not None:
            found[photo] = stand
    return found


def stood(ix: Indexed, photo: int, lettering: list[tuple[int, int]], places: Places) -> Stand | None:
    """The photo stood with these (mark, point) pairs; None with fewer than three placed points, or seen from below."""
    pairs = [(mark, places[point]) for mark, point in lettering if point in places]
    if len(pairs) < 3:
        return None
    camera = int(ix.photo_camera[photo])
    spots = np.array([(place.real, place.imag) for _, place in pairs])
    px = ix.of(Marks).px[[mark for mark, _ in pairs]]
    focal, bend, centre = float(ix.lens_focal[camera]), ix.lens_distortion[camera], ix.photo_centre[photo]
    rays = px_to_rays(px, focal, bend, centre)[:, :2]
    stands = [stand for turn, shift in plane_poses(spots, rays) if (stand := _stand(turn, shift, spots, rays, focal))]
    best = min(stands, key=lambda stand: stand.off_px, default=None)
    if best is None or len(pairs) == 3:
        return best
    better = _stand(*refined_pose((best.rotation, best.shift), spots, rays), spots, rays, focal)
    return better if better is not None and better.off_px < best.off_px else best


def _stand(turn: np.ndarray, shift: np.ndarray, spots: np.ndarray, rays: np.ndarray, focal: float) -> Stand | None:
    """A pose with its gaps; None where it sees the floor from below or a place from behind. Three places are seen alike
    from up to four spots: the one where people hold phones counts."""
    body = spots @ turn[:, :2].T + shift
    if -float(turn[:, 2] @ shift) <= 0 or np.any(body[:, 2] <= 1e-6):
        return None
    gaps = float(focal * np.sqrt(np.mean(np.sum((body[:, :2] / body[:, 2:] - rays) ** 2, axis=1))))
    return Stand(rotation=turn, shift=shift, off_px=gaps if len(spots) > 3 else 0.1 * _odd_posture(turn, shift))


def _odd_posture(turn: np.ndarray, shift: np.ndarray) -> float:
    """How unlike a phone in a person's hand a camera stands: upright, a little downwards, some 1.5 m up."""
    up, height = turn[:, 2], -float(turn[:, 2] @ shift)
    return float((up[0] / 0.25) ** 2 + max(up[1], 0.0) * 100.0 + (np.log(height / 1500.0) / 0.35) ** 2)


def state_of(ix: Indexed, places: Places, stands: dict[int, Stand], *, unsure: frozenset[int] = frozenset()
             ) -> State | None:
    """The rough floor with its photos as a state; points that it lacks come from the photos (but for those that are
    unsure) and then from tapes. None where a photo does not stand."""
    if len(stands) < len(ix.photo_names):
        return None
    whole = dict(places)
    marks = ix.of(Marks)
    for k, (photo, point) in enumerate(zip(marks.photo.tolist(), marks.point.tolist())):
        if point not in whole and photo not in unsure:
            whole[point] = _seen_at(ix, stands[photo], photo, marks.px[k])
    if len(whole) < ix.point_count:
        whole = place_rest(ix, Partial(places=whole, against=0.0), 0j, {}, beam=4)[0].places
    points = np.array([(whole[k].real, whole[k].imag) for k in range(ix.point_count)])
    order = range(len(ix.photo_names))
    return State(points_mm=points, rotations=np.array([stands[k].rotation for k in order]).reshape(-1, 3, 3),
                 shifts_mm=np.array([stands[k].shift for k in order]).reshape(-1, 3), log_focal=np.log(ix.lens_focal),
                 distortion=ix.lens_distortion.copy(), centres_px=ix.photo_centre.copy(),
                 tape_error=np.zeros(len(ix.tape_error_sd))).in_gauge(0, 1)


def _seen_at(ix: Indexed, stand: Stand, photo: int, px: np.ndarray) -> complex:
    """Where a mark meets the floor."""
    camera = int(ix.photo_camera[photo])
    rays = px_to_rays(px[None], ix.lens_focal[camera], ix.lens_distortion[camera], ix.photo_centre[photo])
    x, y = floor_points(rays, stand.rotation[None], stand.shift[None])[0]
    return complex(float(np.clip(x, -1e5, 1e5)), float(np.clip(y, -1e5, 1e5)))
