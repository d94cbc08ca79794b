"""The job as a person entered it, in the units of the file: with `photo_entries`, `laying_entries` and `day_entries`
the one declaration of what a job is.

A field is a key of the file, with its bounds and its words. From these types the file is read (`desk.jobfile.parse`),
refused in sentences (`desk.jobfile.reader`) and described as JSON Schema (`desk.jobfile.schema`). Lengths mm, angles
degrees. None means "not said"; what is then assumed is decided in `desk.convert`, in one place.
"""
from __future__ import annotations

import copy
from dataclasses import dataclass, field, replace
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Discriminator, Field, SkipValidation, Tag
from pydantic.json_schema import SkipJsonSchema

from desk.jobfile.day_entries import DayLog
from capture.language.messages import lazy_gettext, marked
from desk.jobfile.kinds import (
    Date, Entry, LanguageTag, LengthFrom1, Name, Number, Pair, Place, Placed, PrintedText, Ring, Spread, Stored,
    TypedLength, Wall, YesOrNo, described, like, typed_length, unfit, words)
from desk.jobfile.laying_entries import DoorEntry, FlooringEntry, PipeEntry
from desk.jobfile.photo_entries import CameraEntry, CloseupEntry, PaperEntry, PhotoEntry, TargetsEntry
from desk.jobfile.written import job_text


#: How sure a place is that a hand put on the plan, one standard deviation, mm (common sense, no source).
BY_HAND_SD_MM = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeErrorEntry(Entry):
    """What the whole tape may be off: a share of every length, and the same mm for every reading (its hook)."""

    scale_sd: Spread | None = None
    hook_sd_mm: Spread | None = None


def _straight(schema: dict[str, Any]) -> None:
    typed_length(schema)
    schema["properties"] |= {"point": {"type": "null"}, "wall": {"type": "null"}}
    schema["properties"]["mm"]["exclusiveMinimum"] = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeEntry(TypedLength):
    """A straight tape length between two named points."""

    __pydantic_config__ = described(_straight)

    between: Annotated[Pair, words(marked('the two points that were measured between, such as ["A", "B"]'))]
    sd_mm: Spread | None = None

    def check(self) -> None:
        if self.length_mm <= 0:
            raise unfit("zero-length", lazy_gettext(
                "{where} says that {a} and {b} are {length:g} mm apart; a length must be more than nothing: measure it "
                "again or remove it.", a=self.between[0], b=self.between[1], length=float(self.length_mm)))
        TypedLength.check(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class OffsetEntry(TypedLength):
    """The distance of a named point square off a wall line; by_hand: nobody measured it, a hand put the point on the
    plan; its spread is then `BY_HAND_SD_MM` if none is told."""

    point: Annotated[Name, words(marked("the name of the point that was measured"))]
    wall: Annotated[Pair, words(marked('the wall it was measured from, such as ["A", "B"]'))]
    length_mm: Annotated[Number, like(4312, alias="mm")]
    sd_mm: Spread | None = None
    by_hand: YesOrNo = False

    @classmethod
    def told(cls, data: dict[str, Any]) -> dict[str, Any]:
        if data.get("by_hand") is True:
            data = {"sd": BY_HAND_SD_MM} | data
        elif data.get("sd") == BY_HAND_SD_MM and not data.get("typed"):
            data = {"by_hand": True} | data  # so jobs from before this key said it
        return TypedLength.told(data)

    def check(self) -> None:
        if self.point in self.wall:
            raise unfit("same-point", lazy_gettext(
                "{where} measures {point} square off the wall {a}-{b}, which it ends; name a point that stands away "
                "from the wall.", point=self.point, a=self.wall[0], b=self.wall[1]))
        TypedLength.check(self)


def _reading(value: Any) -> str:
    told = {key for key, inner in value.items() if inner is not None} if isinstance(value, dict) else set()
    return "(offset)" if {"point", "wall"} & told else "(straight)"


_Reading = Annotated[Annotated[TapeEntry, Tag("(straight)")] | Annotated[OffsetEntry, Tag("(offset)")],
                     Discriminator(_reading)]


@dataclass(frozen=True, slots=True, kw_only=True)
class OnWallEntry(Placed):
    """A named point said to lie on a wall line."""

    point: Annotated[Name, words(marked("the name of the point on the wall"))]
    wall: Wall
    sd_mm: Spread | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class IslandEntry(Placed):
    """A part of the floor that is not covered."""

    READ_AS: ClassVar = {"corners": {"corners": ...}}

    name: Annotated[Name, words(marked('a name, such as "hearth"'))]
    corners: tuple[Name, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenFloor(Placed):
    """A floor known beforehand. points: places of further named points (pipes, say) in the same plan; sd: one standard
    deviation of every coordinate, for a floor not taken as exact."""

    outline_mm: Ring
    holes_mm: tuple[Ring, ...] = ()
    points: Annotated[tuple[tuple[str, Place], ...], Stored(dict[str, Place], lambda found: tuple(found.items()))] = ()
    sd_mm: Spread | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RulerEntry(TypedLength):
    """What a ruler measures."""

    length_mm: Annotated[LengthFrom1, like(179.5, alias="mm")]


_Ruler = Annotated[float, Stored(RulerEntry, lambda ruler: ruler.length_mm)]


@dataclass(frozen=True, slots=True, kw_only=True)
class RulersEntry(Entry):
    """What the two long rulers of the printed check sheet measure on paper."""

    across_mm: Annotated[_Ruler, words(marked('what the ruler across the check sheet measures, such as {"mm": 179.5}'))]
    down_mm: Annotated[_Ruler, words(marked('what the ruler down the check sheet measures, such as {"mm": 239.5}'))]


def _named(cameras: dict[str, CameraEntry]) -> tuple[CameraEntry, ...]:
    return tuple(replace(camera, name=name) for name, camera in cameras.items())


_NOTHING_SAID = FlooringEntry()


@dataclass(frozen=True, slots=True, kw_only=True)
class Job(Entry):
    """A job: job.json in its folder.

    data: all of it as JSON data, with keys this version does not know; the other fields are read from it, and nobody
    changes it. straight: walls nobody has seen that the reader says are one straight wall each. sketch: corners as a
    hand drew them, [x, y] in any unit, y up: it tells which of two floors that fit alike is meant. plan: a plan is kept
    in it (`desk.actions.kept_plan` reads it).
    """

    data: Annotated[SkipValidation[dict[str, Any]], SkipJsonSchema()] = field(default_factory=dict, repr=False)
    format: Literal["tapegroove-job"] = "tapegroove-job"
    version: Literal[1] = 1
    title: PrintedText = ""
    date: Date | None = None
    show: Literal["metric", "imperial"] = "metric"
    language: LanguageTag | None = None
    outline: tuple[Name, ...] = ()
    islands: tuple[IslandEntry, ...] = ()
    cameras: Annotated[tuple[CameraEntry, ...], Stored(dict[str, CameraEntry], _named)] = ()
    photos: tuple[PhotoEntry, ...] = ()
    closeups: tuple[CloseupEntry, ...] = ()
    targets: TargetsEntry | None = None
    papers: tuple[PaperEntry, ...] = ()
    tape: tuple[_Reading, ...] = ()
    tape_error: TapeErrorEntry | None = None
    rulers: RulersEntry | None = None
    square: tuple[Name, ...] = ()
    square_sd_deg: Spread | None = None
    on_wall: tuple[OnWallEntry, ...] = ()
    straight: tuple[Pair, ...] = ()
    sketch: Annotated[tuple[tuple[str, Place], ...], Stored(dict[str, Place], lambda found: tuple(found.items()))] = ()
    pipes: tuple[PipeEntry, ...] = ()
    doors: tuple[DoorEntry, ...] = ()
    floor: GivenFloor | None = None
    flooring: FlooringEntry = _NOTHING_SAID
    has_plan: Annotated[bool, Stored(dict[str, Any], lambda plan: True), Field(alias="plan")] = False
    day: DayLog = ()
    house: Any = None

    @property
    def tapes(self) -> tuple[TapeEntry, ...]:
        """The straight tape lengths."""
        return tuple(reading for reading in self.tape if isinstance(reading, TapeEntry))

    @property
    def offsets(self) -> tuple[OffsetEntry, ...]:
        """The distances square off a wall."""
        return tuple(reading for reading in self.tape if isinstance(reading, OffsetEntry))

    @property
    def text(self) -> str:
        """What the job is saved as. Raises JobFileError for what UTF-8 JSON cannot hold."""
        return job_text(self.data)

    def tree(self) -> dict[str, Any]:
        """The job as plain JSON data; a fresh copy each time, free to change and hand to `parse_job`."""
        return copy.deepcopy(self.data)


def with_mark(job: Job, file: str, point: str, x_px: float, y_px: float) -> Job | None:
    """The job with a mark moved, its text left as it is; None if the photo has no such mark."""
    photo = next((entry for entry in job.photos if entry.file == file), None)
    if photo is None or point not in {mark.point for mark in photo.marks}:
        return None
    marks = tuple(replace(mark, x_px=x_px, y_px=y_px, sd_px=None) if mark.point == point else mark
                  for mark in photo.marks)
    return replace(job, photos=tuple(replace(entry, marks=marks) if entry is photo else entry for entry in job.photos))
