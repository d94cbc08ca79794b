"""Quantiles of the chi-square distribution: what the squares of sound residuals hardly ever exceed."""
from __future__ import annotations

from functools import cache


@cache
def quantile(lines: int, alpha: float) -> float:
    """What the sum of so many squared standard normal values exceeds with probability alpha."""
    from scipy.special import chdtri  # loading it takes longer than most commands that solve nothing
    return float(chdtri(lines, alpha))
