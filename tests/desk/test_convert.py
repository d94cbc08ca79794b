"""What the rooms are given for what the job says and for what it leaves unsaid."""
from __future__ import annotations

import math

import numpy as np
import pytest

from capture.adjustment.survey import Survey
from desk.convert import corner_names, to_board, to_given_floor, to_network, to_pack_job, to_room, to_wishes
from desk.jobfile.files import parse_job
from desk.store.photos import PhotoFacts
from desk.actions.kept_plan import part_digests
from desk.actions.pipeline import survey_job
from desk.problem import JobProblems


def photos_of(*sizes_and_focals, marks=({"point": "A", "x": 1, "y": 1},), camera: str | None = None):
    """A job of photos of the given (size, EXIF focal) and their facts."""
    entries = [{"file": f"{i}.jpg", "marks": list(marks)} | ({"camera": camera} if camera else {})
               for i in range(len(sizes_and_focals))]
    facts = {f"{i}.jpg": PhotoFacts(file=f"{i}.jpg", size=size, focal_px=focal)
             for i, (size, focal) in enumerate(sizes_and_focals)}
    return {"outline": ["A", "B", "C"], "photos": entries}, facts


def test_what_a_hand_put_on_the_plan_is_told_until_both_its_distances_are_typed(box):
    """Twice the spread the page puts things with is near 95 % of a normal distribution (handbook value 1.96)."""
    walls = (["A", "B"], ["D", "A"])
    rough = [{"point": point, "wall": wall, "mm": 700 + 100 * i, "by_hand": True}
             for i, point in enumerate(("P2", "H1", "H2", "H3")) for wall in walls]
    rough[2]["mm"], rough[5]["mm"] = 1200, 1400
    job = box | {"pipes": [*box["pipes"], {"name": "P2", "diameter": 15}],
                 "islands": [{"name": "bare part 1", "corners": ["H1", "H2", "H3"]}], "tape": box["tape"] + rough}
    said = survey_job(parse_job(job), {}).warnings[-1].replace("\xa0", " ")
    assert said.startswith("Pipe P2 and bare part 1 were put on the plan by hand, sure to about ± 200 mm only")
    typed = [{**entry, "by_hand": False} if entry.get("by_hand") and entry["point"] != "P2" else entry
             for entry in job["tape"]]
    assert survey_job(parse_job(job | {"tape": typed}),
                      {}).warnings[-1].startswith("Pipe P2 was put on the plan by hand")
    assert not any("by hand" in said for said in survey_job(parse_job(box), {}).warnings)


def test_a_spread_of_100_mm_says_by_hand_in_jobs_from_before_the_key(box):
    """Both ways of writing it are one reading, and one digest of what a plan was made of."""
    def told(**more):
        return parse_job(box | {"tape": [{"point": "P1", "wall": ["A", "B"], "mm": 300, **more}]})
    old, new = told(sd=100), told(by_hand=True)
    assert old.offsets == new.offsets and old.offsets[0].by_hand and old.offsets[0].sd_mm == 100.0
    assert part_digests(old) == part_digests(new) != part_digests(told())
    taped = (told(sd=100, typed="300 mm"), told(sd=100, by_hand=False), told(sd=99))
    assert not any(job.offsets[0].by_hand for job in taped)


def test_readings_carry_the_usual_spreads(box):
    network = to_network(parse_job(box), {})
    assert [t.sd_mm for t in network.tapes] == [1.5, 1.5, 1.5, 1.5, pytest.approx(1.5002), 1.5]
    assert [(o.point, o.wall, o.distance_mm, o.sd_mm) for o in network.offsets] == [("P1", ("A", "B"), 60.0, 1.5),
                                                                                    ("P1", ("D", "A"), 900.0, 1.5)]
    assert network.tapes[3].where == "tape[3]"


def test_spreads_the_job_gives_are_used(box):
    box["tape"][0]["sd"] = 4.0
    box |= {"square": ["B"], "square_sd": 2.0,
            "on_wall": [{"point": "P1", "wall": ["A", "B"], "sd": 3.0}, {"point": "P2", "wall": ["A", "B"]}]}
    box["photos"] = [{"file": "a.jpg", "size": [100, 80],
                      "marks": [{"point": "A", "x": 1, "y": 2}, {"point": "B", "x": 1, "y": 2, "sd": 5.0}],
                      "edges": [{"wall": ["A", "B"], "points": [[1, 1], [2, 2]]}]}]
    network = to_network(parse_job(box), {})
    assert network.tapes[0].sd_mm == 4.0
    assert network.squares[0].sd_rad == pytest.approx(math.radians(2.0))
    assert [o.sd_mm for o in network.on_walls] == [3.0, 1.0]
    assert [m.sd_px for m in network.marks] == [2.0, 5.0]
    assert network.wall_lines[0].points_px == ((1.0, 1.0), (2.0, 2.0))


def test_square_corners_are_believed_to_half_a_degree(box):
    (square,) = to_network(parse_job(box | {"square": ["B"]}), {}).squares
    assert square.sd_rad == pytest.approx(math.radians(0.5))


def test_a_lens_nothing_is_known_of_is_a_usual_phone_with_wide_doubt():
    tree, facts = photos_of(((4000, 3000), None))
    (camera,) = to_network(parse_job(tree), facts).cameras
    assert (camera.focal_px, camera.focal_sd, camera.k1, camera.k1_sd) == (3000.0, 0.25, 0.0, 0.1)
    # 24 and 28 mm equivalents by the diagonal at 4:3 (5000 px for 43.267 mm) lie within one spread of it.
    for equivalent in (24.0, 28.0):
        assert abs(equivalent * 5000 / 43.267 / camera.focal_px - 1) < camera.focal_sd


def test_exif_is_a_prior_of_five_per_cent():
    tree, facts = photos_of(((4000, 3000), 3011.0))
    (camera,) = to_network(parse_job(tree), facts).cameras
    assert (camera.focal_px, camera.focal_sd, camera.k1_sd) == (3011.0, 0.05, 0.02)


@pytest.mark.parametrize("shots, lenses",
                         [([((40, 30), 30.0), ((40, 30), 30.0)], 1), ([((40, 30), 30.0), ((40, 30), 15.0)], 2),
                          ([((40, 30), None), ((40, 30), None)], 1), ([((40, 30), 30.0), ((30, 40), 30.0)], 1),
                          ([((40, 30), 30.0), ((40, 30), None)], 2)])
@pytest.mark.parametrize("camera", [None, "c1"])
def test_photos_share_a_lens_if_size_and_focal_length_agree(shots, lenses, camera):
    tree, facts = photos_of(*shots, camera=camera)
    network = to_network(parse_job(tree), facts)
    assert len(network.cameras) == lenses == len({c.name for c in network.cameras})
    assert {p.camera for p in network.photos} == {c.name for c in network.cameras}


def test_what_the_job_says_of_a_camera_counts_before_exif():
    tree, facts = photos_of(((4000, 3000), 3011.0), ((4000, 3000), 2000.0), camera="c1")
    tree["cameras"] = {"c1": {"focal_px": 2900.0, "focal_sd": 0.01, "k1": -0.03, "k1_sd": 0.001}}
    (camera,) = to_network(parse_job(tree), facts).cameras
    assert (camera.focal_px, camera.focal_sd, camera.k1, camera.k1_sd) == (2900.0, 0.01, -0.03, 0.001)


def test_a_focal_length_in_pixels_is_not_used_for_pictures_of_another_size():
    tree, facts = photos_of(((4000, 3000), None), ((3000, 4000), None), ((2000, 1500), None), camera="c1")
    tree["cameras"] = {"c1": {"focal_px": 2900.0}}
    assert [c.focal_px for c in to_network(parse_job(tree), facts).cameras] == [2900.0, 1500.0]


def test_a_picture_file_tells_its_size_before_the_job_does():
    tree, facts = photos_of(((4000, 3000), None))
    tree["photos"][0]["size"] = [10, 10]
    assert to_network(parse_job(tree), facts).cameras[0].width_px == 4000
    with pytest.raises(JobProblems, match="0.jpg cannot be opened"):
        to_network(parse_job(photos_of(((4000, 3000), None))[0]), {})


def test_photos_without_marks_are_left_out():
    tree, facts = photos_of(((40, 30), None), marks=())
    assert to_network(parse_job(tree), facts).photos == ()


def test_a_given_floor_is_exact_and_named_in_order(l_floor):
    floor = to_given_floor(parse_job(l_floor))
    assert floor.outline == tuple("ABCDEF") and not floor.cov_mm2.any()
    # Two rectangles: 4200 x 1800 and 2100 x 1800.
    assert floor.area() == (4200 * 1800 + 2100 * 1800, 0.0)
    assert tuple(floor.at("P1")) == (3000.0, 60.0) and tuple(floor.at("P2")) == (60.0, 2500.0)


def test_a_given_floor_listed_clockwise_is_turned_round_and_keeps_its_names(l_floor):
    l_floor["floor"]["outline"] = [l_floor["floor"]["outline"][0], *reversed(l_floor["floor"]["outline"][1:])]
    floor = to_given_floor(parse_job(l_floor | {"outline": list("UVWXYZ")}))
    assert floor.outline == tuple("UZYXWV")
    assert tuple(floor.at("V")) == (0.0, 3600.0)


def test_holes_of_a_given_floor_are_islands(l_floor):
    hole = [[500, 500], [1500, 500], [1500, 900], [500, 900]]
    l_floor["floor"]["holes"] = [hole, [[100, 100], [200, 100], [200, 200]]]
    job = parse_job(l_floor | {"islands": [{"name": "hearth", "corners": []}]})
    room = to_room(job, Survey(floor=to_given_floor(job)))
    assert [name for name, _ in room.islands] == ["hearth", "island 2 "]
    assert np.array_equal(room.islands[0][1], hole)


def test_names_go_on_after_z():
    assert corner_names(28)[24:] == ("Y", "Z", "AA", "AB")


def test_the_room_has_pipes_doors_and_its_doubt(box):
    job = parse_job(box)
    survey = survey_job(job, {})
    room = to_room(job, survey)
    assert room.names == ("A", "B", "C", "D")
    assert room.pipes[0].centre_mm == pytest.approx((900, 60), abs=3)
    assert (room.doors[0].wall, room.doors[0].from_mm, room.doors[0].casing.width_mm) == (("C", "D"), 640.0, 57.0)
    assert room.length_sd_mm == pytest.approx(max(w.pm95_mm for w in survey.floor.walls()) / 1.96, rel=1e-3)


def test_a_pipe_nobody_placed_is_named(l_floor):
    job = parse_job(l_floor | {"pipes": [{"name": "P9", "diameter": 15}]})
    with pytest.raises(JobProblems, match="P9.*two walls"):
        to_room(job, Survey(floor=to_given_floor(job)))


def test_wishes_left_unsaid_are_the_usual_ones():
    wishes = to_wishes(parse_job({"flooring": {"board": {"length": 1285, "width": 192}}}))
    assert (wishes.gap_mm, wishes.kerf_mm) == (10.0, 3.0)
    assert (wishes.rules.stagger_mm, wishes.rules.shortest_mm, wishes.rules.narrowest_mm) == (300.0, 300.0, 60.0)
    assert (wishes.direction_rad, wishes.along, wishes.start, wishes.first_row_mm) == (None, None, None, None)


def test_the_usual_rules_fit_a_short_board_but_the_job_s_own_are_kept():
    short = {"board": {"length": 500, "width": 100}}
    assert to_wishes(parse_job({"flooring": short})).rules.stagger_mm == 250.0
    assert to_wishes(parse_job({"flooring": short | {"rules": {"stagger": 300}}})).rules.stagger_mm == 300.0


@pytest.mark.parametrize("key, value, field, expected",
                         [("direction", 90.0, "direction_rad", math.pi / 2), ("direction", 0, "direction_rad", 0.0),
                          ("direction", ["A", "B"], "along", ("A", "B")), ("start", ["B", "C"], "start", ("B", "C")),
                          ("first_row", 152.0, "first_row_mm", 152.0), ("first_row", "auto", "first_row_mm", None),
                          ("pattern", "thirds", "pattern", "thirds"), ("lay", "right-to-left", "lay", "right-to-left"),
                          ("gap", 0, "gap_mm", 0.0), ("kerf", 0, "kerf_mm", 0.0)])
def test_every_wish_reaches_the_planner(key, value, field, expected):
    assert getattr(to_wishes(parse_job({"flooring": {key: value}})), field) == expected


def test_rules_and_underlay_reach_the_planner(l_floor):
    l_floor["flooring"]["rules"] = {"stagger": 250, "shortest": 260, "narrowest": 70}
    wishes = to_wishes(parse_job(l_floor))
    assert (wishes.rules.stagger_mm, wishes.rules.shortest_mm, wishes.rules.narrowest_mm) == (250.0, 260.0, 70.0)
    assert (wishes.underlay.thickness_mm, wishes.underlay.roll_length_mm, wishes.underlay.roll_width_mm) == (
        3.0,
        10000.0,
        1000.0,
    )


def test_planning_without_a_board_shows_what_to_add():
    with pytest.raises(JobProblems, match='"board": {"length": 1285'):
        to_board(parse_job({}))


def test_the_printed_date_is_the_job_s_or_the_one_given(box):
    import datetime
    job, other = parse_job(box), datetime.date(2020, 2, 2)
    survey = survey_job(job, {})
    assert to_pack_job(job, survey, None, date=other).date == datetime.date(2026, 3, 5)
    box.pop("date")
    assert to_pack_job(parse_job(box), survey, None, date=other).date == other


@pytest.mark.parametrize("wall, start, fits",
                         [(["C", "D"], 3238, True), (["C", "D"], 3260, False), (["D", "A"], 2238, True),
                          (["D", "A"], 2300, False)])
def test_a_door_must_end_on_its_wall(box, wall, start, fits):
    """Walls of 4000 and 3000 mm, a door of 762 mm."""
    box["doors"][0] |= {"wall": wall, "from": start}
    job = parse_job(box)
    survey = survey_job(job, {})
    if fits:
        assert to_room(job, survey).doors[0].from_mm == start
    else:
        with pytest.raises(JobProblems, match=f"D1 ends {start + 762} mm from corner {wall[0]}"):
            to_room(job, survey)
