"""Places in a piece of a picture where straight edges meet, with what tells the foot of a corner from other places.

All in px of a `Patch` (`edges`): x right, y down. Where segments could meet, every edge is followed from there, and the
edges are crossed by least squares: the place with the smallest sum of squared distances from the lines, each over its
variance.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from capture.image.edges import Array, Bools, Patch, Ray, find_segments, follow

#: A segment may end this far before the meeting place, or reach this far beyond it.
_SHORT_OF_PX, _BEYOND_PX = 20.0, 6.0
#: Meeting places nearer to one another than this are one, and following edges moves none farther than that.
_SAME_PLACE_PX, _STRAY_PX = 5.0, 8.0
#: Two edges that differ by less than this are the same, or cross too flat to cross at all.
_COS_FLAT, _SINE_FLAT = float(np.cos(np.radians(10.0))), float(np.sin(np.radians(10.0)))
#: What a line may be off although it is measured well (a chamfer, a dark gap, paint), px; twice that for an upright
#: edge, for the arris between two skirtings is rounded.
_MODEL_SD_PX = 0.8
#: An edge within 25 degrees of straight up or down is no level one.
_COS_UPRIGHT = float(np.cos(np.radians(25.0)))
#: A change of colour that is more than light and shade: its share of the whole change, and its least size, of 255.
_TINT, _LEAST_TINT = 0.12, 4.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Meeting:
    """Where edges meet: (2,) place, (2, 2) covariance in px2, and the edges that run out from there."""

    place: Array
    cov_px2: Array
    rays: tuple[Ray, ...]

    @property
    def sd_px(self) -> float:
        """Standard deviation of the place in its worst direction."""
        return float(np.sqrt(np.linalg.eigvalsh(self.cov_px2)[-1]))

    @property
    def level(self) -> list[Ray]:
        """The edges that are not upright."""
        return [ray for ray in self.rays if abs(ray.way[1]) < _COS_UPRIGHT]

    @property
    def ending(self) -> list[Ray]:
        """The edges that end here; no strokes."""
        return _ending(self.rays)

    @property
    def is_end(self) -> bool:
        """Whether edges end here: a corner of something. Beside edges that go on, one of these must be a change of
        colour: a shadow may well continue a wall's edge over the floor, but not a skirting.
        """
        ending = self.ending
        return _span(ending) and (len(ending) == len(self.rays) or any(is_coloured(ray) for ray in ending))

    @property
    def is_front(self) -> bool:
        """Whether an edge passes in front of another, which ends there only to the eye."""
        steps = [ray for ray in self.rays if not ray.is_stroke]
        return not self.is_end and _span(steps) and len(self.ending) < len(steps)

    @property
    def is_coloured(self) -> bool:
        """Whether all level edges that end here are changes of colour, as between a skirting and a floor, not of
        light and shade."""
        level = [ray for ray in self.ending if abs(ray.way[1]) < _COS_UPRIGHT]
        return bool(level) and all(is_coloured(ray) for ray in level)


def find_meetings(patch: Patch) -> list[Meeting]:
    """Every place of a patch where edges meet."""
    found = (meeting_at(patch, place, ways) for place, ways in _supposed(find_segments(patch)))
    return [meeting for meeting in found if meeting is not None]


def meeting_at(patch: Patch, place: Array, ways: Array) -> Meeting | None:
    """Where the edges meet that run out from near `place` (2,) along `ways` (k, 2), unit vectors; None if they do not.

    Measured twice, the second time from the place found first.
    """
    start = place
    for _ in range(2):
        rays = _different([ray for ray in (follow(patch, place, way) for way in ways) if ray is not None])
        if not _span(rays):
            return None
        place, cov = _crossing(_telling(rays))
        if np.hypot(*(place - start)) > _STRAY_PX or not patch.holds(place):
            return None
        ways = np.array([ray.way for ray in rays])
    return Meeting(place=place, cov_px2=cov, rays=tuple(rays))


def is_coloured(ray: Ray) -> bool:
    """Whether the two sides differ by more than light and shade: neither is the other made darker."""
    a, b = ray.colours
    change = float(np.linalg.norm(b - a))
    tint = float(np.linalg.norm(b - (a @ b) / max(float(a @ a), 1.0) * a))
    return tint >= max(_TINT * change, _LEAST_TINT)


def _supposed(segments: Array) -> list[tuple[Array, Array]]:
    """Places (2,) where segments could meet, with the ways (k, 2) they run out from there."""
    length = segments[:, 1] - segments[:, 0]
    unit = length / np.hypot(*length.T)[:, None]
    one, other = np.triu_indices(len(segments), 1)
    sine = _sine(unit[one], unit[other])
    steep = np.abs(sine) > _SINE_FLAT
    one, other, sine = one[steep], other[steep], sine[steep]
    share = _sine(segments[other, 0] - segments[one, 0], unit[other]) / sine
    places = segments[one, 0] + share[:, None] * unit[one]
    (first, ends), (second, also_ends) = (_ways_out(places, segments[which], unit[which]) for which in (one, other))
    meets = ends & also_ends
    return _gathered(places[meets], np.stack([first, second], axis=1)[meets])


def _sine(a: Array, b: Array) -> Array:
    """Sine of the angle from a to b, (..., 2) unit vectors; times their lengths for longer ones."""
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]


def _ways_out(places: Array, segments: Array, unit: Array) -> tuple[Array, Bools]:
    """(m, 2) the way each segment runs from a place on its line, and (m,) whether it ends near there."""
    far = np.sum((segments - places[:, None]) * unit[:, None], axis=2)
    outward = np.where(np.abs(far[:, 1]) >= np.abs(far[:, 0]), 1.0, -1.0)
    short_of = np.min(far * outward[:, None], axis=1)
    return unit * outward[:, None], (short_of >= -_BEYOND_PX) & (short_of <= _SHORT_OF_PX)


def _gathered(places: Array, ways: Array) -> list[tuple[Array, Array]]:
    """Places (m, 2) that are one taken together, each with all the different ways (m, 2, 2) out of it."""
    groups = []
    while len(places):
        same = np.hypot(*(places - places[0]).T) < _SAME_PLACE_PX
        groups.append((np.median(places[same], axis=0), _distinct(ways[same].reshape(-1, 2))))
        places, ways = places[~same], ways[~same]
    return groups


def _distinct(ways: Array) -> Array:
    """The ways (k, 2) without those within three degrees of an earlier one."""
    kept: list[Array] = []
    for way in ways:
        if all(way @ other < np.cos(np.radians(3.0)) for other in kept):
            kept.append(way)
    return np.array(kept)


def _different(rays: Sequence[Ray]) -> list[Ray]:
    """The rays without those that run the same way as a longer one."""
    kept: list[Ray] = []
    for ray in sorted(rays, key=lambda ray: -ray.length_px):
        if all(ray.way @ other.way < _COS_FLAT for other in kept):
            kept.append(ray)
    return kept


def _ending(rays: Sequence[Ray]) -> list[Ray]:
    """The rays that are edges and end at the meeting place: neither an edge nor another ray continues them beyond."""
    return [ray for ray in rays if not (ray.is_stroke or ray.goes_on
                                        or any(ray.way @ other.way < -_COS_FLAT for other in rays))]


def _telling(rays: Sequence[Ray]) -> Sequence[Ray]:
    """The rays that tell the place. Where edges end, a change of colour tells it too though a shadow continues it,
    but no other does."""
    ending = _ending(rays)
    return [ray for ray in rays if ray in ending or (is_coloured(ray) and not ray.is_stroke)] if _span(ending) else rays


def _span(rays: Sequence[Ray]) -> bool:
    """Whether two of the rays cross."""
    return any(abs(_sine(a.way, b.way)) > _SINE_FLAT for a in rays for b in rays)


def _crossing(rays: Sequence[Ray]) -> tuple[Array, Array]:
    """Place (2,) nearest to all the lines, weighted by their variance, and its covariance (2, 2)."""
    across = np.array([[-ray.way[1], ray.way[0]] for ray in rays])
    weight = 1.0 / np.array([ray.var_px2 + _model_sd_px(ray) ** 2 for ray in rays])
    cov = np.linalg.inv((across * weight[:, None]).T @ across)
    held = np.sum(across * np.array([ray.foot for ray in rays]), axis=1)
    return cov @ (across * weight[:, None]).T @ held, cov


def _model_sd_px(ray: Ray) -> float:
    return 2.0 * _MODEL_SD_PX if ray.way[1] < -_COS_UPRIGHT else _MODEL_SD_PX
