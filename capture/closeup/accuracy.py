"""How far from the reference a close-up can be trusted, said before anything is cut. Floor frame of `plane_pose`,
mm."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from capture.image.edge_profiles import Array
from capture.closeup.plane_pose import Z95, View
from capture.language.messages import gettext

#: Half a 95 % interval beyond which nothing is promised, mm: a gap of 8 to 10 mm bears that beside a saw's own
#: millimetre.
WORST_PM_MM = 1.5
#: Distances from the reference's rim that are looked at, mm, and what a traced edge adds, px.
_DISTANCES_MM = tuple(float(v) for v in (0, 20, 40, 60, 80, 100, 120, 150, 200, 250, 300, 400, 500))
_EDGE_SD_PX = 0.3


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Promise:
    """errors: (distance from the reference, half a 95 % interval in the worst direction there), mm, as far as
    WORST_PM_MM allows; reach_mm: how far that is (0: not even beside it). asks: what would help."""

    view: View
    errors: tuple[tuple[float, float], ...]
    reach_mm: float

    @property
    def asks(self) -> tuple[str, ...]:
        """What to do where the picture promises little."""
        if self.reach_mm >= 120.0:
            return ()
        good = {"spread": WORST_PM_MM, "reach": self.reach_mm, "reference": self.view.reference.says}
        if self.view.reference.name == "card":
            return (gettext("This photo is good to {spread:g} mm only up to {reach:.0f} mm from the {reference}: for "
                            "more, lay an A4 or Letter sheet instead of the card, go nearer, and keep what you trace "
                            "close beside it.", **good),)
        return (gettext("This photo is good to {spread:g} mm only up to {reach:.0f} mm from the {reference}: for more, "
                        "go nearer, and keep what you trace close beside it.", **good),)

    def beyond(self, places_mm: Array) -> tuple[str, ...]:
        """A sentence if some of the places (k, 2) lie beyond what is promised."""
        far = distance_mm(self.view, places_mm)
        if not np.any(far > self.reach_mm):
            return ()
        return (gettext("Part of what was traced lies {far:.0f} mm from the {reference}, and this photo promises "
                        "nothing beyond {reach:.0f} mm: take it again with the {reference} right beside it.",
                        far=float(np.max(far)), reference=self.view.reference.says, reach=self.reach_mm),)


def distance_mm(view: View, places_mm: Array) -> Array:
    """(k,) distance of places from the reference's rectangle; 0 on it."""
    over = np.maximum(np.abs(places_mm) - view.sides_mm / 2, 0.0)
    return np.hypot(*over.T)


def shrunk(view: View, off_mm: float) -> float:
    """By what share all on the floor comes out too small if the reference lay `off_mm` above it, level: one photo
    cannot tell that.

    The camera then stood that much higher above the floor than above the reference, and lengths go with the height they
    are seen from.
    """
    return off_mm / (float(view.eye_mm[2]) + off_mm)


def promise_of(view: View) -> Promise:
    """The error at each distance, in the worst of 32 directions that the picture shows, until it is too large."""
    errors: list[tuple[float, float]] = []
    reach = 0.0
    for distance in _DISTANCES_MM:
        places = _rim(view, distance)
        if not len(places):
            break
        pm = float(np.max(pm95_mm(view, places)))
        if pm > WORST_PM_MM:
            if errors:
                (near, small), (far, large) = errors[-1], (distance, pm)
                reach = near + (far - near) * (WORST_PM_MM - small) / (large - small)
            break
        errors.append((distance, pm))
        reach = distance
    return Promise(view=view, errors=tuple(errors), reach_mm=reach)


def pm95_mm(view: View, places_mm: Array) -> Array:
    """(k,) half a 95 % interval of places traced on edges, in the worst direction."""
    cov = view.covariance(places_mm)
    by_px, _ = view.slopes(places_mm)
    blocks = [cov[2 * k:2 * k + 2, 2 * k:2 * k + 2] + _EDGE_SD_PX**2 * by_px[k] @ by_px[k].T
              for k in range(len(places_mm))]
    return np.array([Z95 * np.sqrt(float(np.linalg.eigvalsh(block)[-1])) for block in blocks])


def _rim(view: View, distance: float) -> Array:
    """Places all round the reference at a distance, those in the picture."""
    w, h = view.sides_mm / 2
    turn = np.linspace(0.0, 2 * np.pi, 32, endpoint=False)
    way = np.column_stack([np.cos(turn), np.sin(turn)])
    places = np.sign(way) * np.array([w, h]) * np.minimum(1.0, np.abs(way) * 1.5) + distance * way
    px = view.to_px(places)
    return places[np.all((px >= 0) & (px <= np.array(view.size_px) - 1.0), axis=1)]
