"""What is printed for people, read the way a person reads it: by looking for the figures and their doubt."""
from __future__ import annotations

import dataclasses
import re

import numpy as np
import pytest

from capture.floor import Floor
from capture.adjustment.survey import Advice, Reading, Survey
from desk.jobfile.files import parse_job
from desk.problem import Problem
from desk.text.reports import WIDTH, say_check, say_pack, say_plan, say_survey
from layout.facts.notes import DoorwayLaid, PipeClear
from layout.facts.purchases import Spacers
from layout.facts.reasons import RowsRun
from layout.frame import Frame
from layout.plan import Item, Piece, Plan, Polygon, Relaxed, Row, Run
from layout.room import Board, Rules

METRIC, IMPERIAL = parse_job({"title": "Nook (invented)"}), parse_job({"title": "Nook (invented)", "show": "imperial"})


@pytest.fixture
def survey() -> Survey:
    """A 2 x 1 m floor with 1 mm on every coordinate: a wall has sqrt(2) mm, so 2.8 mm at 95 %."""
    floor = Floor(names=("A", "B", "C", "D"), points_mm=np.array([(0, 0), (2000, 0), (2000, 1000), (0, 1000)], float),
                  cov_mm2=np.eye(8), outline=("A", "B", "C", "D"))
    doubt = Reading(kind="tape", names=("A", "C"), photo="", value=2336.0, residual=100.0, sd=1.5, w=9.0,
                    redundancy=0.5, suspect=True, says="A-C was typed as 2336 mm but should be about 2236 mm",
                    where="tape[4]")
    return Survey(floor=floor, suspects=(doubt,), advice=(Advice(a="B", b="D", gain_mm=0.4, says="measure B to D"),),
                  sigma0=1.04, redundancy=9, warnings=("the plan may be a mirror image",))


def piece(name: str, board: int, takes: str, length: float) -> Piece:
    return Piece(id=name, board=board, takes=takes, outline_mm=(), holes_mm=(), from_mm=1285.0 - length, to_mm=1285.0,
                 near_mm=0.0, far_mm=192.0, keeps=("right",), cuts=())


@pytest.fixture
def plan() -> Plan:
    """Two rows; the second starts with what the first left over."""
    rows = (Row(number=1, near_mm=0.0, far_mm=152.0,
                runs=(Run(pieces=(piece("1.1", 1, "", 1285.0), piece("1.2", 2, "", 695.0))),)),
            Row(number=2, near_mm=152.0, far_mm=344.0,
                runs=(Run(pieces=(piece("2.1", 2, "b", 587.0),)), Run(pieces=(piece("2.2", 3, "", 900.0),)))))
    return Plan(floor=Polygon(outline=()), cover=(),
                board=Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8), kerf_mm=3.0, gap_mm=10.0,
                gap_least_mm=10.0, gap_most_mm=10.0, rules=Rules(),
                frame=Frame(u=(1.0, 0.0), v=(0.0, -1.0), start_mm=(0.0, 0.0)),
                lay="left-to-right", pattern="fewest", rows=rows, offcuts=(), holes=(), boards=3, bound=2,
                bound_by="wood", proven=False, packs=1, waste_percent=4.25,
                reasons=(RowsRun(along=("A", "B"), start=("A", "B")),), choices=(),
                shopping=(Item(purchase=Spacers(), quantity=1),), beading=(), notes=(PipeClear(pipe="P1"),),
                relaxed=(Relaxed(rule="stagger", where="row 2", asked_mm=300.0, had_mm=250.0),))


def test_every_wall_and_the_area_carry_their_doubt(survey):
    text = say_survey(survey, METRIC)
    assert re.search(r"wall A-B\s+2000 mm\s+± 2\.8 mm\n", text)
    # By hand: with 1 mm on each coordinate the area's variance is a quarter of the sum of the squared diagonals, 5e6
    # mm4; 1.96 times its root is 0.0044 m2, shown as no less than 0.01.
    assert re.search(r"floor area\s+2\.00 m2\s+± 0\.01 m2\n", text)
    assert "95 %" in text and "19 times in 20" in text


def test_doubts_advice_and_warnings_are_passed_on(survey):
    text = say_survey(survey, METRIC)
    for part in ("should be about 2236 mm", "(tape[4])", "measure B to D", "mirror image",
                 "9 readings more than needed check"):
        assert part in text


def test_a_doubt_that_several_readings_share_is_said_once(survey):
    (doubt,) = survey.suspects
    text = say_survey(dataclasses.replace(survey, suspects=(doubt, dataclasses.replace(doubt, where="tape[2]"))),
                      METRIC)
    assert text.count("should be about") == 1 and "(tape[4], tape[2])" in text


def test_a_floor_without_spare_readings_says_so(survey):
    text = say_survey(dataclasses.replace(survey, redundancy=0, suspects=(), advice=(), warnings=()), METRIC)
    assert "No reading checks another" in text and "Readings to check" not in text


def test_feet_and_inches_where_the_job_says_so(survey):
    text = say_survey(survey, IMPERIAL)
    assert re.search(
        r"wall A-B\s+6' 6 3/4\"\s+± 1/8\"", text
    )  # 2000 mm = 78.74 in; 2.8 mm = 0.109 in, nearest sixteenth 2/16
    assert "21.5 sq ft" in text and " mm" not in text.split("±")[0]


def test_an_exact_floor_claims_no_doubt(survey):
    exact = dataclasses.replace(survey.floor, cov_mm2=np.zeros((8, 8)))
    text = say_survey(Survey(floor=exact), METRIC)
    assert "taken as exact" in text and "±" not in text


def test_the_plan_tells_boards_rows_and_where_each_piece_comes_from(plan):
    text = say_plan(plan, METRIC)
    for part in ("3, each 1285 mm x 192 mm x 8 mm", "1 of 8 boards, 5 spare", "2 boards: Fewer boards hold less wood",
                 "4.2 % of the wood", "2; the first is 152 mm wide, the last 192 mm", "10 mm at every wall",
                 "left to right", "Rows run along A-B and", "1.1 1285 mm board 1; 1.2 695 mm board 2",
                 "2.1 587 mm offcut b | 2.2 900 mm board 3", "Joints of rows 1 and 2 are 250 mm",
                 "Pipe P1 stands clear",
                 "wall spacers as thick as the gap: 1 piece.", "Dust: cut outdoors"):
        assert part in text


def test_a_rule_that_gave_way_is_said_once(plan):
    text = say_plan(plan, METRIC)
    assert text.count("Joints of rows 1 and 2") == 1 and text.count("Pipe P1 stands clear") == 1


def test_the_plan_in_inches(plan):
    text = say_plan(plan, IMPERIAL)
    assert "4' 2 9/16\" x 7 9/16\" x 5/16\"" in text and " mm" not in text


def test_lines_fit_a_terminal(plan, survey):
    plan = dataclasses.replace(plan, notes=(DoorwayLaid(door="of the cupboard " * 8, depth_mm=110.0, gap_mm=10.0),))
    for text in (say_plan(plan, METRIC), say_survey(survey, METRIC)):
        assert max(map(len, text.splitlines())) <= WIDTH and text.endswith("\n")


def test_a_pack_is_told_with_what_to_do_next(plan):
    text = say_pack("out", ["booklet.pdf", "templates.pdf", "templates/1.svg", "templates/2.svg"], plan)
    assert "out:" in text and "2 drawings true to size" in text and "100 %" in text and "doubt" not in text
    assert "in doubt\n  - B may be elsewhere\n" in say_pack("out", ["booklet.pdf"], plan, ["B may be elsewhere"])


def test_check_counts_what_must_be_put_right():
    stop, note = Problem(slug="a", where="", says="Bad."), Problem(slug="b", where="", says="Hm.", severity="note")
    assert say_check([]) == "Nothing wrong was found.\n"
    assert say_check([stop, note]).startswith("1 thing must be put right first.\n") and "- Hm." in say_check([note])
