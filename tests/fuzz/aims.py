"""What is fuzzed: one function a door of the program. Each takes bytes and raises only if something is wrong.

An input may be refused by the room's own error, in one sentence; anything else that comes out, a promise that does not
hold, or more than ten seconds (the limit `run` gives the fuzzer) is a finding.
"""
from __future__ import annotations

import datetime
import functools
import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from capture.errors import CaptureError
from capture.image.photo import decode_photo, preview_jpeg
from capture.tape import format_length, parse_length
from desk.actions.answers import to_json
from desk.checks.check import find_problems
from desk.actions.day import day_of, tell
from desk.commands.day_parser import read_words
from desk.text.day_events import phrases
from desk.jobfile.job import Job
from desk.jobfile.files import parse_job, parse_json
from desk.actions.kept_plan import with_plan
from desk.actions.pipeline import pack_job, plan_job, survey_job
from desk.problem import JobFileError, JobProblems
from layout.planfile.codec import from_answer, to_answer
from layout.judge.check import find_faults
from layout.errors import LayoutError
from layout.plan import Plan
from layout.planning.planner import plan_floor
from layout.room import Board, Room, Rules, Wishes
from printpack.errors import PrintError
from tests.fuzz.draw import Draws

JOBS = Path(__file__).parent.parent / "data" / "jobs"
DAY = datetime.date(2026, 1, 1)


def lengths(data: bytes) -> None:
    """A typed length is read, or refused with what was typed in the sentence; what is read survives being shown and
    read again."""
    text = data.decode("utf-8", "replace")
    for unit in ("mm", "in"):
        try:
            length = parse_length(text, unit=unit)
        except CaptureError as error:
            one_sentence(str(error))
            continue
        assert math.isfinite(length) and length >= 0, (text, length)
        if length >= 0.1:  # less is shown as nothing
            assert abs(parse_length(format_length(length, decimals=1)) - length) <= 0.051, (text, length)


def job_files(data: bytes) -> None:
    """Any bytes at all as job.json: a job that is checked, or a refusal."""
    try:
        job = parse_job(parse_json(data, name="job.json"))
    except JobFileError as error:
        for problem in error.problems:
            one_sentence(problem.says)
        return
    json.dumps(job.tree())
    for problem in find_problems(job, {}):
        one_sentence(problem.says)


def jobs(data: bytes) -> None:
    """A sound job with slips: read and checked, or refused."""
    job_files(json.dumps(slipped(Draws(data), sound_jobs())).encode())


def whole_ways(data: bytes) -> None:
    """A sound job with slips taken the whole way to its pack, as far as it goes."""
    draws = Draws(data)
    try:
        job = parse_job(slipped(draws, sound_jobs()))
        survey = survey_job(job, {})
        plan = plan_job(job, survey)
        pack_job(job, survey, plan, date=DAY, paper="a4")
    except (JobFileError, JobProblems) as error:
        for problem in error.problems:
            one_sentence(problem.says)
    except (CaptureError, LayoutError, PrintError) as error:
        assert error.slug != "internal-fault", str(error)
        one_sentence(str(error))


def pictures(data: bytes) -> None:
    """Any bytes at all as a photo: upright size and focal length, a preview without EXIF, or a refusal."""
    try:
        photo = decode_photo(data, name="photos/1.jpg")
        assert min(photo.width_px, photo.height_px) > 0 and (photo.focal_px is None or photo.focal_px > 0)
        shown = preview_jpeg(data, name="photos/1.jpg", long_side_px=200)
    except CaptureError as error:
        one_sentence(str(error))
        return
    assert b"Exif\x00" not in shown


def polygons(data: bytes) -> None:
    """Any ring as a floor, any board: a plan the judge has no fault with, or a refusal."""
    draws = Draws(data)
    corners = np.array([(draws.whole(-40, 60) * 100 + draws.whole(-9, 9), draws.whole(-40, 60) * 100)
                        for _ in range(draws.whole(0, 9))], float)
    room = Room(names=tuple("ABCDEFGHI"[:len(corners)]), outline_mm=corners.reshape(-1, 2))
    board = Board(length_mm=draws.whole(300, 2400), width_mm=draws.whole(60, 400), thickness_mm=8,
                  pack=draws.whole(1, 12))
    gap = draws.whole(0, 30)
    rules = Rules(stagger_mm=draws.whole(0, 500), shortest_mm=draws.whole(0, 500), narrowest_mm=draws.whole(0, 100))
    wishes = Wishes(gap_mm=gap, rules=rules)
    try:
        plan = plan_floor(room, board, wishes, moves=200)
    except LayoutError as error:
        assert error.slug != "internal-fault", str(error)
        one_sentence(str(error))
        return
    assert find_faults(plan, room) == ()
    assert to_answer(from_answer(json.loads(to_json(to_answer(plan))))) == to_answer(plan)


def plans(data: bytes) -> None:
    """A stored plan with slips: read, or refused as damaged; what is read can be written again."""
    draws = Draws(data)
    try:
        plan = from_answer(slipped(draws, (stored_plan(),)))
    except LayoutError as error:
        assert error.slug in ("damaged-plan", "newer-plan"), error.slug
        one_sentence(str(error))
        return
    to_json(to_answer(plan))


def days(data: bytes) -> None:
    """Sentences about a day of laying, sound and unsound: each entered or refused; the log only grows, and what is
    down stays as it lies."""
    draws = Draws(data)
    job = kept_job()
    for _ in range(draws.whole(1, 6)):
        before = day_of(job)
        try:
            said = sentence(draws)
            told = tell(job, read_words(said.split(), show="metric"), said, on=DAY)
        except (JobFileError, JobProblems) as error:
            one_sentence(error.problems[0].says)
            continue
        except LayoutError as error:
            assert error.slug != "internal-fault", str(error)
            one_sentence(str(error))
            continue
        assert len(told.job.day) == len(job.day) + 1
        down = min(before.now.down, told.after.now.down)
        assert lying(told.after.plan, down) == lying(before.plan, down)
        job = parse_job(json.loads(json.dumps(told.job.tree())))


AIMS: dict[str, Callable[[bytes], None]] = {
    aim.__name__: aim for aim in (lengths, job_files, jobs, whole_ways, pictures, polygons, plans, days)}


def seeds(aim: str) -> list[bytes]:
    """Sound inputs to begin from."""
    match aim:
        case "lengths":
            return [text.encode() for text in ("3412", "3.412 m", "11' 2 3/8\"", "4 m 31", "0.5in", "11ft 2", "3,42 m",
                                               "2½ in", "1.234,5 mm")]
        case "job_files":
            return [json.dumps(job).encode() for job in sound_jobs()]
        case "pictures":
            return sample_pictures()
        case _:
            return [bytes(range(64)), bytes(64), bytes(range(255, 191, -1))]


@functools.cache
def sound_jobs() -> tuple[dict[str, Any], ...]:
    return tuple(json.loads(path.read_bytes()) for path in sorted(JOBS.glob("v*/*.json")))


@functools.cache
def stored_plan() -> dict[str, Any]:
    job = parse_job(json.loads((JOBS / "v1" / "l_floor.json").read_bytes()))
    return json.loads(to_json(to_answer(plan_job(job, survey_job(job, {})))))


@functools.cache
def kept_job() -> Job:
    """A small given floor with its plan kept."""
    job = parse_job(json.loads((JOBS / "v1" / "l_floor.json").read_bytes()))
    survey = survey_job(job, {})
    return with_plan(job, survey, plan_job(job, survey, effort="preview"), on=DAY)


def sentence(draws: Draws) -> str:
    """Something a fitter may say: one of the phrases the help shows, some of its numbers and labels changed."""
    words = draws.one_of(phrases()).split()
    for place, word in enumerate(words):
        if any(letter.isdigit() for letter in word) and draws.whole(0, 1):
            words[place] = draws.one_of((str(draws.whole(0, 30)), str(draws.whole(0, 9000)),
                                         f"{draws.whole(1, 20)}.{draws.whole(1, 6)}",
                                         f"{draws.whole(1, 20)}{draws.one_of('LRM')}", "-1", word + word))
    return " ".join(words)


def lying(plan: Plan, down: int) -> list[tuple[str, object]]:
    return [(piece.id, piece.outline_mm) for row in plan.rows[:down] for piece in row.pieces]


def sample_pictures() -> list[bytes]:
    """Small pictures of each kind that is taken, with EXIF that turns them and names a lens."""
    import io

    import pillow_heif
    from PIL import Image
    pillow_heif.register_heif_opener()
    picture = Image.fromarray((np.indices((24, 32)).sum(axis=0) * 4 % 256).astype(np.uint8)).convert("RGB")
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8769)[0xA405] = 26
    found = []
    for kind in ("JPEG", "PNG", "HEIF"):
        held = io.BytesIO()
        picture.save(held, kind, exif=exif)
        found.append(held.getvalue())
    return found


def slipped(draws: Draws, sound: tuple[dict[str, Any], ...]) -> dict[str, Any]:
    """One of some sound trees with one to four slips."""
    tree = json.loads(json.dumps(sound[draws.whole(0, len(sound) - 1)]))
    for _ in range(draws.whole(1, 4)):
        slip(draws, tree)
    return tree


def slip(draws: Draws, tree: Any) -> None:
    """Change one value somewhere in a tree."""
    node = tree
    while True:
        keys = list(node) if isinstance(node, dict) else list(range(len(node)))
        if not keys:
            return
        key = keys[draws.whole(0, len(keys) - 1)]
        if isinstance(node[key], (dict, list)) and node[key] and draws.whole(0, 7):
            node = node[key]
        else:
            break
    changed = altered(draws, node[key])
    if changed is None:
        del node[key]
    else:
        node[key] = changed


def altered(draws: Draws, value: Any) -> Any:
    """Another value in the place of one; None where it is to go."""
    if draws.whole(0, 5) == 0:
        return draws.one_of((None, [], {}, "", "A", -1, 0, 1e308, 1e-300, True, [[0, 0]], {"mm": 1}, "0", [None],
                             2 ** 70, "\u0000"))
    match value:
        case bool():
            return not value
        case int() | float():
            return value * draws.one_of((0, -1, 0.1, 0.5, 0.99, 1.01, 2, 10, 1000)) + draws.whole(-3, 3)
        case str():
            return draws.one_of(("A", "B", "C", "D", "E", "P1", value + " ", value.lower(), "auto", value[:1]))
        case list():
            return list(reversed(value)) if draws.whole(0, 1) else value + value[:1]
        case _:
            return None


def one_sentence(says: str) -> None:
    """What a person is told: something, on one line, and no trace of a program."""
    assert says.strip() and "\n" not in says and "Traceback" not in says and "<" + "class" not in says, says


