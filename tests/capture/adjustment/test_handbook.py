"""Worked examples from handbooks and tutorials, solved by the whole survey. Lengths are scaled to mm where a book has
metres.

The books' residual is computed - observed; ours is observed - computed, so theirs are compared with the sign turned.
"""
import numpy as np
import pytest
from scipy.stats import norm

from capture.initial.pose_hypotheses import fit_similarity
from capture.network import Network, TapeLength
from capture.adjustment.residuals import critical
from capture.solve import solve_floor
from capture.words import in_words

EXACT = 1e-4


def tapes(lengths, sd):
    return tuple(TapeLength(a=a, b=b, length_mm=mm, sd_mm=sd) for (a, b), mm in lengths.items())


def held(points):
    """All distances between known points, as good as exact."""
    names = list(points)
    return tapes({(a, b): float(np.hypot(*np.subtract(points[a], points[b]))) for i, a in enumerate(names)
                  for b in names[:i]}, EXACT)


def in_frame(survey, points, name):
    """Coordinates of a solved point in the frame of the known points (turn, shift and mirror as fits)."""
    known = np.array([points[n] for n in points])
    found = np.array([survey.floor.at(n) for n in points])
    target = complex(*survey.floor.at(name))
    best = None
    for flip in (False, True):
        q = found[:, 0] + 1j * (-found[:, 1] if flip else found[:, 1])
        a, b = fit_similarity(q[None], known[:, 0] + 1j * known[:, 1])
        gap = np.abs(a * q + b - (known[:, 0] + 1j * known[:, 1])).max()
        place = complex(a[0] * (np.conj(target) if flip else target) + b[0])
        best = min(best or (gap, place), (gap, place), key=lambda pair: pair[0])
    assert best[0] < 0.01
    return best[1]


def tape_readings(survey, count):
    return [r for r in survey.readings if r.kind == "tape"][-count:]


def test_three_distance_fix():
    """Mikhail & Ackermann 1976, example 9.1, pp. 219-221 (data; iterated result re-computed for the project's trade
    fact sheet)."""
    known = {"O": (0, 0), "Q": (5000, 0), "P": (0, 5000)}
    net = Network(outline=("O", "Q", "R", "P"),
                  tapes=held(known) + tapes({("R", "P"): 5100, ("R", "O"): 7070, ("R", "Q"): 4900}, 1.0))
    survey = solve_floor(net)
    place = in_frame(survey, known, "R")
    assert (place.real, place.imag) == pytest.approx((5098.61, 4898.63), abs=0.01)
    assert [-r.residual for r in tape_readings(survey, 3)] == pytest.approx([-0.38, 0.53, -0.38], abs=0.01)
    assert survey.redundancy == 1 and survey.sigma0 == pytest.approx(0.76, abs=0.01)


def test_survey_scale_trilateration():
    """Ghilani & Wolf, Adjustment Computations, example 14.1 (inputs from memory; feet taken as mm)."""
    known = {"A": (865.40, 4527.15), "B": (2432.55, 2047.25), "C": (2865.22, 27.15)}
    net = Network(outline=("A", "B", "C", "U"),
                  tapes=held(known) + tapes({("A", "U"): 6049.00, ("B", "U"): 4736.83, ("C", "U"): 5446.49}, 0.1))
    survey = solve_floor(net)
    place = in_frame(survey, known, "U")
    assert (place.real, place.imag) == pytest.approx((6861.317, 3727.819), abs=0.002)
    assert [-r.residual for r in tape_readings(survey, 3)] == pytest.approx([-0.037, 0.077, -0.047], abs=0.001)
    assert survey.sigma0 * 0.1 == pytest.approx(0.098, abs=0.001)
    # The book's sd are 0.078 and 0.154 with s0 = 0.098; ours use the stated 0.1 mm, and the two add up in any frame.
    block = survey.floor.covariance(("U",)) * (0.98**2)
    assert np.sqrt(np.trace(block)) == pytest.approx(np.hypot(0.078, 0.154), abs=0.002)


def test_published_network():
    """OSGeoLab (Budapest Univ. of Technology), tutorial 'Horizontal network adjustment': measured distances against the
    distances between the published adjusted coordinates, to 1 mm (the tutorial's directions are not used)."""
    adjusted = {"1": (-87.492, 24.945), "2": (-20.941, 24.577), "3": (0.002, 0.001), "4": (-87.927, -0.005)}
    measured = [("1", "2", 66.552), ("1", "2", 66.552), ("1", "4", 24.954), ("1", "4", 24.955), ("2", "3", 32.288),
                ("2", "3", 32.289), ("2", "4", 71.355), ("2", "4", 71.355), ("3", "4", 87.929), ("3", "4", 87.929)]
    net = Network(outline=("4", "3", "2", "1"),
                  tapes=tuple(TapeLength(a=a, b=b, length_mm=m * 1000, sd_mm=1.0) for a, b, m in measured))
    floor = solve_floor(net).floor
    for i in adjusted:
        for j in adjusted:
            if i < j:
                assert floor.length(i, j).length_mm == pytest.approx(1000
                                                                     * np.hypot(*np.subtract(adjusted[i], adjusted[j])),
                                                                     abs=1.0)


def test_similarity_fit():
    """Mikhail & Ackermann 1976, table 6.2, example 7.8, pp. 165-167, errors in y: a = 1.000, b = 1.950. The book's
    model has no shift; the same points with their negatives have their centre at zero, so ours has none either."""
    x = np.array([0 + 1j, 1 + 0j, 1 + 1j])
    y = np.array([-2.1 + 1.1j, 1.0 + 2.0j, -0.9 + 2.8j])
    a, b = fit_similarity(np.concatenate([x, -x])[None], np.concatenate([y, -y]))
    assert (a[0].real, a[0].imag) == pytest.approx((1.000, 1.950), abs=5e-4) and abs(b[0]) < 1e-12


# Lengths 01 12 23 30 02 13; residuals; redundancy; angles; area. Derived for the trade fact sheet, 10.7, not published.
QUADS = [
    ((4000, 3000, 4000, 3000, 5000, 5000), (0,) * 6, (0.16, 0.09, 0.16, 0.09, 0.25, 0.25), (90, 90, 90, 90), 12.0),
    (
        (4000, 3000, 4000, 3000, 5006, 5000),
        (1.2, 0.9, 1.2, 0.9, -1.501, -1.5),
        (0.16, 0.09, 0.16, 0.09, 0.25, 0.25),
        (89.928, 90.072, 89.928, 90.072),
        12.0072,
    ),
    (
        (4000, 3000, 4000, 3000, 5020, 4980),
        (0.016, 0.012, 0.016, 0.012, -0.02, -0.02),
        (0.16, 0.09, 0.16, 0.09, 0.25, 0.25),
        (89.523, 90.477, 89.523, 90.477),
        11.9997,
    ),
    (
        (4012, 3206, 4005, 3198, 5131, 5124),
        (-1.126, -0.899, -1.127, -0.901, 1.443, 1.441),
        (0.152, 0.097, 0.153, 0.098, 0.25, 0.25),
        (89.914, 89.960, 89.925, 90.2),
        12.828,
    ),
]


@pytest.mark.parametrize("lengths, residuals, redundancy, angles, area", QUADS)
def test_room_quad(lengths, residuals, redundancy, angles, area):
    pairs = ["01", "12", "23", "30", "02", "13"]
    net = Network(outline=tuple("0123"), tapes=tapes({(p[0], p[1]): float(mm) for p, mm in zip(pairs, lengths)}, 2.0))
    survey = solve_floor(net)
    found = tape_readings(survey, 6)
    assert [-r.residual for r in found] == pytest.approx(residuals, abs=0.02)
    assert [r.redundancy for r in found] == pytest.approx(redundancy, abs=0.006)
    ring = survey.floor.ring()
    back, ahead = np.roll(ring, 1, axis=0) - ring, np.roll(ring, -1, axis=0) - ring
    turned = np.degrees(np.arctan2(ahead[:, 0] * back[:, 1] - ahead[:, 1] * back[:, 0], np.sum(ahead * back, axis=1)))
    assert turned == pytest.approx(angles, abs=0.002)
    assert survey.floor.area()[0] / 1e6 == pytest.approx(area, abs=2e-4)


def test_one_redundant_reading_sees_a_slip_but_cannot_say_where():
    """Trade fact sheet 10.7 (derived): a slip of 50 mm gives |w| = 11.08 on all six readings."""
    pairs = {"01": 4012, "12": 3206, "23": 4005, "30": 3198, "02": 5131, "13": 5174}
    survey = solve_floor(Network(outline=tuple("0123"),
                                 tapes=tapes({(p[0], p[1]): float(mm) for p, mm in pairs.items()}, 2.0)))
    assert [abs(r.w) for r in tape_readings(survey, 6)] == pytest.approx([11.08] * 6, abs=0.1)
    assert len(survey.suspects) == 6 and all("nothing tells which" in r.says
                                             for r in in_words(survey, "metric").suspects)


def test_critical_values():
    """Baarda 1968: alpha 0.001 two-sided gives 3.2905; two coordinates at once: the chi-square quantile -2 ln 0.001."""
    assert critical(1) == pytest.approx(norm.ppf(1 - 0.0005), abs=1e-4)
    assert critical(2) == pytest.approx(np.sqrt(-2 * np.log(0.001)), abs=1e-4)
