"""The drawings of how to lay: a joint that truly locks, tones told apart, nothing over anything else, steps by need."""
from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import affinity
from shapely.geometry import Polygon

from layout.room import Casing, Door, Pipe
from printpack.howto.how_to_page import how_to_pages, how_to_steps
from printpack.drawing.metrics import text_box
from printpack.drawing.sheet import Sheet, Text, moved
from printpack.howto import from_above, joint, sections
from printpack.howto.door_scenes import Layer, Undercut, under_leaf, undercut
from printpack.howto.draw import LAID_GREY, NEW_GREY, drawn
from printpack.howto.scene import HEIGHT, WIDTH, Part, Verdict
from printpack.paper import PAPERS
from tests.bench.printpack.run_pack import touches
from tests.support.plans import BREAST, RECTANGLE, breast_job, job_of

LAYERS = (Layer(kind="under", thick_mm=3.0, words="underlay 3 mm"), Layer(kind="board", thick_mm=12.0,
                                                                          words="board 12 mm"),
          Layer(kind="profile", thick_mm=5.0, words="profile 5 mm"), Layer(kind="air", thick_mm=3.0, words="air 3 mm"))
CUT = Undercut(underlay_mm=3.0, board_mm=12.0, high_mm=16.0, deep_mm=25.0, tuck_mm=10.0)
SCENES = {"way round": sections.way_round(), "click": sections.click(), "tap": sections.tap(),
          "unclick": sections.unclick(), "pull": sections.pull(), "flat, casing": sections.flat(casing=True),
          "flat, radiator": sections.flat(casing=False), "first rows": from_above.first_rows(),
          "closing": from_above.closing(), "last row": from_above.last_row(), "night": from_above.night(),
          "pipe": from_above.pipe(), "broken": from_above.broken(), "doorway": from_above.doorway(),
          "under the leaf": under_leaf(LAYERS, "15/16\""), "undercut": undercut(CUT, "11/16\"", "1\" deep", "lining",
                                                                                "stop")}
LEFT, RIGHT = (Polygon(joint.board(a, b, 1.0, 0.0)) for a, b in ((-4.0, 0.0), (0.0, 4.0)))


def test_a_closed_joint_fits_without_overlap_and_locks():
    """By shapely, lengths in board thicknesses: closed, the two boards share no wood and their faces meet; apart by a
    tenth, or lifted straight up, the lip's edge and the tongue stand in the way."""
    assert LEFT.is_valid and RIGHT.is_valid
    assert LEFT.intersection(RIGHT).area < 1e-3
    assert LEFT.distance(RIGHT) == pytest.approx(0.0, abs=1e-9)
    assert LEFT.intersection(affinity.translate(RIGHT, 0.1, 0.0)).area > 1e-3
    assert LEFT.intersection(affinity.translate(RIGHT, 0.0, -0.2)).area > 1e-3
    assert max(x for x, _ in joint.GROOVE) > 0.5 > 0.0 > min(x for x, _ in joint.TONGUE)


def test_a_planed_lip_lets_the_board_slide_in_flat():
    """The locking edge gone, no place on the way to the closed joint is blocked."""
    planed = Polygon(joint.board(-4.0, 0.0, 1.0, 0.0, planed=True))
    for apart in (0.0, 0.1, 0.3, 0.6, 1.0):
        shared = planed.intersection(affinity.translate(RIGHT, apart, 0.0)).area
        assert shared < 0.005, apart
    assert LEFT.area - planed.area == pytest.approx(Polygon(joint.LOCK).area, abs=0.02)


def luminance(grey: float) -> float:
    """WCAG 2.2, relative luminance of a grey from 0 to 1 (sRGB)."""
    return grey / 12.92 if grey <= 0.04045 else ((grey + 0.055) / 1.055) ** 2.4


def contrast(one: float, other: float) -> float:
    """WCAG 2.2, contrast ratio."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_what_is_added_stands_out_in_black_and_white():
    """WCAG 2.2, 1.4.11: 3:1 or more for what is needed to understand a picture, against what lies and against paper."""
    assert contrast(NEW_GREY, LAID_GREY) >= 3.0 and contrast(NEW_GREY, 1.0) >= 3.0
    assert contrast(0.0, 1.0) == pytest.approx(21.0)


@pytest.mark.parametrize("name", SCENES)
@pytest.mark.parametrize("scale", [1.0, 1.5])
def test_a_drawing_stays_in_its_frame_and_its_words_touch_nothing(name, scale):
    items, wide, tall = drawn(SCENES[name], scale)
    assert (wide, tall) == (scale * WIDTH, scale * HEIGHT)
    for item in items:
        if isinstance(item, Text):
            left, top, right, bottom = text_box(item)
            assert left >= -0.5 and top >= -0.5 and right <= wide + 0.5 and bottom <= tall + 0.5, item.text
    sheet = Sheet(width_mm=wide + 20.0, height_mm=tall + 20.0, items=tuple(moved(item, 10.0, 10.0) for item in items))
    assert touches(sheet) == []


@pytest.mark.parametrize("name", sorted(set(SCENES) - {"under the leaf", "undercut"}))
def test_every_step_adds_something(name):
    assert any(isinstance(thing, Part) and thing.kind == "new" for thing in SCENES[name].things)


@pytest.mark.parametrize("name", ["way round", "tap", "closing", "night", "doorway"])
def test_where_mistakes_are_likely_the_wrong_way_is_struck_out(name):
    assert [thing.right for thing in SCENES[name].things if isinstance(thing, Verdict)].count(False) == 1


BASICS = ["Which way round", "Click", "Unclick", "Tap with a block", "Rows 1 to 3", "The piece that closes a row",
          "Pull bar", "Where it cannot be tilted", "The last row", "Stop at the end of a row"]


def names(job) -> list[str]:
    return [step.name for step in how_to_steps(job)]


def test_steps_for_pipes_and_broken_rows_come_only_where_the_plan_has_them():
    assert names(job_of(RECTANGLE)) == BASICS
    pipe = Pipe(name="P1", centre_mm=(1500.0, 300.0), diameter_mm=15.0)
    assert set(names(job_of(RECTANGLE, pipes=(pipe,)))) - set(BASICS) == {"A pipe"}
    assert set(names(job_of(BREAST))) - set(BASICS) == {"Rows on both sides of a corner"}
    clear = replace(pipe, centre_mm=(5.0, 300.0))
    beside = job_of(RECTANGLE, pipes=(clear,))
    holes = tuple(replace(hole, pieces=()) for hole in beside.plan.holes)
    assert names(replace(beside, plan=replace(beside.plan, holes=holes))) == BASICS


def test_the_board_that_cannot_be_tilted_lies_under_what_the_room_has():
    door = Door(name="D1", wall=("A", "B"), from_mm=900.0, width_mm=800.0, casing=Casing(width_mm=57.0,
                                                                                       thickness_mm=15.0))
    for doors, word in (((), "radiator"), ((door,), "casing")):
        step = next(step for step in how_to_steps(job_of(RECTANGLE, doors=doors)) if "tilted" in step.name)
        assert word in [getattr(thing, "text", "") for thing in step.scene.things]


@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
@pytest.mark.parametrize("show", ["metric", "imperial"])
def test_how_to_lay_takes_two_pages_and_few_words(paper, show):
    job = breast_job(show=show)
    assert len(how_to_pages(job, paper)) == len(how_to_pages(job_of(RECTANGLE, show=show), paper)) == 2
    assert max(len(step.words.split()) for step in how_to_steps(job)) <= 30
