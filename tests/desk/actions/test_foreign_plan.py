"""A kept plan that somebody else wrote or changed: refused in one sentence that names the key, or of no effect.

No outside source but where one is named: what is checked is that nothing nobody typed reaches paper, or a place outside
the pack.
"""
from __future__ import annotations

import copy
import datetime
import json

import pytest

from desk.actions.foreign_plan import believed
from desk.cli import main
from desk.actions.day import day_of
from desk.jobfile.digests import with_digests
from desk.jobfile.files import parse_job
from desk.actions.kept_plan import kept_plan, with_plan
from desk.actions.pipeline import plan_job, plan_text, planned_job, survey_job
from layout.errors import LayoutError
from tests.support.foreign_trees import kept_in_a_flat

DAY = datetime.date(2026, 3, 5)


@pytest.fixture(scope="module")
def kept_tree():
    """A small room with an island, a pipe, a door and a piece at hand, its plan kept: the job's tree."""
    job = parse_job({"floor": {"outline": [[0, 0], [2600, 0], [2600, 1900], [0, 1900]],
                               "holes": [[[900, 700], [1200, 700], [1200, 1000], [900, 1000]]]},
                     "pipes": [{"name": "P1", "diameter": 15, "at": [2300, 60]}],
                     "doors": [{"name": "D1", "wall": ["A", "B"], "from": 300, "width": 762, "reveal": 110}],
                     "flooring": {"board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8},
                                  "stock": [{"length": 640, "keeps": ["left"]}]}})
    survey = survey_job(job, {})
    return json.loads(with_plan(job, survey, plan_job(job, survey, effort="preview"), on=DAY).text)


def changed(tree, change, *, forged: bool):
    """The job with its plan changed; forged: with digests that fit, as who writes a program can make them."""
    tree = copy.deepcopy(tree)
    change(tree["plan"])
    return tree | {"plan": with_digests(tree["plan"])} if forged else tree


def pieces(plan):
    return [piece for row in plan["rows"] for run in row["runs"] for piece in run["pieces"]]


def hole_in(plan):
    return next(cut for piece in pieces(plan) for cut in piece["cuts"] if cut["kind"] == "hole")


def name_all(plan, name):
    for piece in pieces(plan):
        piece["id"] = name


CHANGES = {"boards": (lambda p: p.update(boards=5), "plan.boards is 5"),
           "packs": (lambda p: p.update(packs=9), "plan.packs is 9"),
           "waste": (lambda p: p.update(waste_percent=1.5), "plan.waste_percent is 1.5"),
           "a row cut short": (lambda p: p["rows"][1]["runs"][0].update(pieces=p["rows"][1]["runs"][0]["pieces"][:1]),
                               ""), "a piece made shorter": (lambda p: pieces(p)[0].update(to=pieces(p)[0]["to"] - 100),
                                                             ""),
           "a cut moved": (lambda p: next(c for piece in pieces(p) for c in piece["cuts"]
                                          if c["kind"] == "cross").update(at=[400, 400]), ""),
           "a pipe's hole moved": (lambda p: p["cutouts"][0].update(centre=[100, 100]), ""),
           "a rule let go": (lambda p: p["rules"].update(stagger=0), ""),
           "another saw": (lambda p: p.update(kerf=0), "plan.kerf is 0"),
           "a wider edge window": (lambda p: p.update(gap_most=60), "plan.gap_most is 60"),
           "a window down to the wall": (lambda p: p.update(gap_least=0), "plan.gap_least is 0"),
           "a window without the gap": (lambda p: p.update(gap_most=9), "plan.gap_most is 9"),
           "a cut from no side": (lambda p: next(c for piece in pieces(p) for c in piece["cuts"]
                                                 if c["kind"] == "cross").update({"from": "near"}), "from is "),
           "a longer piece at hand": (lambda p: p["owned"][0].update(length=900), ""),
           "u is none": (lambda p: p["u"].__setitem__(0, 0.5), "plan.u is "),
           "v far off": (lambda p: p["v"].__setitem__(1, 1e30), "plan.v[1] is 1e+30"),
           "start far off": (lambda p: p["start"].__setitem__(0, 1e30), "plan.start[0] is 1e+30"),
           "rows counted from elsewhere": (lambda p: p["start"].__setitem__(0, 0.5), "plan.start"),
           "an offcut off its board's edge": (lambda p: p["offcuts"][0].update(near=0.5), "plan.offcuts"),
           "an offcut without its long edges": (lambda p: p["offcuts"][0].update(keeps=["left"]), "plan.offcuts"),
           "a number too long for a float": (lambda p: p.update(gap=10**400), "plan.gap is 1000"),
           "ids that are paths": (lambda p: name_all(p, "../../../../victim/keep"),
                                  'pieces[0].id is "../../../../victim/keep"'),
           "ids that are devices": (lambda p: name_all(p, "CON"), 'pieces[0].id is "CON"'),
           "a control character": (lambda p: p.update(warnings=["a\u001b[2Jb"]), "plan.warnings["),
           "an outline without an inside": (lambda p: pieces(p)[0].update(outline=[[0, 0], [1, 1]]),
                                            "pieces[0].outline is "), "no rows": (lambda p: p.update(rows=[]),
                                                                                  "plan.rows is "),}


@pytest.mark.parametrize("forged", [False, True])
@pytest.mark.parametrize("name", CHANGES)
def test_what_was_changed_is_refused_in_one_sentence_that_names_it(kept_tree, name, forged):
    change, says = CHANGES[name]
    with pytest.raises(LayoutError) as refusal:
        planned_job(parse_job(changed(kept_tree, change, forged=forged)), {})
    assert refusal.value.slug == "damaged-plan" and "\n" not in str(refusal.value) and str(refusal.value).endswith(".")
    assert says in str(refusal.value) and "--afresh" in str(refusal.value)


@pytest.mark.parametrize("taken", ["digests", "digest"])
@pytest.mark.parametrize("value", [0.5, None, [], "gone"])
def test_digests_that_are_none_do_not_make_a_plan_one_of_another_program(kept_tree, taken, value):
    tree = copy.deepcopy(kept_tree)
    inside = tree["plan"] if taken == "digests" else tree["plan"]["kept"]
    inside[taken] = value
    if value == "gone":
        del inside[taken]
    with pytest.raises(LayoutError, match=r"plan\.(digests|kept)") as refusal:
        kept_plan(parse_job(tree))
    assert refusal.value.slug == "damaged-plan"


@pytest.fixture(scope="module")
def of_a_flat():
    """A floor of a flat with its plan kept, which takes an offcut of another floor and leaves one for a third."""
    return kept_in_a_flat()


@pytest.mark.parametrize(("change", "says"), [
    (lambda p: p["owned"][1].update(came_from={"floor": "kitchen", "piece": "5.1"}), "plan.owned is "),
    (lambda p: p["owned"][1].update(came_from={"floor": "attic", "piece": "4.2"}), "plan.owned is "),
    (lambda p: p["owned"][1].pop("came_from"), "plan.owned is "),
    (lambda p: p["owned"][1]["came_from"].update(piece="nan"), "plan.owned[1].came_from.piece is "),
    (lambda p: _goes_to(p).update(piece=""), "goes_to.piece is "),
    (lambda p: _goes_to(p).update(piece="../../x"), "goes_to.piece is "),
    (lambda p: _goes_to(p).update(floor="y" * 121), "goes_to.floor is ")])
def test_what_is_told_of_other_floors_is_as_the_job_has_it_or_names_a_piece(of_a_flat, change, says):
    job = parse_job(changed(of_a_flat, change, forged=True))
    with pytest.raises(LayoutError) as refused:
        planned_job(job, {})
    assert refused.value.slug == "damaged-plan" and says in str(refused.value)


def _goes_to(plan):
    return next(offcut["goes_to"] for offcut in plan["offcuts"] if "goes_to" in offcut)


@pytest.mark.parametrize("value", [0.5, None, [], {}, "nowhere"])
def test_a_broken_corner_of_the_kept_floor_is_named(kept_tree, value):
    tree = copy.deepcopy(kept_tree)
    tree["plan"]["kept"]["floor"]["islands"][0]["corners"][0] = value
    with pytest.raises(LayoutError, match=r"changed since the plan was kept"):
        kept_plan(parse_job(tree))
    tree["plan"] = with_digests(tree["plan"])
    with pytest.raises(LayoutError, match=r"plan\.kept\.floor\.islands\[0\]\.corners"):
        kept_plan(parse_job(tree))


@pytest.mark.parametrize("change", [
    lambda p: p["shopping"]["items"][1].update(quantity=99),
    lambda p: p["shopping"]["items"].append({"purchase": {"slug": "spacers"}, "quantity": 1}),
    lambda p: p["beading"]["pieces"][0].update(start_deg=12), lambda p: p["notes"].clear(),
    lambda p: hole_in(p).update(to=""), lambda p: hole_in(p).update(to="far")])
def test_what_follows_from_the_room_is_counted_anew_whatever_the_file_says(kept_tree, change):
    honest, forged = parse_job(kept_tree), parse_job(changed(kept_tree, change, forged=True))
    assert planned_job(forged, {})[1] == planned_job(honest, {})[1]


def test_judging_changes_nothing_in_an_honest_plan(kept_tree):
    job = parse_job(kept_tree)
    kept = kept_plan(job)
    assert kept.vouched and believed(job, kept, kept.survey).plan == kept.plan


def test_a_plan_without_digests_is_used_without_what_only_its_maker_could_vouch_for(kept_tree):
    tree = copy.deepcopy(kept_tree)
    del tree["plan"]["digests"], tree["plan"]["kept"]
    trusted = {"says": ["Trust me."], "bound_says": "Trust me.", "warnings": ["Trust me."]}
    tree["plan"] |= {"bound": 1, "proven": False} | trusted
    _, plan, kept = planned_job(parse_job(tree), {})
    assert kept.is_current and plan.rows == kept_plan(parse_job(kept_tree)).plan.rows
    # By wood alone: n pieces of a board need n - 1 saw cuts (arithmetic).
    assert 1 < plan.bound <= plan.boards and plan.proven == (plan.bound == plan.boards)
    assert plan.reasons == () and plan.bound_by == "wood"
    assert "Trust me" not in plan_text(plan, kept.survey or survey_job(parse_job(tree), {}), parse_job(tree))


@pytest.mark.parametrize(("day", "says"), [
    ({"letter": "../../out"}, "letter"), ({"letter": "B", "bought": -1}, "bought"), ("soon", "plan.day"),
    ({"bought": 5}, "letter is missing"),
    ({"letter": "B", "outline": [[0, 0]], "islands": [], "pipes": []}, "outline"),
    ({"letter": "B", "outline": [[0, 0], [2600, 0], [2600, 1900], [0, 1900]], "islands": [],
      "pipes": [["P1", [0, 0], 0]]}, "0")])
def test_a_revision_cannot_name_a_file_or_a_room_that_is_none(kept_tree, day, says):
    tree = changed(kept_tree, lambda p: p.update(day=day), forged=True)
    with pytest.raises(LayoutError, match=says):
        day_of(parse_job(tree))


def test_a_pack_of_a_plan_whose_pieces_are_paths_writes_nothing(kept_tree, on_disk, capsys):
    folder = on_disk(changed(kept_tree, lambda p: name_all(p, "../../../../victim/keep"), forged=True))
    before = sorted(folder.parent.rglob("*"))
    assert main(["pack", str(folder)]) == 1
    assert "victim" in capsys.readouterr().err and sorted(folder.parent.rglob("*")) == before
