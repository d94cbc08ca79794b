"""What the day answers and where it says the work stands. Common practice, no source."""
from __future__ import annotations

import pytest

from desk.actions.day import day_of, tell
from desk.text.day_text import day_shown, sentence_of, stands_of
from layout.replan.events import OffcutShort, RowDown, Sight, ToFarWall
from layout.replan.progress import row_of
from tests.support.day_logs import DAY, kept_job, tree_of


@pytest.fixture(scope="module")
def begun():
    """A true 4 by 3 m box with its plan kept and four rows down."""
    job = kept_job(tree_of([[0, 0], [4000, 0], [4000, 3000], [0, 3000]]))
    return tell(job, RowDown(row=4), "said", on=DAY).job


def wall(job, left, right):
    return tell(job, ToFarWall(row=4, sights=(Sight(distance_mm=left, side="left"),
                                              Sight(distance_mm=right, side="right"))), "said", on=DAY)


def test_two_readings_in_doubt_are_asked_for_once(begun):
    says = sentence_of(wall(begun, 1203.0, 1199.0), "metric")
    assert says.count("easure again") == 1 and says.count("not used until") == 1
    assert "1203 mm" in says and "1199 mm" in says


def test_boards_are_not_said_to_be_as_wide_as_a_reading_that_is_left_out_tells(begun):
    assert not any("boards cover" in text for text in stands_of(wall(begun, 1203.0, 1199.0).after, "metric"))
    day = day_of(begun)
    ahead = 3000.0 - 10.0 - sum(row.far_mm - row.near_mm for row in day.plan.rows[:4])
    assert any("boards cover" in text for text in stands_of(wall(begun, ahead, ahead).after, "metric"))


def test_a_rest_is_called_by_what_is_pencilled_on_it_after_a_revision_too(begun):
    """Too short for its piece: a revision follows, which has the name of another piece pencilled on it or, where it
    has none, leaves the one that is there."""
    day, unused = day_of(begun), 0
    here = {spare.label for spare in day.now.spares}
    for rest in (offcut for offcut in day.plan.offcuts if offcut.label in here and offcut.used_by):
        job = tell(begun, RowDown(row=max(4, row_of(rest.used_by) - 1)), "said", on=DAY).job
        told = tell(job, OffcutShort(label=rest.label), "said", on=DAY)
        after = {offcut.label: offcut for offcut in told.after.plan.offcuts}[rest.label]
        hand = {one["label"]: one["says"] for one in day_shown(told.job, told.after)["hand"]}
        assert told.changed and hand[rest.label].startswith(f"{after.used_by or rest.used_by}:")
        unused += not after.used_by
    assert unused


def test_offcuts_on_hand_are_called_as_on_the_page_and_on_paper(begun):
    """The picture of a row pencils the piece it will be on a rest."""
    day = day_of(begun)
    users = {offcut.label: offcut.used_by for offcut in day.plan.offcuts}
    named = next(text for text in stands_of(day, "metric") if text.startswith("On hand"))
    assert day.now.spares
    for spare, shown in zip(day.now.spares, day_shown(begun, day)["hand"]):
        name = users.get(spare.label) or spare.label
        assert f"{name} (" in named and shown["says"].startswith(f"{name}:")
