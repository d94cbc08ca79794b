"""Close-ups of a job: the demo's two pictures against their truth, what is kept in the job, what is said, and the
way to the template."""
import json
import shutil
from pathlib import Path

import numpy as np
import pytest

import demo_photos
from desk.cli import main
from desk.actions.closeups import keep_in, measure_closeups
from desk.jobfile.files import read_job
from desk.jobfile.parse import parse_job, unknown_keys
from desk.problem import JobFileError
from desk.text.say_closeups import closeups_answer, say_closeups
from layout.region.casings import standing_legs
from layout.room import Door, Room

HOME = Path(demo_photos.__file__).parent
TRUTH = json.loads((HOME / "truth.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def demo():
    return read_job(HOME)


@pytest.fixture(scope="module")
def measured(demo):
    return measure_closeups(HOME, demo)


def test_both_references_are_found(measured):
    for one, told in zip(measured, TRUTH["closeups"]):
        assert not one.fault
        true = np.array(told["beside"]["px"])
        off = [np.min(np.hypot(*(true - corner).T)) for corner in one.found.corners_px]
        assert max(off) <= 1.5


def test_the_casing_is_as_it_was_rendered(measured):
    """Its width and thickness within the stated error; its front runs along the wall."""
    leg = measured[0].leg_mm
    pm = float(np.max(measured[0].outline.pm95_mm()))
    assert abs(np.ptp(leg[:, 0]) - 57.0) <= 1.5 * pm
    assert abs(np.max(leg[:, 1]) - 15.0) <= pm
    assert all(agreement.agree for agreement in measured[0].agreements)


def test_the_pipe_is_as_it_was_rendered(measured):
    one = measured[1]
    assert abs(one.ring.diameter_mm - 15.0) <= 1.96 * one.ring.diameter_sd_mm
    assert 15.0 in [size.diameter_mm for size, _ in one.size.odds]
    corners = TRUTH["corners"]
    b, c = np.array(corners["B"]), np.array(corners["C"])
    way = (c - b) / np.hypot(*(c - b))
    true = float((np.array(TRUTH["closeups"][1]["circle"]["centre_mm"]) - b) @ [-way[1], way[0]])
    ((wall, mm, sd),) = one.offsets
    assert wall == ("B", "C")
    assert abs(mm - true) <= 2.5 * sd


def test_a_tape_that_contradicts_the_photo_is_told(demo):
    tree = demo.tree()
    for reading in tree["tape"]:
        if reading.get("point") == "P1" and reading["wall"] == ["B", "C"]:
            reading.update(mm=75, typed="75 mm")
    tree["closeups"] = tree["closeups"][1:]
    job = parse_job(tree)
    text = say_closeups(measure_closeups(HOME, job), job)
    assert "They do not agree" in text
    assert "75 mm by the tape" in text


def test_what_is_kept_in_the_job_reads_back_and_changes_nothing_typed(demo, measured):
    tree = demo.tree()
    del tree["doors"][0]["casing"]["legs"]
    tree["tape"] = [reading for reading in tree["tape"] if reading.get("point") != "P1"
                    or reading["wall"] != ["B", "C"]]
    bare = parse_job(tree)
    kept = keep_in(bare, measured)
    again = parse_job(kept)
    assert {leg for leg, _ in again.doors[0].legs} == {"left", "right"}
    assert again.doors[0].casing_mm == (57.0, 15.0)
    assert not [key for _, key, _ in unknown_keys(kept)]
    new = [o for o in again.offsets if o.point == "P1" and o.wall == ("B", "C")]
    assert len(new) == 1
    assert abs(new[0].length_mm - measured[1].offsets[0][1]) <= 0.06
    # With the tape's own reading there, nothing is added.
    assert len(parse_job(keep_in(demo, measured)).offsets) == len(demo.offsets)


@pytest.mark.parametrize("mirror", [False, True])
def test_the_other_leg_is_the_mirror_image_only_when_asked(demo, mirror):
    """Footprints are kept by distance from the leg's outer side, so a mirrored leg is the same list; on the floor it
    is its mirror image."""
    tree = demo.tree()
    del tree["doors"][0]["casing"]["legs"]
    tree["closeups"] = [tree["closeups"][0] | {"mirror": mirror}]
    job = parse_job(tree)
    kept = parse_job(keep_in(job, measure_closeups(HOME, job)))
    legs = dict(kept.doors[0].legs)
    traced = tree["closeups"][0]["leg"]
    assert set(legs) == ({"left", "right"} if mirror else {traced})
    if mirror:
        left, right = (on_floor(side, legs[side]) for side in ("left", "right"))
        # The opening runs from x = 1000 to 1800 in the wall y = 0: its middle is the mirror.
        assert np.allclose(2 * 1400.0 - left[:, 0], right[:, 0], atol=1e-9) and np.allclose(
            left[:, 1], right[:, 1], atol=1e-9
        )


def on_floor(side, footprint):
    """Where a leg of a door from x = 1000 to 1800 in the wall y = 0 of an invented room stands, beginning at its
    outer side."""
    room = Room(names=("A", "B", "C", "D"), outline_mm=np.array([(0, 0), (3000, 0), (3000, 2500), (0, 2500)],
                                                                dtype=float), doors=(Door(name="D1", wall=("A", "B"),
                                                                                          from_mm=1000.0,
                                                                                          width_mm=800.0,
                                                                                          legs=((side, footprint),)),))
    return np.array(standing_legs(room, 8.0)[0].traced)


def test_a_height_above_the_floor_is_warned_about_and_put_right(demo):
    """The casing's outline taken as clicked 12 mm above the floor: seen there it lies nearer the camera's foot, by
    similar triangles."""
    tree = demo.tree()
    entry = tree["closeups"][0]
    tree["closeups"] = [entry, {**entry, "height": 12}]
    flat, raised = measure_closeups(HOME, parse_job(tree))
    assert any("10 mm above it would be" in words and "how high above the floor" in words for words in flat.asks)
    assert not any("10 mm above it would be" in words for words in raised.asks)
    eye = flat.found.view.eye_mm
    on_floor, above = flat.outline.corners_mm, raised.outline.corners_mm
    assert np.allclose(above - eye[:2], (on_floor - eye[:2]) * (1 - 12.0 / eye[2]), atol=0.6)
    assert np.max(np.hypot(*(above - on_floor).T)) > 2.0


def test_the_command_says_it_and_keeps_it(tmp_path, capsys):
    folder = tmp_path / "job"
    shutil.copytree(HOME / "photos", folder / "photos")
    tree = json.loads((HOME / "job.json").read_text(encoding="utf-8"))
    tree["closeups"] = tree["closeups"][:1]
    tree["doors"][0]["casing"].pop("legs")
    (folder / "job.json").write_text(json.dumps(tree), encoding="utf-8")
    assert main(["closeups", str(folder), "--keep", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["format"] == "tapegroove-closeups"
    assert answer["closeups"][0]["reference"]["name"] == "a4"
    assert answer["closeups"][0]["reach"] > 100
    assert read_job(folder).doors[0].legs
    assert main(["closeups", str(folder)]) == 0
    said = capsys.readouterr().out
    for words in ("A4 sheet", "found by the tool", "A5", "Nothing is promised beyond", "pipes and cables"):
        assert words in said


def test_a_close_up_that_cannot_be_measured_says_why_and_the_others_go_on(demo):
    tree = demo.tree()
    tree["closeups"] = [{"file": "photos/room-1.jpg", "of": "D1", "beside": "card"}, tree["closeups"][1] | {"ring": []}]
    measured = measure_closeups(HOME, parse_job(tree))
    assert "card" in measured[0].fault
    assert not measured[1].fault
    assert closeups_answer(measured)["closeups"][0]["fault"] == measured[0].fault


def test_a_missing_picture_is_told_and_the_others_go_on(demo, tmp_path, capsys):
    folder = tmp_path / "job"
    shutil.copytree(HOME / "photos", folder / "photos")
    (folder / "job.json").write_bytes((HOME / "job.json").read_bytes())
    gone, kept = demo.closeups
    (folder / gone.file).unlink()
    first, second = measure_closeups(folder, demo)
    assert "is not in the job's folder" in first.fault and not second.fault
    assert main(["check", str(folder)]) == 0
    told = capsys.readouterr().out
    assert gone.file in told and kept.file not in told


def test_without_leg_or_wall_the_reader_is_asked(demo):
    tree = demo.tree()
    entry = tree["closeups"][0]
    for key, words in (("leg", "Which leg"), ("edges", "floor line of wall A-B")):
        tree["closeups"] = [{name: value for name, value in entry.items() if name != key}]
        (one,) = measure_closeups(HOME, parse_job(tree))
        assert one.leg_mm is None
        assert any(words in ask for ask in one.asks)


@pytest.mark.parametrize(("entry", "where"), [
    ({"file": "photos/1.jpg", "beside": "postcard"}, "closeups[0].beside"),
    ({"file": "photos/1.jpg", "corners": [[1, 2], [3, 4]]}, "closeups[0].corners"),
    ({"file": "photos/1.jpg", "outline": [{"x": 1}]}, "closeups[0].outline[0]"),
    ({"file": "photos/1.jpg", "leg": "middle"}, "closeups[0].leg"),
    ({"file": "photos/1.jpg", "sides": [[[1, 2]]]}, "closeups[0].sides[0]"),
    ({"file": "photos/1.jpg", "mirror": "yes"}, "closeups[0].mirror"),
    ({"file": "photos/1.jpg", "height": -3}, "closeups[0].height"),
    ({"file": "photos/1.jpg", "foot": "socket"}, "closeups[0].foot"),
])
def test_faults_in_the_file_are_named_with_their_place(entry, where):
    with pytest.raises(JobFileError) as error:
        parse_job({"outline": ["A", "B", "C"], "closeups": [entry]})
    assert [problem.where for problem in error.value.problems] == [where]


def test_a_click_outside_the_picture_and_a_door_that_is_not_there_are_told(demo):
    tree = demo.tree()
    entry = tree["closeups"][0]
    far = [click | {"x": click["x"] + 4000} for click in entry["outline"]]
    tree["closeups"] = [entry | {"outline": far}, tree["closeups"][1]
                        | {"ring": [[785.2, -571.2], *tree["closeups"][1]["ring"][1:]]}, entry | {"of": "D7"}]
    outside, above, nobody = measure_closeups(HOME, parse_job(tree))
    assert (
        "(4984.9, 405.1) is outside the picture (1600 x 1200 px)" in outside.fault and "(785.2, -571.2)" in above.fault
    )
    assert nobody.asks[0].startswith("The job has no door or pipe D7; it has D1, P1, P2")


def test_a_sheet_that_sheets_of_other_sizes_look_like_is_asked_about(demo):
    """ISO 216: A5 and A3 have A4's shape. Without a word from the reader nothing is measured or kept; a typed size
    that fits settles it."""
    tree = demo.tree()
    entry = {key: value for key, value in tree["closeups"][0].items() if key != "beside"}
    tree["closeups"] = [entry]
    tree["doors"][0]["casing"] = {"width": 57, "thickness": 15}
    typed = parse_job(tree)
    (one,) = measure_closeups(HOME, typed)
    assert not one.question and one.leg_mm is not None
    del tree["doors"][0]["casing"]
    untold = parse_job(tree)
    (asked,) = measure_closeups(HOME, untold)
    assert "A5" in asked.question and "say what it is" in asked.question
    assert asked.outline is None and keep_in(untold, [asked]) == untold.tree()
    assert asked.question in closeups_answer([asked])["closeups"][0]["question"]
    assert "really an ordinary A4 sheet" in " ".join(say_closeups([asked], untold).split())


def test_a_wrong_sheet_is_not_borne_out_by_a_typed_size(demo):
    """An A3 sheet taken for A4 makes a casing of 57 mm seem 57 / sqrt 2 = 40 mm: typed 57, they disagree and it is
    asked."""
    tree = demo.tree()
    tree["closeups"] = [{key: value for key, value in tree["closeups"][0].items() if key != "beside"}]
    tree["doors"][0]["casing"] = {"width": 57 * 2**0.5, "thickness": 15 * 2**0.5}
    (one,) = measure_closeups(HOME, parse_job(tree))
    assert one.question and one.leg_mm is None


def test_two_corners_make_no_casing_and_nothing_is_kept(demo):
    tree = demo.tree()
    tree["closeups"] = [tree["closeups"][0] | {"outline": tree["closeups"][0]["outline"][:2]}]
    job = parse_job(tree)
    measured = measure_closeups(HOME, job)
    assert any("no shape" in ask for ask in measured[0].asks)
    assert keep_in(job, measured) == tree


def test_a_ring_on_the_collar_is_asked_about(demo, measured):
    """The demo's pipe of 15 mm, its foot clicked far out, as on the collar round it: asked before anything is kept; as
    a collar it tells where the pipe stands and nothing of how thick it is; as the pipe its size is judged as ever."""
    def with_ring(times: float, **said: str):
        tree = demo.tree()
        entry = tree["closeups"][1]
        (x, y), ring = measured[1].found.view.to_px(measured[1].ring.centre_mm[None], 0.0)[0], np.array(entry["ring"])
        wide = [[round(float(v), 1) for v in place] for place in (x, y) + times * (ring - (x, y))]
        tree["closeups"] = [{key: value for key, value in entry.items() if key != "sides"} | {"ring": wide} | said]
        job = parse_job(tree)
        (one,) = measure_closeups(HOME, job)
        return job, one
    job, asked = with_ring(3.4)
    assert "is this the collar round the pipe?" in say_closeups([asked], job) and asked.size is None
    assert keep_in(job, [asked])["tape"] == job.tree()["tape"]
    assert "collar" in closeups_answer([asked])["closeups"][0]["question"]
    job, collar = with_ring(3.4, foot="collar")
    assert collar.collar_of is None and collar.size is None and "stand in its middle" in say_closeups([collar], job)
    assert np.hypot(*(collar.ring.centre_mm - measured[1].ring.centre_mm)) < 2.0
    assert keep_in(job, [collar])["pipes"] == job.tree()["pipes"]
    assert with_ring(3.4, foot="pipe")[1].size is not None
    assert with_ring(1.0)[1].collar_of is None


def test_no_sentence_of_a_closeup_names_a_key_of_the_file(demo):
    """What a person reads holds no name in straight quotes, as keys stand in."""
    tree = demo.tree()
    for entry in tree["closeups"]:
        for key in ("beside", "leg", "height", "of"):
            entry.pop(key, None)
    job = parse_job(tree)
    assert '"' not in say_closeups(measure_closeups(HOME, job), job)
