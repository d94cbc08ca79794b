"""What a job tells of pictures: lenses, clicks, wall lines, sheets of known size, close-ups. Places px of the upright
full-size picture, lengths mm. READ_AS: see `laying_entries`."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Discriminator, Field, SkipValidation, Tag
from pydantic.json_schema import SkipJsonSchema

from capture.language.messages import Message, marked
from desk.jobfile.kinds import (
    Entry, File, Length, LengthFrom1, Name, Number, Place, Placed, Side, Spread, Stored, Wall, Whole, YesOrNo, like,
    words, wrong)
from printpack.paper import A3, A4, LETTER

#: Sheets a job may name, long side first, mm.
_PAPERS_MM = {paper.name.lower(): (paper.height_mm, paper.width_mm) for paper in (A4, A3, LETTER)}
#: Words for the same things in jobs written before close-ups were measured.
_BESIDE = {"A4 sheet": "a4", "Letter sheet": "letter", "blank ID-1 card": "card", "floor target": "target"}

_Px = Annotated[Number, words(marked("a place in the picture in px"))]
_WholePx = Annotated[Whole, words(marked("a whole number of px"))]
_TwoPlaces = Annotated[tuple[Place, Place], words(marked(
    "a list of 2 [x, y] places in px: two places on one outline of the pipe"))]
_Beside = Literal["a4", "letter", "card", "target", "A4 sheet", "Letter sheet", "blank ID-1 card", "floor target"]
_Foot = Annotated[Literal["pipe", "collar"], words(marked('"pipe" or "collar"'))]
_FOUR = marked('four different corners in order round the sheet, such as ["S1", "S2", "S3", "S4"]')
_PaperSide = Annotated[Length, words(marked("a side in mm, such as 297"), ge=50.0)]
_PaperName = Annotated[str, Field(strict=True, pattern="^([aA][34]|[lL][eE][tT][tT][eE][rR])$")]
_PaperSize = Annotated[Annotated[tuple[_PaperSide, _PaperSide], Tag("sides")] | Annotated[_PaperName, Tag("name")],
                       Discriminator(lambda value: "sides" if isinstance(value, list) else "name")]


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraEntry(Placed):
    """What is known of a lens beforehand; focal_sd is relative."""

    name: Annotated[SkipValidation[str], SkipJsonSchema()] = ""
    focal_px: Annotated[LengthFrom1 | None, words(
        marked("a focal length in px, such as 3011"), alias="focal_px")] = None
    focal_sd: Spread | None = None
    k1: Annotated[Number | None, words(
        marked("a lens distortion between -2 and 2, such as -0.02"), ge=-2.0, le=2.0)] = None
    k1_sd: Spread | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkEntry(Placed):
    """A click on a named floor point, px."""

    point: Annotated[Name, words(marked("the name of the corner that was clicked"))]
    x_px: _Px
    y_px: _Px
    sd_px: Spread | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeEntry(Placed):
    """Clicks along the floor line of a wall, px."""

    READ_AS: ClassVar = {"points_px": {"points_px": ...}}

    wall: Wall
    points_px: tuple[Place, ...] = ()
    sd_px: Spread | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoEntry(Placed):
    """A picture by its path inside the job's folder; size: width and height of the upright picture, px; camera: ""
    when none is named."""

    file: File
    camera: Name = ""
    size: Annotated[tuple[_WholePx, _WholePx] | None, words(marked("the picture's width and height in px, such as "
                                                            "[4032, 3024]"))] = None
    marks: tuple[MarkEntry, ...] = ()
    edges: tuple[EdgeEntry, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TargetsEntry(Entry):
    """Printed floor targets lie on the floor; size: side of their black square."""

    size_mm: Annotated[Length | None, like(150, ge=20.0)] = None


def _sides(size: Any) -> Any:
    return _PAPERS_MM[size.lower()] if isinstance(size, str) else size


def _four_different(corners: tuple[str, ...]) -> tuple[str, ...]:
    if len(set(corners)) != 4:
        raise wrong(Message(_FOUR))
    return corners


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperEntry(Placed):
    """A sheet of paper on the floor: its corners in order round it and the sides 1-2 and 2-3."""

    corners: Annotated[tuple[str, str, str, str], Stored(tuple[Name, Name, Name, Name], _four_different), Field(
        description=_FOUR, json_schema_extra={"uniqueItems": True})]
    sides_mm: Annotated[tuple[float, float], Stored(_PaperSize, _sides), words(
        marked('a size: "a4", "a3", "letter", or its sides in mm as [297, 210]'), alias="size")]


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlineClick(Entry):
    """A click on a traced outline, px: a corner, or with `arc` a place the arc between its neighbours runs through."""

    x_px: _Px
    y_px: _Px
    on_arc: Annotated[YesOrNo, Field(alias="arc")] = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CloseupEntry(Placed):
    """A photo of a casing or a pipe with a thing of known size beside it; everything clicked is in px of its upright
    picture.

    of: the door or pipe. beside: "a4", "letter", "card", "target", or "" (found by the tool). corners: the thing's
    four corners, if they were clicked. outline: of a casing; leg: "left" or "right" as one faces the door from inside
    the room; mirror: the other leg is the same, mirrored. ring: where a pipe meets the floor; sides: two clicks on
    each of its straight outlines; foot: whether the ring is the "pipe" itself or the "collar" round it. edges: walls'
    floor lines. height: how far what was traced stands above the floor, mm.
    """

    file: File
    of: Name = ""
    beside: Annotated[str, Stored(_Beside, lambda word: _BESIDE.get(word, word)), words(
        marked('one of "a4", "letter", "card", "target"'))] = ""
    camera: Name = ""
    corners_px: Annotated[tuple[Place, ...], Stored(tuple[Place, Place, Place, Place], tuple), words(
        marked("a list of 4 [x, y] places in px: the four corners of the sheet or card"))] = ()
    outline: tuple[OutlineClick, ...] = ()
    closed: YesOrNo = False
    leg: Annotated[str, Stored(Side, str)] = ""
    mirror: YesOrNo = False
    ring_px: tuple[Place, ...] = ()
    sides_px: tuple[_TwoPlaces, ...] = ()
    foot: Annotated[str, Stored(_Foot, str)] = ""
    edges: tuple[EdgeEntry, ...] = ()
    height_mm: Length = 0.0
    click_sd_px: Spread | None = None
