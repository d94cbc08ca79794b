"""Every reading after the adjustment: residual, standardised residual and redundancy, in the terms of the person who
took it.

Standardised residuals: Baarda, "A testing procedure for use in geodetic networks" (1968): w = v / (sd sqrt(r)); the two
coordinates of a mark are tested together with T = v' (Q_v)^-1 v, chi-square with 2 degrees of freedom, and w is its
root. Critical values at alpha = 0.001: 3.29 for one coordinate (Baarda's), 3.72 for two (root of the chi-square
quantile); see `critical`.
"""
from __future__ import annotations

import numpy as np

from capture.readings.chi_square import chi_square
from capture.adjustment.least_squares import Precision
from capture.readings.indexed import Indexed
from capture.readings.table import PRIORS
from capture.adjustment.survey import Reading

#: One test at 0.001 is Baarda's; a survey tests dozens of readings, and this share of sound surveys may be doubted at
#: most.
_ALPHA, _SURVEY_ALPHA = 0.001, 0.015


def _critical_of(lines: int, alpha: float) -> float:
    """Root of the chi-square quantile for so many lines."""
    return float(np.sqrt(chi_square(lines, alpha)))


#: Non-centrality at alpha 0.001 and power 0.80 (Baarda 1968; trade fact sheet, 10.8).
NON_CENTRALITY = 4.1321
#: A tape whose slip of this size would not show is as good as unchecked; our own choice, no source.
HIDDEN_SLIP_MM = 60.0


def read_off(ix: Indexed, precision: Precision) -> tuple[Reading, ...]:
    """All readings with their checks; `suspect` and `says` are left to the snooping.

    A reading left out is checked wholly by the others: its redundancy is 1 (and not among the degrees of freedom), its
    w is its distance from what they predict, over the standard deviation of that difference.
    """
    groups = ix.line_groups()
    readings = []
    for number, label in enumerate(label for kind in ix.readings for label in kind.labels):
        lines = np.flatnonzero(groups == number)
        block, residual = precision.residual_cov[np.ix_(lines, lines)], precision.residual[lines]
        redundancy = float(np.clip(np.trace(block) / len(lines), 0.0, 1.0))
        size = float(np.linalg.norm(residual) / np.sqrt(len(lines) / 2)) if len(lines) > 1 else float(residual[0])
        readings.append(Reading(kind=label.kind, names=label.names, photo=label.photo, value=label.value,
                                residual=size * label.sd, sd=label.sd, w=_standardised(residual, block),
                                redundancy=redundancy, suspect=False, where=label.where))
    return tuple(readings)


def smallest_slip(reading: Reading) -> float:
    """The smallest slip that the others would show, four times in five, in the reading's unit; inf if they never
    would."""
    return NON_CENTRALITY * reading.sd / reading.redundancy**0.5 if reading.redundancy > 1e-6 else float("inf")


def critical(lines: int, tested: int = 1) -> float:
    """Critical value of w of a reading of so many lines where so many are tested at once: at alpha = 0.001, or less for
    more than fifteen readings (Sidak's inequality, 1967: the chance that any of n sound readings is doubted stays below
    1 - (1 - alpha)^n)."""
    alpha = min(_ALPHA, 1.0 - (1.0 - _SURVEY_ALPHA) ** (1.0 / max(tested, 1)))
    return _critical_of(lines, alpha)


def is_tested(reading: Reading) -> bool:
    """Whether others check this reading, and it is one that a person took."""
    return reading.kind not in PRIORS and reading.redundancy > 1e-6


def _standardised(residual: np.ndarray, block: np.ndarray) -> float:
    """w (signed for one line, the root of T for more); 0 where the reading is not checked at all."""
    if len(residual) == 1:
        return float(residual[0] / np.sqrt(block[0, 0])) if block[0, 0] > 1e-6 else 0.0
    values, vectors = np.linalg.eigh(block)
    along = vectors.T @ residual
    sound = values > 1e-6
    return float(np.sqrt(np.sum(along[sound] ** 2 / values[sound])))
