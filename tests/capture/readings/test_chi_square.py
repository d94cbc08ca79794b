"""Quantiles of chi-square against SciPy's."""
from __future__ import annotations

import pytest
from scipy.stats import chi2

from capture.readings.chi_square import chi_square, upper_tail


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 8, 15, 30, 61, 150, 401])
@pytest.mark.parametrize("alpha", [0.5, 0.05, 0.01, 0.001, 1e-5, 1e-9])
def test_quantiles_are_those_of_scipy(freedom, alpha):
    assert chi_square(freedom, alpha) == pytest.approx(chi2.isf(alpha, freedom), rel=1e-10)


@pytest.mark.parametrize("freedom, value", [(1, 0.2), (4, 9.0), (7, 3.0), (40, 100.0), (400, 380.0), (3, 0.0)])
def test_tails_are_those_of_scipy(freedom, value):
    assert upper_tail(freedom, value) == pytest.approx(chi2.sf(value, freedom), rel=1e-10)


@pytest.mark.parametrize("freedom, alpha", [(0, 0.01), (-1, 0.01), (3, 0.0), (3, 1.0)])
def test_what_has_no_quantile_is_refused(freedom, alpha):
    with pytest.raises(ValueError, match="no quantile"):
        chi_square(freedom, alpha)
