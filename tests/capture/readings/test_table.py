"""Every kind of reading in the table by the same checks; a new entry is picked up by itself once `every_reading` holds
one."""
import numpy as np
import pytest

from capture.adjustment.equations import equations, residuals
from capture.adjustment.least_squares import assess, minimise
from capture.adjustment.parameter_index import index_network
from capture.adjustment.residuals import read_off
from capture.readings.table import KINDS, UNITS
from tests.support.every_reading import every_reading

every_kind = pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)


@pytest.fixture(scope="module")
def drawn():
    """The network's arrays, a state off the minimum, the whitened Jacobian there, and the same by central
    differences."""
    network, state = every_reading()
    ix = index_network(network)
    _, jac = equations(ix, state)
    numeric = np.zeros_like(jac)
    for column in range(ix.columns):
        step = np.zeros(ix.columns)
        step[column] = 1e-6 if np.abs(jac[:, column]).max() > 50 else 1e-3
        numeric[:, column] = (residuals(ix, state.moved(-step)) - residuals(ix, state.moved(step))) / (2 * step[column])
    return ix, jac, numeric


@pytest.fixture(scope="module")
def solved():
    """The minimum of the same readings: arrays, and what it is worth."""
    network, state = every_reading()
    ix = index_network(network)
    return ix, assess(ix, minimise(ix, state.in_gauge(0, 1), iterations=100).state)


@every_kind
def test_derivatives_agree_with_differences(drawn, kind):
    """Second method: central differences of the residuals, which use no derivative."""
    ix, jac, numeric = drawn
    lines = ix.lines_of(kind)
    assert lines.stop > lines.start, "tests/support/every_reading.py holds no reading of this kind"
    scale = np.maximum(1.0, np.abs(jac).max(axis=0))
    assert np.all(np.abs(numeric - jac)[lines] <= 2e-5 * (np.abs(jac[lines]) + scale))
    assert np.abs(jac[lines]).max() > 0


@every_kind
def test_lines_readings_and_labels_agree(drawn, kind):
    ix, readings = drawn[0], drawn[0].of(kind)
    lines, numbers = ix.lines_of(kind), ix.numbers_of(kind)
    assert len(readings.groups()) == lines.stop - lines.start
    assert ix.line_groups()[lines].tolist() == (numbers.start + readings.groups()).tolist()
    assert set(readings.groups().tolist()) == set(range(len(numbers)))
    assert {label.kind for label in readings.labels} <= set(kind.units) <= set(UNITS)


@every_kind
def test_a_kind_is_absent_where_it_has_no_reading(kind):
    from tests.capture.test_solve import box
    ix = index_network(box())
    assert len(ix.of(kind)) == (6 if "tape" in kind.units else 0)


def test_redundancy_numbers_sum_to_the_degrees_of_freedom(solved):
    """Theory: the trace of I - H is the number of lines less that of the free parameters; of each kind it lies between
    0 and its lines."""
    ix, precision = solved
    groups, readings = ix.line_groups(), read_off(ix, precision)
    lines = np.bincount(groups)
    assert len(readings) == len(lines)
    assert sum(r.redundancy * n for r, n in zip(readings, lines)) == pytest.approx(len(groups) - (ix.columns - 3),
                                                                                   abs=1e-6)
