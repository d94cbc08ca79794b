"""Everything that can be told to be wrong without solving: one sentence each, at its place, naming value and way
out."""
from __future__ import annotations

import copy

import pytest

from desk.checks.check import find_problems
from desk.jobfile.files import parse_job
from desk.store.photos import PhotoFacts


def problems_of(tree: dict, photos: dict | None = None) -> list[tuple[str, str, str]]:
    return [(p.severity, p.slug, p.where) for p in find_problems(parse_job(tree), photos or {})]


def with_(tree: dict, path: str, value) -> dict:
    """A copy of a tree with one value set; a path's last part may be "+" to add to a list."""
    tree = copy.deepcopy(tree)
    *parents, last = [int(p) if p.isdecimal() else p for p in path.split("/")]
    node = tree
    for key in parents:
        node = node[key] if isinstance(key, int) else node.setdefault(key, {})
    if last == "+":
        node.append(value)
    else:
        node[last] = value
    return tree


@pytest.mark.parametrize("name", ["box", "l_floor"])
def test_a_sound_job_has_nothing_wrong(name, request):
    assert problems_of(request.getfixturevalue(name)) == []


@pytest.mark.parametrize("path, value, slug, where",
                         [("outline", [], "too-few-corners", "outline"),
                          ("outline", ["A", "B"], "too-few-corners", "outline"),
                          ("outline", ["A", "B", "C", "D", "A"], "double-name", "outline"),
                          ("outline", ["A", "B", "C", "E", "D"], "unmeasured-point", "outline"),
                          ("tape/2/between", ["C", "G"], "unknown-point", "tape[2]"),
                          ("tape/6/wall", ["A", "C"], "unknown-wall", "tape[6]"),
                          ("tape/0", {"between": ["A", "B"], "mm": 400000}, "absurd-length", "tape[0]"),
                          ("square", ["Q"], "not-a-corner", "square[0]"),
                          ("on_wall", [{"point": "P1", "wall": ["B", "D"]}], "unknown-wall", "on_wall[0]"),
                          ("islands", [{"name": "hearth", "corners": ["A", "H1"]}], "too-few-corners", "islands[0]"),
                          ("islands", [{"name": "hearth", "corners": ["A", "H1", "H2"]}], "double-name", "islands[0]"),
                          ("photos", [{"file": "photos/1.jpg", "marks": [{"point": "A", "x": 1, "y": 1}]}],
                           "no-photo-size", "photos[0]"), ("photos",
                                                           [{"file": "a.jpg", "size": [100, 80],
                                                             "marks": [{"point": "A", "x": 100, "y": 1}]}],
                                                           "mark-outside", "photos[0].marks[0]"),
                          ("photos",
                           [{"file": "a.jpg", "size": [100, 80],
                             "edges": [{"wall": ["A", "B"], "points": [[5, 5], [-2, 1]]}]}], "mark-outside",
                           "photos[0].edges[0].points[1]"),
                          ("photos", [{"file": "a.jpg", "size": [100, 80]}, {"file": "a.jpg", "size": [100, 80]}],
                           "double-photo", "photos"), ("flooring/board/length", 0, "board-size",
                                                       "flooring.board.length"),
                          ("flooring/board/length", 48, "board-size", "flooring.board.length"),
                          ("flooring/board/width", 1920, "board-size", "flooring.board.width"),
                          ("flooring/board/width", 0, "board-size", "flooring.board.width"),
                          ("flooring/board/thickness", 0.1, "board-size", "flooring.board.thickness"),
                          ("flooring/gap", 1000, "bad-gap", "flooring.gap"),
                          ("flooring/kerf", 30, "bad-kerf", "flooring.kerf"),
                          ("flooring/rules", {"stagger": 900}, "bad-rule", "flooring.rules.stagger"),
                          ("flooring/first_row", 300, "bad-first-row", "flooring.first_row"),
                          ("flooring/direction", ["A", "C"], "unknown-wall", "flooring.direction"),
                          ("flooring/start", ["A", "Z"], "unknown-wall", "flooring.start"),
                          ("pipes/+", {"name": "P2", "diameter": 15}, "no-pipe-place", "pipes[1]"),
                          ("pipes/+", {"name": "P1", "diameter": 15}, "double-name", "pipes"),
                          ("pipes/0/diameter", 1500, "absurd-pipe", "pipes[0].diameter"),
                          ("doors/0/casing", {"width": 57, "thickness": 15, "legs": {
                              "left": [[57, 0], [9_999_999, 15], [0, 0]]}}, "absurd-casing", "doors[0].casing.legs"),
                          ("doors/0/wall", ["A", "C"], "unknown-wall", "doors[0]"),])
def test_what_stops_a_job(box, path, value, slug, where):
    found = problems_of(with_(box, path, value))
    assert ("stop", slug, where) in found
    assert found[0][0] == "stop", "what stops the job comes first"


@pytest.mark.parametrize("path, value, slug",
                         [("tape/0/mm", 43100, "cannot-close"), ("tape/4/mm", 7100, "cannot-close"),
                          ("tape/+", {"between": ["B", "A"], "mm": 4100}, "taped-twice"),
                          ("outline", ["A", "B", "C", "D", "a"], "alike-names"), ("flooring/gap", 2, "narrow-gap"),
                          ("flooring/board", {"length": 1285, "width": 192}, "pack-assumed"),
                          ("cameras", {"c9": {"focal_px": 3000}}, "unused-camera"), ("flooring", {}, "no-board")])
def test_what_is_only_worth_knowing(box, path, value, slug):
    box["tape"][0].pop("typed")
    assert ("note", slug) in [(severity, found) for severity, found, _ in problems_of(with_(box, path, value))]


@pytest.mark.parametrize("ring, slug", [
    ([[0, 0], [4000, 3000], [4000, 0], [0, 3000]], "crossed-outline"),
    ([[0, 0], [4000, 0], [4000, 3000], [2000, 0], [0, 3000]], "crossed-outline"),
    ([[0, 0], [4000, 0], [4000, 3000], [0, 0]], "same-place"), ([[0, 0], [4000, 0]], "too-few-corners"),
    ([[0, 0], [4.2, 0], [4.2, 3.6], [0, 3.6]], "tiny-floor"), ([[0, 0], [4e6, 0], [4e6, 3e6], [0, 3e6]], "huge-floor")])
def test_a_given_floor_must_be_a_floor(l_floor, ring, slug):
    assert slug in [found for _, found, _ in problems_of(with_(l_floor, "floor/outline", ring))]


def test_walls_that_only_meet_at_a_corner_do_not_cross(l_floor):
    spiral = [[0, 0], [5000, 0], [5000, 4000], [1000, 4000], [1000, 2000], [3000, 2000], [3000, 3000], [4000, 3000],
              [4000, 1000], [0, 1000]]
    assert problems_of(with_(l_floor, "floor/outline", spiral)) == []


def test_names_must_match_the_coordinates(l_floor):
    assert problems_of(l_floor | {"outline": ["A", "B", "C"]})[0][1] == "names-and-corners"
    named = l_floor | {"outline": list("UVWXYZ")}
    assert ("stop", "unknown-wall", "flooring.direction") in problems_of(named)


def test_readings_beside_a_given_floor_are_said_to_be_unused(l_floor):
    assert ("note", "floor-is-given", "floor") in problems_of(l_floor | {"tape": [{"between": ["A", "B"], "mm": 4200}]})


def test_a_helper_point_seen_twice_is_no_slip(in_photos):
    for photo in in_photos["photos"][:2]:
        photo["marks"].append({"point": "chalk", "x": 1000.0, "y": 800.0})
    assert problems_of(in_photos) == []


def test_an_outline_corner_fixed_by_two_wall_lines_counts_as_measured(in_photos):
    photo = in_photos["photos"][0]
    for each in in_photos["photos"]:
        each["marks"] = [m for m in each["marks"] if m["point"] != "D"]
    assert ("stop", "unmeasured-point", "outline") in problems_of(in_photos)
    photo["edges"] = [{"wall": ["C", "D"], "points": [[600, 650]]}, {"wall": ["A", "D"], "points": [[500, 900]]}]
    assert problems_of(in_photos) == []


@pytest.mark.parametrize("facts, expected",
                         [({"fault": "gone", "missing": True}, ("note", "missing-photo")),
                          ({"fault": "broken"}, ("note", "unreadable-photo")),
                          ({"size": (2000, 1500)}, ("note", "no-focal-length")),
                          ({"size": (1500, 2000), "focal_px": 1200.0}, ("stop", "size-differs"))])
def test_pictures_are_held_against_the_job(in_photos, facts, expected):
    in_photos.pop("cameras")
    photo = in_photos["photos"][0]["file"]
    assert expected in [(s, slug) for s, slug, _ in problems_of(in_photos, {photo: PhotoFacts(file=photo, **facts)})]


@pytest.mark.parametrize("facts, slug", [({"fault": "gone", "missing": True}, "missing-photo"),
                                         ({"fault": "broken"}, "unreadable-photo")])
def test_a_lost_picture_without_a_size_stops_reading(in_photos, facts, slug):
    photo = in_photos["photos"][0]
    photo.pop("size")
    (stop,) = [p for p in find_problems(parse_job(in_photos), {photo["file"]: PhotoFacts(file=photo["file"], **facts)})
               if p.severity == "stop"]
    assert (stop.slug, stop.stage, stop.where) == (slug, "read", "photos[0]")


def test_a_lost_picture_that_nothing_was_marked_in_is_only_worth_knowing(in_photos):
    in_photos["photos"].append({"file": "photos/9.jpg"})
    facts = {"photos/9.jpg": PhotoFacts(file="photos/9.jpg", fault="gone", missing=True)}
    assert problems_of(in_photos, facts) == [("note", "missing-photo", "photos[3]")]


def test_a_bad_board_does_not_stop_the_survey(box):
    (problem,) = find_problems(parse_job(with_(box, "flooring/board/length", 48)), {})
    assert problem.stops("plan") and not problem.stops("survey")
    assert "1219.2" in problem.says, "48 inches would be 1219.2 mm"


def test_lengths_that_cannot_close_name_the_way_round(box):
    """A straight line is the shortest way: A-C cannot be longer than A-B-C or A-D-C (7000 and 7000 mm less a
    little)."""
    box["tape"][4]["mm"] = 6990
    assert problems_of(box) == []
    box["tape"][4]["mm"] = 7100
    (problem,) = find_problems(parse_job(box), {})
    assert problem.slug == "cannot-close" and ("A-B-C is only 7000 mm" in problem.says
                                               or "A-D-C is only 7000 mm" in problem.says)


def test_lengths_that_cannot_close_are_said_in_the_unit_shown_and_none_is_blamed(box):
    """The short one is the wrong one here, and the longer ones are as they were. 3900 mm are 153.54 in, 12 ft 9 9/16
    in to the nearest sixteenth."""
    box["tape"][4]["mm"] = 900.0049
    for show, way in (("metric", "3900 mm"), ("imperial", "12' 9 9/16\"")):
        says = [problem.says for problem in find_problems(parse_job({**box, "show": show}), {})
                if problem.slug == "cannot-close"]
        assert f"is only {way} long" in says[0] and not any("this one first" in text for text in says)


def test_a_slipped_decimal_mark_is_asked_about(box):
    box["tape"][0] = {"between": ["A", "B"], "mm": 43100}
    (problem,) = find_problems(parse_job(box), {})
    assert problem.slug == "cannot-close" and "did you mean 4310 mm?" in problem.says
    box["tape"] = box["tape"][:3]
    assert "did you mean 4.31 m?" in next(p.says for p in find_problems(parse_job(box), {})
                                          if p.slug == "absurd-length")


def test_all_faults_are_said_at_once_in_one_sentence_each(box):
    box["outline"].append("E")
    box["tape"][2]["between"] = ["C", "G"]
    box["square"] = ["Q"]
    box["flooring"]["board"] = {"length": 0, "width": 0, "pack": 1, "thickness": 8}
    stops = [p for p in find_problems(parse_job(box), {}) if p.severity == "stop"]
    assert sorted({p.slug for p in stops}) == ["board-size", "not-a-corner", "unknown-point", "unknown-wall",
                                               "unmeasured-point"]
    assert {p.where for p in stops} >= {"tape[2]", "square[0]", "flooring.board.length", "flooring.board.width"}
    for problem in stops:
        assert problem.says.endswith((".", "?")) and "\n" not in problem.says and len(problem.says) < 300


@pytest.mark.parametrize("path, key, meant",
                         [("taep", '"taep" is not known', "tape"), ("flooring/kref", '"kref" in flooring', "kerf"),
                          ("tape/1/tpyed", '"tpyed" in tape[1]', "typed"),
                          ("doors/0/casing/with", '"with" in doors[0].casing', "width"),
                          ("flooring/rules/stager", '"stager" in flooring.rules', "stagger")])
def test_a_key_nobody_knows_is_asked_about_and_stops_nothing(box, path, key, meant):
    tree = with_(box, path, 5)
    (problem,) = find_problems(parse_job(tree), {})
    assert (problem.severity, problem.slug) == ("note", "unknown-key")
    assert problem.says.startswith("job.json: ") and key in problem.says and problem.says.endswith(
        f'did you mean "{meant}"?')
    assert parse_job(tree).tree() == tree, "what is not known is kept"


def test_a_key_like_no_other_is_said_to_be_kept(box):
    (problem,) = find_problems(parse_job(box | {"shopping list": ["tea"]}), {})
    assert problem.says == 'job.json: "shopping list" is not known, so it is kept but not used.'


@pytest.mark.parametrize("name", ["box", "l_floor", "in_photos"])
def test_keys_of_the_contract_are_known_though_not_all_are_read(name, request):
    tree = request.getfixturevalue(name) | {"plan": {"anything": 1}, "day": [{"what": "row-down", "row": 1}],
                                            "closeups": [{"file": "photos/9.jpg", "of": "P1"}],
                                            "version": 1}
    assert not [p for p in find_problems(parse_job(tree), {}) if p.slug == "unknown-key"]


def _with_doors(tree: dict, *doors: tuple[list[str], float, float]) -> dict:
    return tree | {"doors": [{"name": f"D{n}", "wall": wall, "from": start, "width": width}
                             for n, (wall, start, width) in enumerate(doors, start=1)]}


@pytest.mark.parametrize("doors, overlap",
                         [([(["A", "B"], 500, 762), (["A", "B"], 1200, 762)], 62),
                          ([(["A", "B"], 500, 762), (["A", "B"], 600, 300)], 300),
                          ([(["A", "B"], 500, 762), (["B", "A"], 1000, 762)], None),
                          ([(["A", "B"], 500, 762), (["B", "A"], 2300, 762)], 324),
                          ([(["A", "B"], 500, 762), (["A", "B"], 1262, 762)], None),
                          ([(["A", "B"], 500, 762), (["B", "C"], 500, 762)], None)])
def test_doors_of_one_wall_do_not_overlap(box, doors, overlap):
    """A-B is taped as 4000 mm: a door 2300 mm from B and 762 wide begins 938 mm from A, before one that ends at
    1262."""
    assert box["tape"][0]["between"] == ["A", "B"] and box["tape"][0]["mm"] == 4000
    found = [p for p in find_problems(parse_job(_with_doors(box, *doors)), {}) if p.slug == "doors-overlap"]
    if overlap is None:
        assert found == []
    else:
        (problem,) = found
        assert problem.severity == "stop" and problem.where == "doors[1]" and f"overlap by {overlap} mm" in problem.says
        assert problem.stops("plan") and not problem.stops("survey")
