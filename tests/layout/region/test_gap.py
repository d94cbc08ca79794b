"""The gap at the walls: worked examples of the trade sheet, section 2."""
from __future__ import annotations

from dataclasses import replace

import pytest

from layout.region.gap import choose_gap, gap_rule, growth_mm, longest_run_mm, shrink_mm
from layout.planning.planner import plan_floor
from layout.room import Climate, Wishes


@pytest.mark.parametrize(("run", "gap"), [(5000.0, 8.0), (8000.0, 12.0), (3000.0, 8.0), (13000.0, 19.5)])
def test_the_gap_rule(run, gap):
    """1.5 mm a metre, at least 8: worked examples of the trade sheet, section 2 (13 m: producers' 13 to 20)."""
    assert gap_rule(run) == pytest.approx(gap)


@pytest.mark.parametrize(("run", "laid", "worst", "growth"),
                         [(5000.0, 45.0, 65.0, 5.0), (5000.0, 35.0, 85.0, 12.5), (8000.0, 30.0, 80.0, 20.0)])
def test_growth_by_humidity(run, laid, worst, growth):
    """Examples of section 2; 35 to 85 % is 2.5 mm a metre in the industry guide on MDF moisture."""
    assert growth_mm(run, worst - laid) == pytest.approx(growth)


def test_the_rule_of_trade_is_a_swing_of_sixty_percent():
    """Section 2: 1.5 mm a metre and side covers 60 % (3.0 / 0.05)."""
    assert growth_mm(1000.0, 60.0) / 2 == pytest.approx(1.5)


def test_edges_draw_back_in_winter():
    """Section 2: run 5.0 m, laid at 60 %, winter 30 %: 7.5 mm, 3.75 each side."""
    assert shrink_mm(5000.0, Climate(low=30.0, high=65.0, laid=60.0)) == pytest.approx(3.75)


@pytest.mark.parametrize(("climate", "sd", "gap", "word"), [
    (None, 0.0, 12.0, "1.5 mm for each metre"),
    (Climate(low=40.0, high=60.0, laid=45.0), 0.0, 8.0, "at least 8"),
    (Climate(low=30.0, high=65.0), 0.0, 8.0, "0.05 mm a metre"),
    (Climate(low=15.0, high=65.0), 0.0, 10.0, "half at each side"),
    (Climate(low=15.0, high=65.0), 2.0, 14.0, "plus 3.9 mm for the survey"),
    (Climate(low=35.0, high=80.0, laid=60.0), 0.0, 15.0, "at least 15 mm where the air gets above 65 %"),
])
def test_the_gap_is_chosen_by_run_and_climate_and_said(climate, sd, gap, word, room_of):
    """Eight metres; + 50 % humidity is 10.0 a side (section 2), a trade swing 12.0, damp rooms at least 15."""
    room = replace(room_of([(0, 0), (8000, 0), (8000, 3000), (0, 3000)]), length_sd_mm=sd)
    chosen, says = choose_gap(room, Wishes(gap_mm=None, climate=climate))
    assert chosen == gap and word in says and f"{gap:g} mm" in says


def test_a_run_is_no_longer_than_its_field(room_of):
    room = room_of([(0, 0), (14000, 0), (14000, 3000), (0, 3000)])
    assert longest_run_mm(room, 10_000.0) == 10_000.0 and longest_run_mm(room, 20_000.0) == pytest.approx(14_000.0)


def test_a_plan_with_an_open_gap_keeps_the_chosen_one_and_a_typed_gap_stays(room_of, board):
    room = room_of([(0, 0), (7000, 0), (7000, 3000), (0, 3000)])
    plan = plan_floor(room, board, Wishes(gap_mm=None), moves=60)
    assert plan.gap_mm == 11.0 and any(text.startswith("The gap is 11 mm") for text in plan.says)
    typed = plan_floor(room, board, Wishes(gap_mm=9.0), moves=60)
    assert typed.gap_mm == 9.0 and any("asks for 11 mm" in text for text in typed.warnings)
