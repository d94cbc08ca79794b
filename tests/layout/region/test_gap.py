"""The gap at the walls: worked examples of the trade sheet, section 2."""
from __future__ import annotations

from dataclasses import replace

import pytest

from layout.facts.reasons import GapByRun
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


@pytest.mark.parametrize(("climate", "sd", "gap", "grows", "damp"), [
    (Climate(low=40.0, high=60.0, laid=45.0), 0.0, 8.0, 6.0, False),
    (Climate(low=30.0, high=65.0), 0.0, 8.0, 14.0, False),
    (Climate(low=15.0, high=65.0), 0.0, 10.0, 20.0, False),
    (Climate(low=15.0, high=65.0), 2.0, 14.0, 20.0, False),
    (Climate(low=35.0, high=80.0, laid=60.0), 0.0, 15.0, 8.0, True),
])
def test_the_gap_is_chosen_by_run_and_climate_and_told(climate, sd, gap, grows, damp, room_of):
    """Eight metres; + 50 % humidity is 10.0 a side (section 2), a trade swing 12.0, damp rooms at least 15."""
    room = replace(room_of([(0, 0), (8000, 0), (8000, 3000), (0, 3000)]), length_sd_mm=sd)
    told = choose_gap(room, Wishes(gap_mm=None, climate=climate))
    assert (told.gap_mm, told.run_mm, told.damp) == (gap, 8000.0, damp)
    assert told.growth_mm == pytest.approx(grows) and told.doubt_mm == pytest.approx(1.96 * sd, rel=1e-3)
    assert choose_gap(room, Wishes(gap_mm=None)) == GapByRun(gap_mm=12.0, run_mm=8000.0)


def test_a_run_is_no_longer_than_its_field(room_of):
    room = room_of([(0, 0), (14000, 0), (14000, 3000), (0, 3000)])
    assert longest_run_mm(room, 10_000.0) == 10_000.0 and longest_run_mm(room, 20_000.0) == pytest.approx(14_000.0)


def test_a_plan_with_an_open_gap_keeps_the_chosen_one_and_a_typed_gap_stays(room_of, board):
    room = room_of([(0, 0), (7000, 0), (7000, 3000), (0, 3000)])
    plan = plan_floor(room, board, Wishes(gap_mm=None), moves=60)
    assert plan.gap_mm == 11.0 and GapByRun(gap_mm=11.0, run_mm=7000.0) in plan.reasons
    typed = plan_floor(room, board, Wishes(gap_mm=9.0), moves=60)
    assert typed.gap_mm == 9.0 and [note.asked_mm for note in typed.notes] == [10.5]
