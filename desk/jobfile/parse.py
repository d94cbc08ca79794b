"""From the JSON of a job file to a Job: every field checked, every fault noted with its place.

Keys this version does not know are neither read nor refused; they stay in the job's text, and `unknown_keys` lists
them.
"""
from __future__ import annotations

import datetime
import json
import re
from functools import partial
from typing import Any

from capture.errors import CaptureError
from capture.tape import parse_length
from desk.jobfile.json_reader import LARGEST, Node, shown
from desk.jobfile.job import (
    CameraEntry, DoorEntry, FlooringEntry, GivenFloor, IslandEntry, Job, MarkEntry, OffsetEntry, OnWallEntry,
    PaperEntry, PhotoEntry, PipeEntry, Point, RulersEntry, TapeEntry, TapeErrorEntry, TargetsEntry, UnderlayEntry)
from desk.jobfile.parse_closeup import casing_legs, closeup, edge
from desk.jobfile.parse_day import day_entry
from desk.jobfile.parse_flooring import board_of, more_flooring
from desk.problem import JobFileError, Problem, printable
from printpack.paper import A3, A4, LETTER

FORMAT = "tapegroove-job"
VERSION = 1
#: How far the number and the text of one length may be apart, mm.
TYPED_TOLERANCE_MM = 0.5
#: A bare number a person typed may have meant any of these.
_BARE_UNITS_MM = (1.0, 10.0, 1000.0, 25.4, 304.8)


#: Sheets a job may name, long side first, mm.
_PAPERS_MM = {paper.name.lower(): (paper.height_mm, paper.width_mm) for paper in (A4, A3, LETTER)}
_PAPER_WORDS = 'a size: "a4", "a3", "letter", or its sides in mm as [297, 210]'


def parse_job(tree: Any) -> Job:
    """The Job of a JSON tree. Raises JobFileError with every fault found."""
    job, problems = parse_tree(tree)
    if problems:
        raise JobFileError(problems)
    return job


def parse_tree(tree: Any) -> tuple[Job, tuple[Problem, ...]]:
    """The Job of what can be read of a JSON tree, and every fault; entries with a fault are left out of the Job.

    Raises JobFileError if the tree is no job of a known version at all.
    """
    problems: list[Problem] = []
    return _job(Node(_of_known_version(tree), "", problems)), tuple(problems)


def unknown_keys(tree: Any) -> tuple[tuple[str, str, set[str]], ...]:
    """(place, key, keys known there) of every key of a JSON tree that no version up to this one knows. They are
    kept, not used."""
    root = Node(_of_known_version(tree), "", [])
    _job(root)
    root.leave("format", "version", "house")
    return tuple(root.unread())


def _job(root: Node) -> Job:
    readings = root.each("tape", _tape)
    return Job(
        text=job_text(root.value),
        title=printable(root.part("title", Node.text) or ""),
        show=root.part("show", lambda n: n.choice(("metric", "imperial"))) or "metric",
        date=root.part("date", _date),
        outline=root.each("outline", Node.name),
        islands=root.each("islands", _island),
        cameras=_cameras(root),
        photos=root.each("photos", _photo),
        closeups=root.each("closeups", closeup),
        targets=root.part("targets", _targets),
        tape_error=root.part("tape_error", _tape_error),
        papers=root.each("papers", _paper),
        tapes=tuple(r for r in readings if isinstance(r, TapeEntry)),
        offsets=tuple(r for r in readings if isinstance(r, OffsetEntry)),
        square=root.each("square", Node.name),
        square_sd_deg=root.part("square_sd", Node.spread),
        on_wall=root.each("on_wall", _on_wall),
        straight=root.each("straight", Node.pair),
        pipes=root.each("pipes", _pipe),
        doors=root.each("doors", _door),
        floor=root.part("floor", _floor),
        flooring=root.part("flooring", _flooring) or FlooringEntry(),
        rulers=root.part("rulers", _rulers),
        has_plan=root.part("plan", _plan) or False,
        day=root.each("day", day_entry),
    )


def job_text(tree: Any) -> str:
    """The text a job is saved as: one line to a photo, a tape length, a pipe.

    Raises JobFileError for what UTF-8 JSON cannot hold (NaN, half a letter).
    """
    try:
        text = "{\n" + ",\n".join(f"  {_line(key)}: {_lines(value)}" for key, value in tree.items()) + "\n}\n"
        text.encode("utf-8")
    except (ValueError, RecursionError):
        raise JobFileError(
            [
                Problem(
                    slug="unreadable-job",
                    where="",
                    says=(
                        "The job holds a number that is not finite, or text that is no text; take it out and save "
                        "again."
                    ),
                )
            ]
        ) from None
    return text


def _lines(value: Any) -> str:
    """A top-level value: a list of entries on lines of their own, anything else on one line."""
    if isinstance(value, list) and any(isinstance(member, dict) for member in value):
        return "[\n    " + ",\n    ".join(map(_line, value)) + "\n  ]"
    return _line(value)


def _line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _of_known_version(tree: Any) -> dict[str, Any]:
    """The tree, if it is a job of a version this tool reads; a job that does not say is taken as version 1."""
    if not isinstance(tree, dict):
        raise JobFileError([Problem(slug="unreadable-job", where="", says=(
            f"job.json holds {shown(tree)}, not a job; it must be one object in braces with an outline."))])
    kind, version = tree.get("format", FORMAT), tree.get("version", VERSION)
    if kind != FORMAT:
        raise JobFileError([Problem(slug="wrong-format", where="format", says=(
            f'format is {shown(kind)}, so this is another kind of file; a job says "{FORMAT}".'))])
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise JobFileError([Problem(slug="wrong-format", where="version", says=(
            f"version is {shown(version)}, but it must be a whole number from 1 to {VERSION}."))])
    if version > VERSION:
        raise JobFileError([Problem(slug="newer-format", where="version", says=(
            f"This job was saved by a newer version of the tool (job format {version}; this one reads up to "
            f"{VERSION}); "
            "update the tool to open it."))])
    return tree


def _plan(node: Node) -> bool:
    """A kept plan is read by `desk.actions.kept_plan` when it is wanted."""
    node.mapping().leave(*node.value)
    return True


def _date(node: Node) -> datetime.date:
    try:
        return datetime.date.fromisoformat(node.text(wanted='a date, such as "2026-03-05"'))
    except ValueError:
        raise node.wrong('a date, such as "2026-03-05"') from None


def _cameras(root: Node) -> tuple[CameraEntry, ...]:
    node = root.part("cameras", Node.mapping)
    if node is None:
        return ()
    made = (node.child(name).attempt(partial(_camera, name=name)) for name in node.value)
    return tuple(camera for camera in made if camera is not None)


def _camera(node: Node, name: str) -> CameraEntry:
    node.mapping()
    focal = node.part("focal_px", lambda n: n.number(wanted="a focal length in px, such as 3011", least=1.0))
    k1 = node.part("k1", lambda n: n.number(wanted="a small number, such as -0.02"))
    if k1 is not None and abs(k1) > 2.0:
        raise node.child("k1").wrong("a lens distortion between -2 and 2, such as -0.02")
    return CameraEntry(name=name, focal_px=focal, focal_sd=node.part("focal_sd", Node.spread), k1=k1,
                       k1_sd=node.part("k1_sd", Node.spread), where=node.where)


def _photo(node: Node) -> PhotoEntry:
    node.mapping()
    return PhotoEntry(file=node.need("file", Node.path,
                                     wanted='the path of the picture in the job\'s folder, such as "photos/1.jpg"'),
                      camera=node.part("camera", Node.name) or "", size=node.part("size", _size),
                      marks=node.each("marks", _mark), edges=node.each("edges", edge), where=node.where)


def _size(node: Node) -> tuple[int, int]:
    if not isinstance(node.value, list) or len(node.value) != 2:
        raise node.wrong("the picture's width and height in px, such as [4032, 3024]")
    width, height = (node.child(i).whole(wanted="a whole number of px") for i in (0, 1))
    return width, height


def _mark(node: Node) -> MarkEntry:
    node.mapping()
    point = node.need("point", Node.name, wanted="the name of the corner that was clicked")
    x, y = (node.need(k, lambda n: n.number(wanted="a place in the picture in px"),
                      wanted="its place in the picture in px") for k in "xy")
    return MarkEntry(point=point, x_px=x, y_px=y, sd_px=node.part("sd", Node.spread), where=node.where)


def _targets(node: Node) -> TargetsEntry:
    """Printed targets: a wrong size is noted, the targets themselves are still looked for."""
    node.mapping()
    return TargetsEntry(size_mm=node.maybe_length("size", least=20.0, like="150"))


def _paper(node: Node) -> PaperEntry:
    """A sheet of paper on the floor; a named size has its long side first."""
    node.mapping()
    corners = node.each("corners", Node.name)
    if len(corners) != 4 or len(set(corners)) != 4:
        raise node.wrong('a sheet with four different corners in order round it, such as {"size": "a4", "corners": '
                         '["S1", "S2", "S3", "S4"]}')
    return PaperEntry(corners=corners, sides_mm=node.need("size", _paper_size, wanted=_PAPER_WORDS), where=node.where)


def _paper_size(node: Node) -> tuple[float, float]:
    """(side from corner 1 to 2, side from 2 to 3), mm."""
    if isinstance(node.value, str):
        if node.value.lower() not in _PAPERS_MM:
            raise node.wrong(_PAPER_WORDS)
        return _PAPERS_MM[node.value.lower()]
    if not isinstance(node.value, list) or len(node.value) != 2:
        raise node.wrong(_PAPER_WORDS)
    first, second = (node.child(i).number(wanted="a side in mm, such as 297", least=50.0) for i in (0, 1))
    return first, second


def _tape_error(node: Node) -> TapeErrorEntry:
    """The tape's own scale and hook error, to be found with the floor."""
    node.mapping()
    return TapeErrorEntry(scale_sd=node.part("scale_sd", Node.spread), hook_sd_mm=node.part("hook_sd", Node.spread))


def _tape(node: Node) -> TapeEntry | OffsetEntry:
    """Either a straight length between two points or a distance square off a wall."""
    node.mapping()
    sd, typed = node.part("sd", Node.spread), node.part("typed", Node.text) or ""
    if node.has("point") or node.has("wall"):
        point = node.need("point", Node.name, wanted="the name of the point that was measured")
        wall = node.need("wall", Node.pair, wanted='the wall it was measured from, such as ["A", "B"]')
        if point in wall:
            raise node.fault(f"{node.where} measures {point} square off the wall {wall[0]}-{wall[1]}, which it ends; "
                             "name a point that stands away from the wall.", "same-point")
        return OffsetEntry(point=point, wall=wall, length_mm=_typed_length(node, least=-LARGEST), sd_mm=sd, typed=typed,
                           where=node.where)
    between = node.need("between", Node.pair, wanted='the two points that were measured between, such as ["A", "B"]')
    length = _typed_length(node, least=0.0)
    if length <= 0:
        raise node.fault(f"{node.where} says that {between[0]} and {between[1]} are {length:g} mm apart; "
                         "a length must be more than nothing: measure it again or remove it.", "zero-length")
    return TapeEntry(between=between, length_mm=length, sd_mm=sd, typed=typed, where=node.where)


def _typed_length(node: Node, *, least: float) -> float:
    """The length in mm from `mm`, or from `typed` where only that is given; refused if the two disagree."""
    typed = node.value.get("typed")
    if not node.has("mm"):
        if not isinstance(typed, str):
            raise node.fault(f'{node.where} lacks "mm", a length in mm, such as 4312.', "missing-field")
        return _parsed(node.child("typed"), typed)
    length = node.length("mm", least=least, like="4312")
    if isinstance(typed, str) and not _agrees(typed, length):
        raise node.fault(
            f"{node.where} was typed as '{shown(typed)[1:-1]}' but holds {length:g} mm; keep the one that is "
            "right.", "lengths-disagree")
    return length


def _parsed(node: Node, typed: str) -> float:
    try:
        return parse_length(typed)
    except CaptureError as error:
        raise node.fault(f"{node.where}: {error}.", error.slug) from None


def _agrees(typed: str, length_mm: float) -> bool:
    """Whether a text can mean the length. Text that cannot be read alone leaves the number to count: the person was
    asked back."""
    bare = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*", typed)
    if bare:
        value = float(bare.group(1).replace(",", "."))
        return any(abs(value * unit - length_mm) <= TYPED_TOLERANCE_MM for unit in _BARE_UNITS_MM)
    try:
        return abs(parse_length(typed) - length_mm) <= TYPED_TOLERANCE_MM
    except CaptureError:
        return True


def _on_wall(node: Node) -> OnWallEntry:
    node.mapping()
    point = node.need("point", Node.name, wanted="the name of the point on the wall")
    wall = node.need("wall", Node.pair, wanted='the two corners of the wall, such as ["A", "B"]')
    return OnWallEntry(point=point, wall=wall, sd_mm=node.part("sd", Node.spread), where=node.where)


def _island(node: Node) -> IslandEntry:
    node.mapping()
    return IslandEntry(name=node.need("name", Node.name, wanted='a name, such as "hearth"'),
                       corners=node.each("corners", Node.name), where=node.where)


def _pipe(node: Node) -> PipeEntry:
    node.mapping()
    return PipeEntry(name=node.need("name", Node.name, wanted="the name of the point at its centre"),
                     diameter_mm=node.length("diameter", least=1.0, like="15"), at_mm=node.part("at", Node.place),
                     where=node.where)


def _door(node: Node) -> DoorEntry:
    node.mapping()
    casing = node.part("casing", Node.mapping)
    return DoorEntry(name=node.need("name", Node.name, wanted='a name, such as "D1"'),
                     wall=node.need("wall", Node.pair, wanted='the wall it is in, such as ["C", "D"]'),
                     from_mm=node.length("from", like="640"), width_mm=node.length("width", least=1.0, like="762"),
                     reveal_mm=node.maybe_length("reveal", like="110") or 0.0,
                     next_floor_mm=node.part("next_floor", lambda n: n.number(
                         wanted="how high the floor behind the door lies over the bare floor, in mm, such as 14")),
                     casing_mm=None if casing is None else (casing.length("width", like="57"),
                                                            casing.length("thickness", like="15")),
                     **({} if casing is None else casing_legs(casing)), where=node.where)


def _rulers(node: Node) -> RulersEntry:
    """What both rulers of the check sheet measure: each a length like a tape's, with `mm` or `typed` or both."""
    node.mapping()
    across, down = (node.need(key, _ruler,
                              wanted=f'what the ruler {key} the check sheet measures, such as {{"mm": {like}}}')
                    for key, like in (("across", "179.5"), ("down", "239.5")))
    return RulersEntry(across_mm=across, down_mm=down)


def _ruler(node: Node) -> float:
    node.mapping().leave("typed")
    return _typed_length(node, least=1.0)


def _floor(node: Node) -> GivenFloor:
    node.mapping()
    points = node.part("points", Node.mapping)
    named = () if points is None else tuple((name, points.child(name).place()) for name in points.value)
    return GivenFloor(outline_mm=_ring(node.child("outline")), points=named,
                      holes_mm=node.each("holes", _ring), sd_mm=node.part("sd", Node.spread), where=node.where)


def _ring(node: Node) -> tuple[Point, ...]:
    if not isinstance(node.value, list):
        raise node.wrong("a list of [x, y] corners in mm")
    return tuple(node.child(i).place() for i in range(len(node.value)))


def _flooring(node: Node) -> FlooringEntry:
    node.mapping()
    rules = node.part("rules", Node.mapping) or Node({}, node.where, node.problems)
    direction = node.part("direction", _direction)
    return FlooringEntry(board=node.part("board", board_of), underlay=node.part("underlay", _underlay),
                         kerf_mm=node.maybe_length("kerf", like="3"),
                         stagger_mm=rules.maybe_length("stagger", like="300"),
                         shortest_mm=rules.maybe_length("shortest", like="300"),
                         narrowest_mm=rules.maybe_length("narrowest", like="60"),
                         direction_deg=direction if isinstance(direction, float) else None,
                         along=direction if isinstance(direction, tuple) else None,
                         start=node.part("start", lambda n: None if n.value == "auto" else n.pair()),
                         first_row_mm=node.part("first_row", lambda n: None if n.value == "auto"
                                                else n.number(least=1.0,
                                                              wanted='"auto" or a width in mm, such as 152')),
                         pattern=node.part("pattern", lambda n: n.choice(("fewest", "thirds", "halves"))) or "fewest",
                         lay=node.part("lay", lambda n: n.choice(("left-to-right", "right-to-left")))
                         or "left-to-right", **more_flooring(node))


def _direction(node: Node) -> float | tuple[str, str] | None:
    if node.value == "auto":
        return None
    if isinstance(node.value, list):
        return node.pair()
    return node.number(wanted='"auto", a wall such as ["A", "B"], or an angle in degrees')


def _underlay(node: Node) -> UnderlayEntry:
    node.mapping()
    roll = node.need("roll", Node.mapping, wanted='the size of a roll, such as {"length": 10000, "width": 1000}')
    return UnderlayEntry(thickness_mm=node.length("thickness", least=0.1, like="3"),
                         roll_length_mm=roll.length("length", least=1.0, like="10000"),
                         roll_width_mm=roll.length("width", least=1.0, like="1000"))
