"""Quantiles of chi-square with whole degrees of freedom, by its closed forms: a finite sum for even ones, one more with
the error function for odd ones (Abramowitz and Stegun, Handbook of Mathematical Functions, 1964, 26.4.4 and 26.4.5).

SciPy has them too; loading it would take a fifth of the time of a survey.
"""
from __future__ import annotations

from functools import lru_cache
from math import erfc, exp, lgamma, log, sqrt


@lru_cache(maxsize=4096)
def chi_square(freedom: int, alpha: float) -> float:
    """The value that chi-square exceeds with probability alpha (0 < alpha < 1), by bisection to the last digits.

    Raises ValueError for degrees of freedom below 1 or an alpha that is no probability.
    """
    if freedom < 1 or not 0.0 < alpha < 1.0:
        raise ValueError(f"no quantile of chi-square: {freedom} degrees of freedom, alpha {alpha}")
    low, high = 0.0, 1.0
    while upper_tail(freedom, high) > alpha:
        low, high = high, 2.0 * high
    while high - low > 1e-14 * high:
        middle = 0.5 * (low + high)
        if not low < middle < high:
            break
        low, high = (middle, high) if upper_tail(freedom, middle) > alpha else (low, middle)
    return 0.5 * (low + high)


def upper_tail(freedom: int, value: float) -> float:
    """The probability that chi-square is above a value >= 0."""
    half = 0.5 * value
    if half <= 0.0:
        return 1.0
    odd = 0.5 * (freedom % 2)
    terms = (exp((j + odd) * log(half) - half - lgamma(j + odd + 1.0)) for j in range(freedom // 2))
    return (erfc(sqrt(half)) if odd else 0.0) + sum(terms)
