"""The keys of a survey's answer and what each holds: types that the writer is checked against and the schema is made
from.

Lengths mm, areas m2, angles degrees.
"""
from __future__ import annotations

from typing import Literal, NotRequired

from typing_extensions import TypedDict  # as pydantic asks for before Python 3.12


class PointShape(TypedDict):
    """A named point, and its covariance in mm2."""

    x: float
    y: float
    cov: list[list[float]]


# "from" is a word of the language, so this is written as a call.
_Ends = TypedDict("_Ends", {"from": str, "to": str})


class WallShape(_Ends):
    """A wall and half its 95 % interval."""

    length: float
    pm95: float


class IslandShape(TypedDict):
    """A part of the floor that is not covered."""

    name: str
    corners: list[str]


class ReadingShape(TypedDict):
    """A reading against the floor: residual observed - computed in `unit`, w its standardised residual; says: what
    it probably should be."""

    kind: str
    between: list[str]
    value: float
    residual: float
    sd: float
    unit: str
    w: float
    redundancy: float
    suspect: bool
    says: str
    where: str
    photo: NotRequired[str]
    mends: NotRequired[list[MendShape]]


class MendShape(TypedDict):
    """A change that would put a doubted reading right: `do` to the entry at `where`."""

    do: Literal["use-length", "other-pair", "other-point", "swap-points", "letters", "outline", "flip", "keep-one",
                "leave-out-photo", "leave-out"]
    where: str
    says: str
    mm: NotRequired[float]
    between: NotRequired[list[str]]
    point: NotRequired[str]
    other: NotRequired[str]
    points: NotRequired[list[str]]
    letters: NotRequired[list[list[str]]]
    outline: NotRequired[list[str]]
    kept: NotRequired[str]
    dropped: NotRequired[str]


class MendableShape(TypedDict):
    """A warning that one change may put right, as it stands in `warnings`."""

    says: str
    mends: list[MendShape]


class AdviceShape(TypedDict):
    """A tape length worth taking next, and how much surer it makes the floor."""

    between: list[str]
    gain: float
    says: str


class PhotoFitShape(TypedDict):
    """A photo's lens as found, and how well its marks fit."""

    file: str
    focal_px: float
    k1: float
    k2: float
    rms_px: float


class BowShape(_Ends):
    """How far from straight a wall with named points along it is."""

    points: list[str]
    at: str
    off: float
    pm95: float
    says: str


class UnseenShape(TypedDict):
    """A wall that no reading shows, and the question to its reader; mends: an order that leaves
    none."""

    wall: list[str]
    says: str
    mends: NotRequired[list[MendShape]]


class Another(TypedDict, total=False):
    """Where the points are in another floor that fits almost as well."""

    another: dict[str, tuple[float, float]]


class SurveyShape(Another):
    """The answer of `tapegroove survey --json`."""

    format: Literal["tapegroove-survey"]
    version: Literal[1]
    title: str
    points: dict[str, PointShape]
    walls: list[WallShape]
    outline: list[str]
    islands: list[IslandShape]
    gauge: str
    area_m2: float
    area_pm95: float
    readings: list[ReadingShape]
    suspects: list[ReadingShape]
    next: list[AdviceShape]
    unseen: list[UnseenShape]
    sigma0: float
    redundancy: int
    photos: list[PhotoFitShape]
    verdict: str
    warnings: list[str]
    mendable: list[MendableShape]
    bows: list[BowShape]
