"""The booklet's pages beside its rows: their order and number, what is said once, doors, shopping, inches; nothing
touches anything on five papers in both units."""
from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest

import demo_photos
from desk.actions.pipeline import planned_job
from desk.convert import to_pack_job
from desk.jobfile.files import read_job
from desk.store.corner_photos import marked_photos
from desk.store.photos import look_at_photos
from layout.planning.planner import plan_floor
from layout.room import Board, Casing, Door, Wishes
from printpack.booklet.booklet import booklet_sheets
from printpack.booklet.check_page import check_points
from printpack.booklet.day_page import summary_pages
from printpack.howto.door_page import door_pages
from printpack.booklet.lists import offcut_rows
from printpack.drawing.page_layout import SMALL, bound
from printpack.drawing.pdf import pdf_bytes
from printpack.paper import A4, LETTER, PAPERS
from printpack.units import how_many
from printpack.words.doors import door_facts, fire_gap, profile_words, stack_of
from tests.bench.printpack.run_pack import job_with, off_the_sheet, touches
from tests.support.looks import overprints, strays, texts
from tests.support.plans import DATE, RECTANGLE, breast_job, job_of

FIRST = ["The plan", "Shopping list", "Before you start", "Under the boards", "Doors", "How to lay",
         "The day on one page"]
LAST = ["Finishing", "How sure the survey is", "Offcuts", "Notes"]
CASING = Casing(width_mm=57.0, thickness_mm=15.0)


@lru_cache
def job_in(show):
    return replace(breast_job(show=show), survey_notes=())


@lru_cache
def others(show, paper):
    """The pages beside the rows'."""
    kept, rows = [], False
    for sheet in booklet_sheets(job_in(show), paper, {}):
        rows = sheet.bookmark.startswith("Row ") or (rows and not sheet.bookmark)
        kept += [] if rows else [sheet]
    return tuple(kept)


def said(sheets) -> str:
    return " ".join(text.text for sheet in sheets for text in texts(sheet))


def test_the_pages_come_in_the_order_they_are_needed():
    marks = [sheet.bookmark for sheet in booklet_sheets(job_in("metric"), A4, {}) if sheet.bookmark]
    rows = [f"Row {row.number}" for row in job_in("metric").plan.rows]
    assert marks == [*FIRST, *rows, *LAST]
    few = booklet_sheets(replace(job_in("metric"), plan=replace(job_in("metric").plan, offcuts=())), A4, {})
    assert few[-1].bookmark == "Offcuts, notes" and few[-2].bookmark == "How sure the survey is"


@pytest.fixture(scope="module")
def demo():
    folder = Path(demo_photos.__file__).parent
    job = read_job(folder)
    survey, plan, _ = planned_job(job, look_at_photos(folder, job))
    return to_pack_job(job, survey, plan, date=DATE, photos=marked_photos(folder, job))


def test_beside_its_rows_the_demo_has_eleven_pages(demo):
    sheets = booklet_sheets(demo, A4, {})
    marks = [sheet.bookmark for sheet in sheets]
    first = marks.index("Row 1")
    assert first + len(sheets) - marks.index("Finishing") <= 11
    assert sum(len(sheet.pictures) for sheet in sheets) == len(demo.photos) > 0


@pytest.mark.parametrize("show", ["metric", "imperial"])
@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
def test_nothing_touches_or_leaves_the_paper_and_no_type_is_under_nine_points(show, paper):
    """Drawn again by Pillow for what touches, by PDFium for what leaves the printable box; 9 pt = 9 * 25.4 / 72 mm."""
    sheets = others(show, paper)
    for sheet in sheets:
        assert not strays(sheet) and not overprints(sheet), sheet.bookmark
        assert [found for found in touches(sheet) if sheet.bookmark not in ("The plan", "How sure the survey is")] == []
        assert min(text.size_mm for text in texts(sheet)) >= 9 * 25.4 / 72 - 1e-9 == SMALL - 1e-9
    assert off_the_sheet(sheets, job_in(show)) == 0


def test_the_same_job_gives_the_same_bytes():
    one, two = (pdf_bytes(booklet_sheets(breast_job(), A4, {}), title="t", date=DATE) for _ in range(2))
    assert one == two


def test_a_title_of_three_hundred_letters_changes_no_page_but_the_first():
    long = replace(job_in("metric"), title="Back bedroom " * 23)
    sheets = booklet_sheets(long, A4, {})
    assert len(sheets) == len(booklet_sheets(job_in("metric"), A4, {}))
    assert not any(strays(sheet) or overprints(sheet) for sheet in sheets)


def test_american_pages_speak_in_inches_and_american_words():
    words = said(others("imperial", LETTER))
    assert not re.findall(r"\S* ?\d ?(?:mm|cm2?|m2?|m²)\b(?! (?:for|a) met)", words)
    assert not re.findall(r"(?i)skirting|beading|mitre|FFP2|\bmetre|lining", words)
    for word in ("6 ft straightedge", "lapped 8 in", "N95", "aseboard", "shoe molding", "jamb", "transition strip"):
        assert word in words


def test_british_pages_keep_theirs():
    words = said(others("metric", A4))
    assert not re.findall(r"(?i)baseboard|molding|miter|N95|\d\"|\bft\b", words)
    assert all(word in words for word in ("2 m straightedge", "lapped 200 mm", "FFP2", "skirting", "threshold profile"))


# Doors ---------------------------------------------------------------------------------------------------------------


def test_a_leaf_clears_board_underlay_profile_and_air():
    """8 + 3 are the floor (trade sheet, section 4: build-up); a profile of 5 and 3 of air come on top."""
    stack = stack_of(job_in("metric"))
    assert (stack.floor_mm, stack.leaf_mm, stack.undercut_mm) == (11.0, 19.0, 12.0)
    words = said(sheet for sheet in others("metric", A4) if sheet.bookmark == "Doors")
    assert all(word in words for word in ("19 mm", "board 8 mm", "underlay 3 mm", "profile 5 mm", "air 3 mm",
                                          "20 mm deep", "casing, lining and stop"))


@pytest.mark.parametrize(("next_floor", "metric", "imperial"), [
    (None, "measure next door", "measure next door"), (11.0, "level: flat profile", "level: flat profile"),
    (14.0, "level: flat profile", "level: flat profile"),
    (4.0, "7 mm lower there: ramp profile", '1/4" lower there: reducer'),
    (30.0, "19 mm higher there: ramp profile, a trip edge", '3/4" higher there: reducer, a trip edge')])
def test_the_profile_follows_from_the_floor_next_door(next_floor, metric, imperial):
    """The new floor is 11 mm high: a step up to 3 mm is level, one over 13 mm (1/2 in.) trips (trade sheet, section
    9)."""
    for show, words in (("metric", metric), ("imperial", imperial)):
        job = job_in(show)
        door = replace(job.room.doors[0], next_floor_mm=next_floor)
        (facts,) = door_facts(replace(job, room=replace(job.room, doors=(door,))))
        assert profile_words(facts, job.units).replace("\u00a0", " ") == words


def test_what_the_plan_warns_of_at_a_door_is_told_on_its_page():
    """The opening without a depth is still to be laid; a doorway that runs into other floor is in the wrong wall; in
    front of a casing no thicker than the gap (10 mm) that gap shows."""
    job = job_in("metric")
    shallow = replace(job.room.doors[0], reveal_mm=0.0, casing=Casing(width_mm=57.0, thickness_mm=9.0))
    page = said(bound(door_pages(replace(job, room=replace(job.room, doors=(shallow,))), A4), A4, title="x", foot=str))
    assert "type the opening’s depth to have it planned" in page and "as drawn; beading in front" in page
    assert "check its wall" in said(bound(door_pages(job, A4), A4, title="x", foot=str))  # its plan lays no doorway


def test_fire_doors_are_never_trimmed_and_the_rule_is_quoted_as_it_was_found():
    """BS 8214:2016, 12.3 (3 mm where smoke is held back, else 6 to 10 by certificate) and NFPA 80:2007, 4.8.4 (3/4
    in.): trade sheet, section 6, second-hand."""
    for show, paper, rule in (("metric", A4, "BS 8214:2016, 12.3, allows 3 mm"),
                              ("imperial", LETTER, 'NFPA 80:2007, 4.8.4, allows 3/4"')):
        page = said(sheet for sheet in others(show, paper) if sheet.bookmark == "Doors")
        assert rule in page and "Never trim or undercut a fire door" in page and "certifier" in page
        assert "second-hand" in fire_gap(show)


def test_doors_are_said_once():
    """Undercut, leaf and fire doors stand on the doors' page alone."""
    for sheet in others("metric", A4):
        words = said([sheet])
        assert sheet.bookmark == "Doors" or not re.search(r"(?i)undercut (door )?casing|fire door|closed leaf", words)


def test_twelve_doors_still_print_and_a_room_without_a_door_has_no_page():
    doors = tuple(Door(name=f"D{k}", wall=("A", "B"), from_mm=10.0 + 200 * k, width_mm=150.0, casing=CASING)
                  for k in range(12))
    assert len(door_pages(job_of(RECTANGLE, doors=doors), A4)) <= 2
    assert door_pages(job_of(RECTANGLE), A4) == ()


# Shopping and the day ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("more", [0, 1, 2])
def test_packs_are_the_same_everywhere_with_two_boards_to_spare(more):
    """One board for a miscut, one for a repair (trade sheet, section 3: keep 1 to 3 spare)."""
    job = job_of(RECTANGLE)
    wishes, board = Wishes(direction_rad=0.0), Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8)
    used = plan_floor(job.room, board, wishes, moves=60).boards
    job = replace(job, plan=plan_floor(job.room, replace(board, pack=used + more), wishes, moves=60))
    packs = 1 if more == 2 else 2
    pages = {sheet.bookmark: [text.text for text in texts(sheet)] for sheet in booklet_sheets(job, A4, {})}
    count = how_many(packs, "packs").replace("\u00a0", " ")
    assert job.plan.packs_to_buy == packs and count in pages["Shopping list"]
    plan = pages["The plan"]
    assert plan[plan.index("Packs to buy") + 1] == str(packs)
    assert f"boards, {count}," in " ".join(pages["The day on one page"])


@pytest.mark.parametrize(("quantity", "unit", "words"), [(1, "rolls", "1 roll"), (2, "rolls", "2 rolls"),
                                                         (1, "pieces", "1 piece"), (12.5, "m", "12.5 m"),
                                                         (1, "packs", "1 pack"), (22, "m2", "22 m2")])
def test_one_is_singular(quantity, unit, words):
    assert how_many(quantity, unit).replace("\u00a0", " ") == words


def test_the_day_says_what_to_do_when_a_check_fails():
    page = next(sheet for sheet in others("metric", A4) if sheet.bookmark == "The day on one page")
    words = said([page])
    assert "When a check fails" in words and all(lead in words for lead, _ in check_points(job_in("metric")))


@pytest.mark.parametrize("show", ["metric", "imperial"])
@pytest.mark.parametrize("rows", [3, 25, 40])
def test_the_day_is_one_page_with_every_row_on_it(rows, show):
    job = job_with(rows, 4, show=show)
    for paper in (A4, LETTER):
        sheets = bound(summary_pages(job, paper), paper, title="f", foot=str)
        numbers = [text.text for sheet in sheets for text in texts(sheet) if text.text.isdigit()]
        assert len(sheets) == 1 and not overprints(sheets[0]) and not strays(sheets[0])
        assert {str(row.number) for row in job.plan.rows} <= set(numbers)


def test_every_offcut_stands_under_what_is_pencilled_on_it():
    job = job_in("metric")
    assert Counter(row[0] for row in offcut_rows(job)) == Counter(cut.used_by or "spare" for cut in job.plan.offcuts)


def test_every_wall_has_its_length_on_the_plan_whatever_way_the_rows_run():
    job = job_of(((0, 0), (4000, 0), (4000, 3000), (0, 3000)), sd_mm=0.0)
    plan = plan_floor(job.room, Board(length_mm=1285.0, width_mm=192.0, thickness_mm=8.0, pack=8),
                      Wishes(direction_rad=math.radians(45.0)), moves=60)
    words = [text.text for text in texts(booklet_sheets(replace(job, plan=plan), A4, {})[0])]
    assert words.count("4000 mm") == words.count("3000 mm") == 2 and "START WALL" in words
