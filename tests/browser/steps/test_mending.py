"""Faults told where they are and mended with one tap, which undo takes back: a wall nobody has seen, a misread length, a
room named the wrong way round."""
from __future__ import annotations

import json
from typing import get_args, get_type_hints

import pytest
from playwright.sync_api import expect

from desk.jobfile.answer_schema import MendShape
from tests.support.hands import comes_to_disk, disk, go

BOARD = {"length": 1285, "width": 192, "thickness": 8, "pack": 8}
#: A room of 4 x 3 m and both its diagonals, square to the millimetre.
LENGTHS = {("A", "B"): 4000, ("B", "C"): 3000, ("C", "D"): 4000, ("D", "A"): 3000, ("A", "C"): 5000, ("B", "D"): 5000}


@pytest.fixture
def page_of(quick_desk, open_page, tmp_path):
    """Opens the page of a taped job; returns (page, the job's folder)."""
    def opened(lengths: dict, screen: str):
        folder = tmp_path / "job"
        folder.mkdir()
        job = {"format": "tapegroove-job", "version": 1, "outline": ["A", "B", "C", "D"], "flooring": {"board": BOARD},
               "tape": [{"between": list(pair), "mm": mm} for pair, mm in lengths.items()]}
        (folder / "job.json").write_text(json.dumps(job), "utf-8")
        return open_page(quick_desk(folder).address, screen).page, folder
    return opened


@pytest.mark.parametrize("screen", ["laptop", "phone"])
def test_a_wall_nobody_saw_is_asked_about_and_the_plan_is_kept_only_then(page_of, screen):
    page, folder = page_of({pair: mm for pair, mm in LENGTHS.items() if pair != ("C", "D")}, screen)
    go(page, "rows")
    main = page.locator("main")
    expect(main).to_contain_text("Perhaps not your room")
    expect(main).to_contain_text("Is C-D one straight wall?")
    expect(page.locator("[data-key=keep]")).to_have_count(0)
    page.click("[data-key=straight-C-D]")
    comes_to_disk(page, folder, "straight", [["C", "D"]])
    expect(main).not_to_contain_text("Perhaps not your room")
    page.locator("[data-key=keep]").click()
    expect(main).to_contain_text("This is your plan")
    assert "plan" in disk(folder)


def test_a_wall_nobody_saw_is_dashed(page_of):
    page, _ = page_of({pair: mm for pair, mm in LENGTHS.items() if pair != ("C", "D")}, "laptop")
    go(page, "tape")
    expect(page.locator(".plan.floor .unseen, .plan .unseen").first).to_be_attached()


def test_a_misread_length_is_mended_by_a_tap_and_undone(page_of):
    page, folder = page_of(LENGTHS | {("A", "C"): 5100}, "laptop")
    go(page, "tape")
    button = page.locator("[data-key^=mend-use-length]").first
    expect(button).to_be_visible()
    said = button.inner_text()
    button.click()
    expect(page.locator("main")).to_contain_text("No length or mark stands out as wrong")
    mended = [entry["mm"] for entry in disk(folder)["tape"]]
    assert mended != list((LENGTHS | {("A", "C"): 5100}).values()) and said.startswith("Use ")
    page.click("#undo")
    expect(page.locator("[data-key^=mend-use-length]").first).to_be_visible()


@pytest.mark.parametrize("step", ["corners", "tape", "rows"])
def test_a_room_named_clockwise_is_flipped_by_a_tap_where_it_is_told_and_undone(page_of, step):
    page, folder = page_of(LENGTHS, "laptop")
    go(page, step)
    button = page.locator("[data-key^=mend-flip]").first
    expect(button).to_be_visible()
    expect(page.locator(".says", has=button)).to_contain_text("no photo tells left from right", ignore_case=True)
    button.click()
    comes_to_disk(page, folder, "outline", ["A", "D", "C", "B"])
    page.click("#undo")
    comes_to_disk(page, folder, "outline", ["A", "B", "C", "D"])


#: A mend of each kind that a survey names, and the part of `SPOILT` that it makes anew.
SPOILT = {"outline": list("ABCDE"), "tape": [{"between": ["A", "C"], "mm": 5100, "typed": "5.1 m"},
                                             {"between": ["A", "E"], "mm": 3000}],
          "photos": [{"file": "1.jpg", "marks": [{"point": "A"}, {"point": "B"}, {"point": "E"}]},
                     {"file": "2.jpg", "marks": []}], "straight": [["D", "E"]]}
MENDS = [
    ({"do": "use-length", "where": "tape[0]", "mm": 5000}, lambda job: job["tape"][0].update(mm=5000) or
     job["tape"][0].pop("typed")),
    ({"do": "other-pair", "where": "tape[0]", "between": ["B", "D"]}, lambda job: job["tape"][0].update(
        between=["B", "D"])),
    ({"do": "other-point", "where": "photos[0].marks[1]", "point": "C"}, lambda job: job["photos"][0]["marks"][1].update(
        point="C")),
    ({"do": "swap-points", "where": "photos[0].marks[0]", "other": "photos[0].marks[1]", "points": ["A", "B"]},
     lambda job: job["photos"][0].update(marks=[{"point": "B"}, {"point": "A"}, {"point": "E"}])),
    ({"do": "letters", "where": "photos[0].marks[0]", "letters": [["photos[0].marks[0]", "B"],
                                                                  ["photos[0].marks[1]", "C"]]},
     lambda job: job["photos"][0].update(marks=[{"point": "B"}, {"point": "C"}, {"point": "E"}])),
    ({"do": "outline", "where": "outline", "points": ["B", "C"], "outline": list("ACBDE")},
     lambda job: job.update(outline=list("ACBDE"))),
    ({"do": "flip", "where": "outline", "outline": list("AEDCB")}, lambda job: job.update(outline=list("AEDCB"))),
    ({"do": "keep-one", "where": "outline", "kept": "D", "dropped": "E"}, lambda job: job.update(
        outline=list("ABCD"), straight=[]) or job["tape"][1].update(between=["A", "D"]) or
     job["photos"][0]["marks"][2].update(point="D")),
    ({"do": "leave-out-photo", "where": "2.jpg"}, lambda job: job["photos"].pop()),
    ({"do": "leave-out", "where": "tape[1]"}, lambda job: job["tape"].pop()),
]


def test_every_mend_that_a_survey_can_name_has_its_button(page_of):
    """Each in one tap, as one change of the job: undone like any other."""
    assert {mend["do"] for mend, _ in MENDS} == set(get_args(get_type_hints(MendShape)["do"]))
    page, _ = page_of(LENGTHS, "laptop")
    for mend, change in MENDS:
        wanted = json.loads(json.dumps(SPOILT))
        change(wanted)
        made = page.evaluate("""async ([job, mend]) => {
            const {mendButtons} = await import('/common/mends.js');
            const made = [];
            const store = {change: (label, edit) => { const draft = structuredClone(job); edit(draft); made.push(draft); }};
            mendButtons([mend], store).forEach((button) => button.click());
            return made;
        }""", [SPOILT, mend | {"says": "Mend it"}])
        assert made == [wanted], mend["do"]
