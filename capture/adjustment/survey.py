"""What the adjustment answers: the floor, every reading's residual and check, what to doubt, what to measure next."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from capture.adjustment.notes import Note, Standing
from capture.adjustment.straightness import Bow
from capture.readings.state import State
from capture.floor import Floor
from capture.readings.findings import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading after the adjustment.

    kind: "mark", "edge", "tape", "offset", "square", "on-wall", "lens" (a prior of a camera), "paper" (a sheet on the
    floor), "target" (a printed target in a photo), "sheet" (its shape: a square) or "sheet-size" (the printed size; of
    further targets, the difference from the first). names: the points or the corner it concerns; photo: file name for
    marks and edges, else "". value, residual: mm (tape, offset, on-wall, sheet, sheet-size), px (mark, edge, target:
    residual is the length of the 2-D residual, for a target the root mean square of its corners), rad (square).
    residual = observed - computed. w: standardised residual (for marks the root of the 2-D statistic). redundancy:
    share of the reading that the others check, 0 to 1. finding: what is to be said of it, None if all is well. says:
    that as a sentence, once `capture.words.in_words` has made it.
    """

    kind: str
    names: tuple[str, ...]
    photo: str
    value: float
    residual: float
    sd: float
    w: float
    redundancy: float
    suspect: bool
    says: str = ""
    where: str
    finding: Finding | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """A tape length worth taking next: between two points, and how many mm the expected corner error shrinks.

    length_mm: about what it will be; before_sd_mm, after_sd_mm: that error now and then, one standard deviation. says:
    as for `Reading`.
    """

    a: str
    b: str
    gain_mm: float
    length_mm: float = 0.0
    before_sd_mm: float = 0.0
    after_sd_mm: float = 0.0
    says: str = ""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class PhotoFit:
    """A photo's place over the floor: x_camera = rotation @ (x, y, 0) + shift; floor mm, camera z forward."""

    photo: str
    rotation: NDArray[np.float64]
    shift_mm: NDArray[np.float64]
    focal_px: float
    k1: float
    k2: float
    centre_px: tuple[float, float]
    size_px: tuple[int, int]
    rms_px: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Solved:
    """Where a solve ended: its minimum and what it is made of (`warm_start.py`). only: no other floor fitted nearly
    as well."""

    made_of: tuple[object, ...]
    state: State
    only: bool


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Survey:
    """The solved floor with everything that tells how far to trust it.

    sigma0: root of the variance factor (1 when readings are as good as they claim); redundancy: degrees of freedom.
    standing: how far the floor can be trusted for cutting. notes: what the reader must know besides. verdict, warnings:
    these as sentences, once `capture.words.in_words` has made them. solved: where the adjustment ended, for the next
    one to begin at (`solve_floor(..., near=)`); None for a floor given as exact. bows: how far from straight the walls
    are that have named points along them. rival_mm: (n, 2) places of the floor's points in another floor that fits
    almost as well, in the order of its names; None if there is none.
    """

    floor: Floor
    readings: tuple[Reading, ...] = ()
    suspects: tuple[Reading, ...] = ()
    advice: tuple[Advice, ...] = ()
    photos: tuple[PhotoFit, ...] = ()
    sigma0: float = 1.0
    redundancy: int = 0
    standing: Standing | None = None
    notes: tuple[Note, ...] = ()
    verdict: str = ""
    warnings: tuple[str, ...] = ()
    solved: Solved | None = None
    bows: tuple[Bow, ...] = ()
    rival_mm: NDArray[np.float64] | None = None
