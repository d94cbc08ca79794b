"""A length is said to no more figures than it is sure of (GUM, JCGM 100:2008, 7.2.6, from memory: the estimate is
rounded to agree with its uncertainty)."""
from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk.text.precision import area_words, length_and_spread
from printpack.units import Units

METRIC, IMPERIAL = Units("metric"), Units("imperial")


@pytest.mark.parametrize(("mm", "pm", "said"), [
    (2713.4, 2.1, ("2713", "± 2.1 mm")), (2713.4, 0.0, ("2713", "")), (2713.4, 18.0, ("about 2.71 m", "")),
    (2713.4, 90.0, ("about 2.7 m", "")), (2713.4, 900.0, ("about 3 m", ""))])
def test_a_wall_as_sure_as_it_is(mm, pm, said):
    plain = [text.replace("\u202f", " ").replace("\u00a0", " ") for text in length_and_spread(mm, pm, METRIC)]
    assert tuple(plain) == said


@given(mm=st.floats(300.0, 12_000.0), pm=st.floats(10.0, 2000.0))
def test_the_last_figure_is_within_what_the_length_may_be_off(mm, pm):
    """What rounding adds is never more than the plus-minus itself, and the figures say no more than a tenth of it."""
    metres = re.fullmatch(r"about (\d+(?:\.(\d+))?) m", length_and_spread(mm, pm, METRIC)[0])
    assert metres is not None
    step = 1000.0 / 10 ** len(metres[2] or "")
    assert abs(float(metres[1]) * 1000.0 - mm) <= step / 2 + 1e-6 and pm / 10 <= step
    assert step / 2 <= 1.25 * pm


def test_feet_and_inches():
    assert length_and_spread(2713.4, 18.0, IMPERIAL)[0] == "about 8' 11\""
    assert length_and_spread(2713.4, 90.0, IMPERIAL)[0] == "about 9 ft"


def test_an_area():
    assert area_words(13.72e6, 0.02e6, METRIC) == METRIC.area(13.72e6, 0.02e6)
    assert area_words(13.72e6, 0.3e6, METRIC) == "about 13.7 m²" and area_words(13.72e6, 2e6, METRIC) == "about 14 m²"
    assert area_words(13.72e6, 2e6, IMPERIAL) == "about 148 sq ft"
