"""What a person has told the survey: photos and marks, wall lines, tape lengths and hints.

Photo frame: pixels of the upright full-size picture, x right, y down, (0, 0) the centre of the top-left pixel.
Every reading carries its own standard deviation; nothing here is solved yet.
"""
from __future__ import annotations

from dataclasses import dataclass

from capture.floor import Island


@dataclass(frozen=True, slots=True, kw_only=True)
class Camera:
    """One lens: size of its upright pictures and what is known of its focal length and distortion beforehand.

    focal_sd is relative (0.05 = 5 %); k1 and k2 are the radial coefficients of OpenCV's model (dimensionless).
    centre_sd: how far the lens's axis may be off the picture's middle along each axis, as a share of the long side;
    from picture to picture it differs, for phones steady their pictures by moving the lens (half a per cent: from
    memory, no source).
    """

    name: str
    width_px: int
    height_px: int
    focal_px: float
    focal_sd: float
    k1: float = 0.0
    k1_sd: float = 0.02
    k2: float = 0.0
    k2_sd: float = 0.01
    centre_sd: float = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """One picture, by its file name in the job, and the name of the camera that took it.

    size_px: (width, height) of the upright picture; None means the camera's size. A phone held upright and on its side
    is one camera with pictures of two sizes.
    """

    name: str
    camera: str
    size_px: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A click on a named floor point in a photo, px; `where` is its place in the job file."""

    photo: str
    point: str
    x_px: float
    y_px: float
    sd_px: float = 2.0
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TargetSighting:
    """A printed floor target found in a picture (`targets.py`): its number, its four corners in the order of the
    printed square, px, and the standard deviation of each of their coordinates."""

    number: int
    corners_px: tuple[tuple[float, float], ...]
    sd_px: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TargetMark:
    """A target in one of the network's photos."""

    photo: str
    seen: TargetSighting


@dataclass(frozen=True, slots=True, kw_only=True)
class WallLine:
    """Clicks somewhere along the floor line of the wall between two corners, px."""

    photo: str
    wall: tuple[str, str]
    points_px: tuple[tuple[float, float], ...]
    sd_px: float = 2.0
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeLength:
    """A straight tape length between two named floor points, mm."""

    a: str
    b: str
    length_mm: float
    sd_mm: float
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WallOffset:
    """The distance of a named point square off a wall line, mm, not negative: into the room off a wall of the outline.

    For an outline corner between the two named ones (a place on a bowed wall, off a string stretched along it) it is
    positive into the room and negative away from it.
    """

    point: str
    wall: tuple[str, str]
    distance_mm: float
    sd_mm: float
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SquareCorner:
    """A belief, not a reading: this outline corner is square, give or take `sd_rad`."""

    corner: str
    sd_rad: float
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OnWall:
    """A named point lies on the line of a wall, give or take `sd_mm`."""

    point: str
    wall: tuple[str, str]
    sd_mm: float = 1.0
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperSheet:
    """A sheet of paper flat on the floor: its four corners in order round it, the sides corner 1-2 and corner 2-3, mm,
    and how far each of its lengths is trusted (ISO 216 allows 2 mm either way up to 600 mm; damp adds up to 1 mm: trade
    fact sheet, 9)."""

    corners: tuple[str, str, str, str]
    sides_mm: tuple[float, float]
    sd_mm: float = 1.0
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeError:
    """What all readings of one tape have in common, as unknowns with mean 0: `scale_sd` a share of the length (a worn
    or stretched tape), `hook_sd_mm` the same for every reading (a bent or loose hook). 0 means that error is taken as
    none."""

    scale_sd: float = 0.0
    hook_sd_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """Everything the adjustment may use. `outline` names the corners in order round the room, either way.

    target_size_mm: side of the printed targets; see `SHEET_SD_MM` and `PRINT_SD` for how far it is trusted. straight:
    walls that nobody has seen and the reader says are one straight wall each (`readings.coverage`); no equation. drawn:
    corners as a hand drew them, (name, (x, y)) in any unit, y up: no reading, but where two floors fit the readings
    alike it is that drawn (`initial.drawn_outline`).
    """

    outline: tuple[str, ...]
    islands: tuple[Island, ...] = ()
    cameras: tuple[Camera, ...] = ()
    photos: tuple[Photo, ...] = ()
    marks: tuple[Mark, ...] = ()
    wall_lines: tuple[WallLine, ...] = ()
    tapes: tuple[TapeLength, ...] = ()
    offsets: tuple[WallOffset, ...] = ()
    squares: tuple[SquareCorner, ...] = ()
    on_walls: tuple[OnWall, ...] = ()
    target_marks: tuple[TargetMark, ...] = ()
    target_size_mm: float = 150.0
    tape_error: TapeError | None = None
    papers: tuple[PaperSheet, ...] = ()
    straight: tuple[tuple[str, str], ...] = ()
    drawn: tuple[tuple[str, tuple[float, float]], ...] = ()


#: A printed target is a square to this much, mm, and as large as the others of the same print.
SHEET_SD_MM = 0.3
#: All of them together may be printed larger or smaller by this share: printers and damp paper differ by 0.1 to 1 %
#: (trade fact sheet of this project, section 8), so the tape rules.
PRINT_SD = 0.01


def default_tape_sd_mm(length_mm: float) -> float:
    """Standard deviation of one whole tape reading: 1.5 mm up to 5 m, 0.2 mm more for each metre beyond.

    Source: trade fact sheet of this project, section 0 and 5 (class II tape limits of EU MID 2014/32 Annex X
    with a reading and an end error, common practice).
    """
    return 1.5 + 0.2 * max(0.0, length_mm - 5000.0) / 1000.0
