"""Every reading after the adjustment: residual, standardised residual and redundancy, in the terms of the person who
took it.

Standardised residuals: Baarda, "A testing procedure for use in geodetic networks" (1968): w = v / (sd sqrt(r)); the two
coordinates of a mark are tested together with T = v' (Q_v)^-1 v, chi-square with 2 degrees of freedom, and w is its
root. Critical values at alpha = 0.001: 3.29 for one coordinate (Baarda's), 3.72 for two (root of the chi-square
quantile); see `critical`.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import chdtri

from capture.adjustment.least_squares import Precision, line_groups
from capture.adjustment.parameter_index import Indexed, target_numbers
from capture.network import PRINT_SD, SHEET_SD_MM, Network
from capture.adjustment.survey import Reading

#: Lines tested together, by kind of reading; one for the others.
_LINES = {"mark": 2, "target": 8, "sheet": 4, "paper": 5}
#: One test at 0.001 is Baarda's; a survey tests dozens of readings, and this share of sound surveys may be doubted at
#: most.
_ALPHA, _SURVEY_ALPHA = 0.001, 0.015


def _critical_of(lines: int, alpha: float) -> float:
    """Root of the chi-square quantile for so many lines."""
    return float(np.sqrt(chdtri(lines, alpha)))


CRITICAL_1D, CRITICAL_2D = _critical_of(1, _ALPHA), _critical_of(2, _ALPHA)
#: Non-centrality at alpha 0.001 and power 0.80 (Baarda 1968; trade fact sheet, 10.8).
_NON_CENTRALITY = 4.1321
#: A tape whose slip of this size would not show is as good as unchecked; our own choice, no source.
HIDDEN_SLIP_MM = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """What a group of observation lines is: kind, names, photo, value as read, its sd, and its place in the job."""

    kind: str
    names: tuple[str, ...]
    photo: str
    value: float
    sd: float
    where: str


def labels(network: Network) -> tuple[Label, ...]:
    """One label per reading in the order of `indexed.line_groups`."""
    found = [Label(kind="mark", names=(m.point,), photo=m.photo, value=0.0, sd=m.sd_px, where=m.where)
             for m in network.marks]
    found += [Label(kind="target", names=(f"T{m.seen.number}",), photo=m.photo, value=0.0, sd=m.seen.sd_px, where="")
              for m in network.target_marks]
    for line in network.wall_lines:
        found += [Label(kind="edge", names=line.wall, photo=line.photo, value=0.0, sd=line.sd_px, where=line.where)
                  for _ in line.points_px]
    found += [Label(kind="tape", names=(t.a, t.b), photo="", value=t.length_mm, sd=t.sd_mm, where=t.where)
              for t in network.tapes]
    found += [Label(kind="offset", names=(o.point, *o.wall), photo="", value=o.distance_mm, sd=o.sd_mm, where=o.where)
              for o in network.offsets]
    found += [Label(kind="square", names=(s.corner,), photo="", value=np.pi / 2, sd=s.sd_rad, where=s.where)
              for s in network.squares]
    found += [Label(kind="on-wall", names=(o.point, *o.wall), photo="", value=0.0, sd=o.sd_mm, where=o.where)
              for o in network.on_walls]
    found += [Label(kind="paper", names=p.corners, photo="", value=p.sides_mm[0], sd=p.sd_mm, where=p.where)
              for p in network.papers]
    found += _target_labels(network)
    for camera in network.cameras:
        found.append(Label(kind="lens", names=(camera.name, "focal length"), photo="", value=camera.focal_px,
                           sd=camera.focal_sd, where=""))
        found.append(Label(kind="lens", names=(camera.name, "k1"), photo="", value=camera.k1, sd=camera.k1_sd,
                           where=""))
        found.append(Label(kind="lens", names=(camera.name, "k2"), photo="", value=camera.k2, sd=camera.k2_sd,
                           where=""))
    found += [Label(kind="lens", names=(p.name, "centre"), photo=p.name, value=0.0, sd=1.0, where="")
              for p in network.photos]
    if network.tape_error is not None:
        found.append(Label(kind="tape-error", names=("scale",), photo="", value=0.0, sd=network.tape_error.scale_sd,
                           where="tape_error"))
        found.append(Label(kind="tape-error", names=("hook",), photo="", value=0.0, sd=network.tape_error.hook_sd_mm,
                           where="tape_error"))
    return tuple(found)


def _target_labels(network: Network) -> list[Label]:
    """Shapes, then sizes: the first target's is the printed size, the others' the difference from the first."""
    names, size = [f"T{number}" for number in target_numbers(network)], network.target_size_mm
    shapes = [Label(kind="sheet", names=(name,), photo="", value=0.0, sd=SHEET_SD_MM, where="") for name in names]
    printed = [Label(kind="sheet-size", names=(name,), photo="", value=size, sd=PRINT_SD * size, where="targets")
               for name in names[:1]]
    return shapes + printed + [Label(kind="sheet-size", names=(name, names[0]), photo="", value=0.0, sd=SHEET_SD_MM,
                                     where="") for name in names[1:]]


def read_off(ix: Indexed, network: Network, precision: Precision) -> tuple[Reading, ...]:
    """All readings with their checks; `suspect` and `says` are left to the snooping.

    A reading left out is checked wholly by the others: its redundancy is 1 (and not among the degrees of freedom), its
    w is its distance from what they predict, over the standard deviation of that difference.
    """
    groups = line_groups(ix)
    readings = []
    for number, label in enumerate(labels(network)):
        lines = np.flatnonzero(groups == number)
        block, residual = precision.residual_cov[np.ix_(lines, lines)], precision.residual[lines]
        redundancy = float(np.clip(np.trace(block) / len(lines), 0.0, 1.0))
        size = float(np.linalg.norm(residual) / np.sqrt(len(lines) / 2)) if len(lines) > 1 else float(residual[0])
        readings.append(Reading(kind=label.kind, names=label.names, photo=label.photo, value=label.value,
                                residual=size * label.sd, sd=label.sd, w=_standardised(residual, block),
                                redundancy=redundancy, suspect=False, says="", where=label.where))
    return tuple(readings)


def smallest_slip(reading: Reading) -> float:
    """The smallest slip that the others would show, four times in five, in the reading's unit; inf if they never
    would."""
    return _NON_CENTRALITY * reading.sd / reading.redundancy**0.5 if reading.redundancy > 1e-6 else float("inf")


def critical(reading: Reading, tested: int = 1) -> float:
    """Critical value of this reading's w where so many are tested at once: at alpha = 0.001, or less for more than
    fifteen readings (Sidak's inequality, 1967: the chance that any of n sound readings is doubted stays below 1 - (1 -
    alpha)^n)."""
    alpha = min(_ALPHA, 1.0 - (1.0 - _SURVEY_ALPHA) ** (1.0 / max(tested, 1)))
    return _critical_of(_LINES.get(reading.kind, 1), alpha)


def is_tested(reading: Reading) -> bool:
    """Whether others check this reading, and it is one that a person took."""
    return reading.kind not in ("lens", "tape-error") and reading.redundancy > 1e-6


def _standardised(residual: np.ndarray, block: np.ndarray) -> float:
    """w (signed for one line, the root of T for more); 0 where the reading is not checked at all."""
    if len(residual) == 1:
        return float(residual[0] / np.sqrt(block[0, 0])) if block[0, 0] > 1e-6 else 0.0
    values, vectors = np.linalg.eigh(block)
    along = vectors.T @ residual
    sound = values > 1e-6
    return float(np.sqrt(np.sum(along[sound] ** 2 / values[sound])))
