"""The job as a person entered it: types only, in the units of the file.

Lengths mm, angles degrees, photo places px of the upright full-size picture. None means "not said"; what is then
assumed is decided in `desk.convert`, in one place. `where` is an entry's place in the file. The file's own text travels
along, so keys this version does not know are kept when the job is saved again.
"""
from __future__ import annotations

import datetime
import json
from dataclasses import dataclass, field, replace
from typing import Any

from layout.replan.events import Event

Pair = tuple[str, str]
Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraEntry:
    """What is known of a lens beforehand; focal_sd is relative."""

    name: str
    focal_px: float | None = None
    focal_sd: float | None = None
    k1: float | None = None
    k1_sd: float | None = None
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkEntry:
    """A click on a named floor point, px."""

    point: str
    x_px: float
    y_px: float
    sd_px: float | None = None
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeEntry:
    """Clicks along the floor line of a wall, px."""

    wall: Pair
    points_px: tuple[Point, ...]
    sd_px: float | None = None
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoEntry:
    """A picture by its path inside the job's folder; `camera` is "" when none is named."""

    file: str
    camera: str = ""
    size: tuple[int, int] | None = None
    marks: tuple[MarkEntry, ...] = ()
    edges: tuple[EdgeEntry, ...] = ()
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TargetsEntry:
    """Printed floor targets lie on the floor; side of their black square."""

    size_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperEntry:
    """A sheet of paper on the floor: its corners in order round it and the sides 1-2 and 2-3, mm."""

    corners: tuple[str, str, str, str]
    sides_mm: tuple[float, float]
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeErrorEntry:
    """What the whole tape may be off: a share of every length, and the same mm for every reading (its hook)."""

    scale_sd: float | None = None
    hook_sd_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeEntry:
    """A straight tape length between two named points; `typed` is the text a person wrote, "" if not kept."""

    between: Pair
    length_mm: float
    sd_mm: float | None = None
    typed: str = ""
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OffsetEntry:
    """The distance of a named point square off a wall line."""

    point: str
    wall: Pair
    length_mm: float
    sd_mm: float | None = None
    typed: str = ""
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OnWallEntry:
    """A named point said to lie on a wall line."""

    point: str
    wall: Pair
    sd_mm: float | None = None
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class IslandEntry:
    """A part of the floor that is not covered."""

    name: str
    corners: tuple[str, ...]
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PipeEntry:
    """A pipe; its centre is the named point, or `at_mm` in the plan if that is given."""

    name: str
    diameter_mm: float
    at_mm: Point | None = None
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorEntry:
    """A door opening, `from_mm` from the first corner of its wall; casing is (width, thickness).

    legs: footprints of the casing's legs, "left" and "right" as one faces the door from inside the room, as traced in a
    close-up: (away from the opening, into the room off the wall line), mm; legs_pm_mm: half a 95 % interval of their
    shape. scribe: the boards are sawn round the casing, which is not undercut. next_floor_mm: how high the floor behind
    the door lies over the bare floor here; None: not asked.
    """

    name: str
    wall: Pair
    from_mm: float
    width_mm: float
    reveal_mm: float = 0.0
    casing_mm: tuple[float, float] | None = None
    legs: tuple[tuple[str, tuple[Point, ...]], ...] = ()
    legs_pm_mm: float = 0.0
    scribe: bool = False
    next_floor_mm: float | None = None
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlineClick:
    """A click on a traced outline, px: a corner, or a place the arc between its neighbours runs through."""

    x_px: float
    y_px: float
    on_arc: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CloseupEntry:
    """A photo of a casing or a pipe with a thing of known size beside it; everything clicked is in px of its upright
    picture.

    of: the door or pipe. beside: "a4", "letter", "card", "target", or "" (found by the tool). corners_px: the thing's
    four corners, if they were clicked. outline: of a casing; leg: "left" or "right" as one faces the door from inside
    the room; mirror: the other leg is the same, mirrored. ring_px: where a pipe meets the floor; sides_px: two clicks
    on each of its straight outlines. edges: walls' floor lines. height_mm: how far what was traced stands above the
    floor.
    """

    file: str
    of: str = ""
    beside: str = ""
    camera: str = ""
    corners_px: tuple[Point, ...] = ()
    outline: tuple[OutlineClick, ...] = ()
    closed: bool = False
    leg: str = ""
    mirror: bool = False
    ring_px: tuple[Point, ...] = ()
    sides_px: tuple[tuple[Point, ...], ...] = ()
    edges: tuple[EdgeEntry, ...] = ()
    height_mm: float = 0.0
    click_sd_px: float | None = None
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenFloor:
    """A floor known beforehand. `points` places further named points (pipes, say) in the same plan.

    sd_mm: one standard deviation of every coordinate; None for a floor taken as exact.
    """

    outline_mm: tuple[Point, ...]
    holes_mm: tuple[tuple[Point, ...], ...] = ()
    points: tuple[tuple[str, Point], ...] = ()
    sd_mm: float | None = None
    where: str = "floor"


@dataclass(frozen=True, slots=True, kw_only=True)
class RulersEntry:
    """What the two long rulers of the printed check sheet measure on paper."""

    across_mm: float
    down_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardEntry:
    """The board as bought; lengths: of a pack that holds several, each with how many of it (`length_mm` is then the
    longest if the job says nothing else)."""

    length_mm: float
    width_mm: float
    thickness_mm: float | None = None
    pack: int | None = None
    lengths: tuple[tuple[float, int], ...] = ()
    where: str = "flooring.board"


@dataclass(frozen=True, slots=True, kw_only=True)
class UnderlayEntry:
    """Underlay thickness and the size of one roll."""

    thickness_mm: float
    roll_length_mm: float
    roll_width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ClimateEntry:
    """Relative humidity of the room in percent: least and most in a year, and on the day of laying."""

    low: float
    high: float
    laid: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BeadingEntry:
    """Length of a bar of beading, and how wide it covers the floor."""

    bar_mm: float | None = None
    width_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnPieceEntry:
    """A piece of the same board that the reader has already, and the factory ends it keeps."""

    length_mm: float
    keeps: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FlooringEntry:
    """How the floor is to be laid; `along`/`start` name walls, `direction_deg` is the heading of `u` from plan x.

    gap_auto: the gap is to be worked out from the longest run and the climate. light: the wall with the main window.
    """

    board: BoardEntry | None = None
    underlay: UnderlayEntry | None = None
    gap_mm: float | None = None
    kerf_mm: float | None = None
    stagger_mm: float | None = None
    shortest_mm: float | None = None
    narrowest_mm: float | None = None
    direction_deg: float | None = None
    along: Pair | None = None
    start: Pair | None = None
    first_row_mm: float | None = None
    pattern: str = "fewest"
    lay: str = "left-to-right"
    gap_auto: bool = False
    gap_least_mm: float | None = None
    gap_most_mm: float | None = None
    light: Pair | None = None
    climate: ClimateEntry | None = None
    longest_mm: float | None = None
    subfloor: str = ""
    beading: BeadingEntry | None = None
    stock: tuple[OwnPieceEntry, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DayEntry:
    """What happened while laying, as it was said. event: in layout's terms, None for one that takes back entry
    number `undoes` (from 1)."""

    event: Event | None
    said: str = ""
    undoes: int = 0
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A whole job. `text` is its JSON, complete with keys this version does not know; the other fields are read from
    it.

    straight: walls nobody has seen that the reader says are one straight wall each. has_plan: a plan is kept in it (`desk.actions.kept_plan` reads it).
    """

    text: str = field(repr=False)
    title: str = ""
    show: str = "metric"
    date: datetime.date | None = None
    outline: tuple[str, ...] = ()
    islands: tuple[IslandEntry, ...] = ()
    cameras: tuple[CameraEntry, ...] = ()
    photos: tuple[PhotoEntry, ...] = ()
    closeups: tuple[CloseupEntry, ...] = ()
    targets: TargetsEntry | None = None
    tape_error: TapeErrorEntry | None = None
    papers: tuple[PaperEntry, ...] = ()
    tapes: tuple[TapeEntry, ...] = ()
    offsets: tuple[OffsetEntry, ...] = ()
    square: tuple[str, ...] = ()
    square_sd_deg: float | None = None
    on_wall: tuple[OnWallEntry, ...] = ()
    straight: tuple[Pair, ...] = ()
    pipes: tuple[PipeEntry, ...] = ()
    doors: tuple[DoorEntry, ...] = ()
    floor: GivenFloor | None = None
    flooring: FlooringEntry = FlooringEntry()
    rulers: RulersEntry | None = None
    has_plan: bool = False
    day: tuple[DayEntry, ...] = ()

    def tree(self) -> dict[str, Any]:
        """The job as plain JSON data; a fresh copy each time, free to change and hand to
        `desk.jobfile.parse.parse_job`."""
        return json.loads(self.text)


def with_mark(job: Job, file: str, point: str, x_px: float, y_px: float) -> Job | None:
    """The job with a mark moved, its text left as it is; None if the photo has no such mark."""
    photo = next((entry for entry in job.photos if entry.file == file), None)
    if photo is None or point not in {mark.point for mark in photo.marks}:
        return None
    marks = tuple(replace(mark, x_px=x_px, y_px=y_px, sd_px=None) if mark.point == point else mark
                  for mark in photo.marks)
    return replace(job, photos=tuple(replace(entry, marks=marks) if entry is photo else entry for entry in job.photos))
