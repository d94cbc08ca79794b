"""Sentences about a plan in both units: rates and what is too fine are left in mm, nothing else metric stays in a
booklet in inches."""
from __future__ import annotations

import datetime
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.planning.planner import EFFORTS, plan_floor
from layout.room import Board, Casing, Door, Pipe, Room, Rules, Underlay, Wishes
from layout.words.lengths import Lengths
from layout.words.terms import in_terms
from printpack.booklet.booklet import booklet_sheets
from printpack.job import PackJob
from printpack.paper import LETTER
from printpack.booklet.phone import phone_page
from tests.support.looks import texts
from tests.support.plans import BREAST, SLANTED, floor_of

METRIC, IMPERIAL = Lengths("metric"), Lengths("imperial")
#: Exact by the international yard and pound agreement of 1959: an inch is 25.4 mm, a foot 304.8 mm.
SAID = [(lambda u: u.whole(282.0), "282 mm", '11 1/8"'), (lambda u: u.mm(12.7), "12.7 mm", '1/2"'),
        (lambda u: u.mm(300.0), "300 mm", '11 3/4"'), (lambda u: u.mm(8.0), "8 mm", '5/16"'),
        (lambda u: u.by(1285.0, 192.0, 8.0), "1285 x 192 x 8 mm", '50 9/16" x 7 9/16" x 5/16"'),
        (lambda u: u.to(400.0, 1285.0, 192.0), "400 to 1285 x 192 mm", '15 3/4" to 50 9/16" x 7 9/16"'),
        (lambda u: u.metres(16_700.0, 1), "16.7 m", "54.8 ft"), (lambda u: u.metres(2000.0), "2 m", "7 ft"),
        (lambda u: u.m2(14.09e6, 2), "14.09 m2", "151.7 sq ft"), (lambda u: u.cm2(64500.0), "645 cm2", "100.0 sq in"),
        (lambda u: u.place((3048.0, 1524.0)), "3048, 1524 mm", "10' 0\", 60\""),
        (lambda u: u.metres_sum((2980.0, 1200.0)), "2.98 + 1.20 m", "9.8 ft + 3.9 ft"),
        (lambda u: u.mm(0.2), "0.2 mm", "0.2 mm"), (lambda u: u.tenth(3.92), "3.9 mm", '1/8"')]
TERMS = [("1.5 mm for each metre of the longest run", "1.5 mm for each meter of the longest run"),
         ("polythene film for the mineral subfloor", "polyethylene film for the mineral subfloor"),
         ("Skirting or beading; an FFP2 mask or better", "Baseboard or shoe molding; an N95 mask or better"),
         ("Row 3, 12 pieces, 5R, HSE limit 3 mg/m3, 18 °C, 65 %",
          "Row 3, 12 pieces, 5R, HSE limit 3 mg/m3, 18 °C, 65 %")]


@pytest.mark.parametrize("said, metric, imperial", SAID)
def test_every_length_is_told_in_both_units(said, metric, imperial):
    assert said(METRIC) == metric and said(IMPERIAL).replace("\u00a0", " ") == imperial


@pytest.mark.parametrize("said, american", TERMS)
def test_words_go_with_the_lengths(said, american):
    assert in_terms(said, "imperial") == american and in_terms(said, "metric") == said


@given(st.integers(min_value=2, max_value=20_000))
def test_a_length_is_off_by_half_an_eighth_at_most(mm):
    said = IMPERIAL.mm(mm).replace("\u00a0", " ")
    feet, inches, part = re.fullmatch(r"(?:(\d+)' )?(?:(\d+)(?![\d/]))? ?(?:(\d+/\d+))?\"", said).groups()
    top, bottom = (int(v) for v in part.split("/")) if part else (0, 1)
    assert abs(304.8 * int(feet or 0) + 25.4 * (int(inches or 0) + top / bottom) - mm) <= 25.4 / 16 + 1e-9


def planned(ring, wishes, **things):
    floor = floor_of(ring)
    room = Room(names=floor.outline, outline_mm=floor.points_mm, length_sd_mm=4.0, **things)
    return floor, room, plan_floor(room, Board(length_mm=1219.2, width_mm=177.8, thickness_mm=12.0, pack=8), wishes,
                                   moves=EFFORTS["preview"])


DOOR = Door(name="D1", wall=("A", "B"), from_mm=640.0, width_mm=762.0, reveal_mm=110.0,
            casing=Casing(width_mm=57.0, thickness_mm=15.0))
ROOMS = {"breast, door, pipe": lambda: planned(BREAST,
                                               Wishes(underlay=Underlay(thickness_mm=3.0, roll_length_mm=10_000.0,
                                                                        roll_width_mm=1000.0)), doors=(DOOR,),
                                               pipes=(Pipe(name="P1", centre_mm=(60.0, 1300.0), diameter_mm=22.0),)),
         "gap left open, rules too tight": lambda: planned(SLANTED,
                                                           Wishes(gap_mm=None, subfloor="mineral",
                                                                  rules=Rules(stagger_mm=590.0, shortest_mm=600.0))),
         "hall with profiles": lambda: planned(((0, 0), (9400, 0), (9400, 900), (0, 900)),
                                               Wishes(gap_mm=6.0, longest_mm=8000.0)),}


@pytest.mark.parametrize("name", ROOMS)
def test_nothing_metric_is_left_in_a_booklet_in_inches(name):
    """But for what is a size of its own: film by its thickness, a rule as its source tells it."""
    floor, room, plan = ROOMS[name]()
    job = PackJob(title="Back bedroom (invented)", show="imperial", date=datetime.date(2026, 3, 5), floor=floor,
                  plan=plan, room=room, underlay_mm=3.0)
    words = " ".join(text.text for sheet in booklet_sheets(job, LETTER, {}) for text in texts(sheet))
    words += re.sub(r"(?s)<style>.*?</style>|<script>.*?</script>|<svg.*?</svg>", " ",
                    phone_page(job, {})).replace("\u00a0", " ")
    allowed = r"1\.5 mm (for each|a) meter|0\.05 mm a meter"
    assert not re.findall(r"\S* ?\d ?(?:mm|cm2?|m2?|m²)\b.{0,20}", re.sub(allowed, "", words))
