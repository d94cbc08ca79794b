"""The network as index arrays: what the equations work on. Names go in, whole numbers come out, nothing is computed.

Order of the parameters: points (x, y each), photos (turn 3, move 3, lens centre 2 each), cameras (log f, k1, k2 each),
then scale and hook of the tape where its error is an unknown. The named points come first, then four corners a printed
target; these have no names, so none can clash with a person's. Order of the observation lines: marks (2 each; the
corners of targets follow the clicks), wall-line clicks, tapes, wall offsets, square corners, on-wall points, sheets of
paper (5 lengths each), shapes of targets (4 each), sizes of targets (1 each), lens priors (3 a camera), lens centres (2
a photo), tape priors (2, if any).
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from capture.errors import CaptureError
from capture.network import Network, Photo

Array = NDArray[np.float64]
#: Parameters of one photo: turn, move, lens centre; of one lens: log f, k1, k2.
POSE, LENS = 8, 3
#: The four sides and a diagonal of a sheet of paper, by its corners: what makes it a rectangle of its size, nothing
#: twice.
_PAPER_LENGTHS = ((0, 1), (1, 2), (2, 3), (3, 0), (0, 2))
PAPER = len(_PAPER_LENGTHS)
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Indexed:
    """Arrays of one network; (k, ...) per kind of reading. `clicks` are the single points of wall lines.

    mark_reading: the reading each mark belongs to: a click is one, the four corners of a target in a photo are one
    together.
    """

    names: tuple[str, ...]
    outline: Ints
    photo_names: tuple[str, ...]
    photo_camera: Ints
    mark_photo: Ints
    mark_point: Ints
    mark_px: Array
    mark_sd: Array
    mark_reading: Ints
    click_photo: Ints
    click_wall: Ints
    click_px: Array
    click_sd: Array
    tape_ends: Ints
    tape_mm: Array
    tape_sd: Array
    offset_ends: Ints
    offset_mm: Array
    offset_sd: Array
    offset_side: Array
    square_ends: Ints
    square_sd: Array
    on_ends: Ints
    on_sd: Array
    paper_ends: Ints
    paper_mm: Array
    paper_sd: Array
    lens_focal: Array
    lens_focal_sd: Array
    lens_bend: Array
    lens_bend_sd: Array
    tape_error_sd: Array
    photo_centre: Array
    photo_centre_sd: Array
    target_numbers: Ints
    target_mm: float

    @property
    def point_count(self) -> int:
        """Number of floor points: the named ones and four a target."""
        return len(self.names) + 4 * len(self.target_numbers)

    @property
    def target_points(self) -> Ints:
        """(t, 4) points of the corners of each target."""
        return len(self.names) + np.arange(4 * len(self.target_numbers)).reshape(-1, 4)

    @property
    def mark_readings(self) -> int:
        """Number of readings the marks fall into."""
        return int(self.mark_reading.max(initial=-1)) + 1

    @property
    def point_columns(self) -> int:
        """Number of parameters of the floor points."""
        return 2 * self.point_count

    @property
    def columns(self) -> int:
        """Number of all parameters, gauge included."""
        return self.tape_column + len(self.tape_error_sd)

    @property
    def lens_column(self) -> int:
        """First parameter of the first lens."""
        return self.point_columns + POSE * len(self.photo_names)

    @property
    def tape_column(self) -> int:
        """First parameter of the tape's own errors; the end of all where they are none."""
        return self.lens_column + LENS * len(self.lens_focal)


def index_network(network: Network) -> Indexed:
    """Index arrays of a network; raises CaptureError "unknown-point" or "unknown-photo" for a name that leads
    nowhere."""
    names = _names(network)
    point = _Finder({n: i for i, n in enumerate(names)}, "unknown-point", "point")
    photo = _Finder({p.name: i for i, p in enumerate(network.photos)}, "unknown-photo", "photo")
    camera = _Finder({c.name: i for i, c in enumerate(network.cameras)}, "unknown-camera", "camera")
    clicks = [(line, px) for line in network.wall_lines for px in line.points_px]
    ring = {name: i for i, name in enumerate(network.outline)}
    size = len(network.outline)
    targets = target_numbers(network)
    corners = [(m, i) for m in network.target_marks for i in range(4)]

    def neighbours(corner: str, where: str) -> tuple[int, int, int]:
        if corner not in ring:
            raise CaptureError("not-a-corner", f"{where or 'square'}: '{corner}' is not a corner of the outline; "
                                               "only outline corners can be called square", where=where)
        k = ring[corner]
        return (point(network.outline[k - 1], where), k, point(network.outline[(k + 1) % size], where))

    return Indexed(names=names, outline=np.arange(size), photo_names=tuple(p.name for p in network.photos),
                   photo_camera=_ints([camera(p.camera, p.name) for p in network.photos]),
                   mark_photo=_ints([photo(m.photo, m.where) for m in network.marks]
                                    + [photo(m.photo, m.photo) for m, _ in corners]),
                   mark_point=_ints([point(m.point, m.where) for m in network.marks]
                                    + [len(names) + 4 * targets.index(m.seen.number) + i for m, i in corners]),
                   mark_px=_floats([(m.x_px, m.y_px) for m in network.marks]
                                   + [m.seen.corners_px[i] for m, i in corners], 2),
                   mark_sd=_floats([m.sd_px for m in network.marks] + [m.seen.sd_px for m, _ in corners]),
                   mark_reading=_ints([*range(len(network.marks)),
                                       *(len(network.marks) + k // 4 for k in range(len(corners)))]),
                   click_photo=_ints([photo(line.photo, line.where) for line, _ in clicks]),
                   click_wall=_ints([[point(w, line.where) for w in line.wall] for line, _ in clicks], 2),
                   click_px=_floats([px for _, px in clicks], 2), click_sd=_floats([line.sd_px for line, _ in clicks]),
                   tape_ends=_ints([(point(t.a, t.where), point(t.b, t.where)) for t in network.tapes], 2),
                   tape_mm=_floats([t.length_mm for t in network.tapes]),
                   tape_sd=_floats([t.sd_mm for t in network.tapes]),
                   offset_ends=_ints([(point(o.point, o.where), *(point(w, o.where) for w in o.wall))
                                      for o in network.offsets], 3),
                   offset_mm=_floats([o.distance_mm for o in network.offsets]),
                   offset_sd=_floats([o.sd_mm for o in network.offsets]),
                   offset_side=_floats([_side(o.point, o.wall, ring, size) for o in network.offsets]),
                   square_ends=_ints([neighbours(s.corner, s.where) for s in network.squares], 3),
                   square_sd=_floats([s.sd_rad for s in network.squares]),
                   on_ends=_ints([(point(o.point, o.where), *(point(w, o.where) for w in o.wall))
                                  for o in network.on_walls], 3), on_sd=_floats([o.sd_mm for o in network.on_walls]),
                   paper_ends=_ints([[point(p.corners[i], p.where) for i in pair] for p in network.papers
                                     for pair in _PAPER_LENGTHS], 2),
                   paper_mm=_floats([mm for p in network.papers for w, h in [p.sides_mm]
                                     for mm in (w, h, w, h, float(np.hypot(w, h)))]),
                   paper_sd=_floats([p.sd_mm for p in network.papers for _ in _PAPER_LENGTHS]),
                   lens_focal=_floats([c.focal_px for c in network.cameras]),
                   lens_focal_sd=_floats([c.focal_sd for c in network.cameras]),
                   lens_bend=_floats([(c.k1, c.k2) for c in network.cameras], 2),
                   lens_bend_sd=_floats([(c.k1_sd, c.k2_sd) for c in network.cameras], 2),
                   tape_error_sd=_floats(_tape_error(network)),
                   photo_centre=_floats([_centre(p, network) for p in network.photos], 2),
                   photo_centre_sd=_floats([_centre_sd(p, network) for p in network.photos]),
                   target_numbers=_ints(targets), target_mm=network.target_size_mm,)


def target_numbers(network: Network) -> list[int]:
    """Numbers of all targets seen, rising: the order of their points and readings."""
    return sorted({m.seen.number for m in network.target_marks})


def _tape_error(network: Network) -> list[float]:
    """Spreads of the tape's own scale and hook; an error taken as none is held to a millionth (of a mm)."""
    error = network.tape_error
    return [] if error is None else [max(error.scale_sd, 1e-6), max(error.hook_sd_mm, 1e-6)]


def _centre(photo: Photo, network: Network) -> tuple[float, float]:
    """Middle of the upright picture, px, with (0, 0) the centre of the first pixel."""
    width, height = photo_size_px(photo, network)
    return (width - 1) / 2.0, (height - 1) / 2.0


def _centre_sd(photo: Photo, network: Network) -> float:
    """How far the lens's axis may be off that middle, px along each axis."""
    camera = next(c for c in network.cameras if c.name == photo.camera)
    return max(camera.centre_sd * max(photo_size_px(photo, network)), 1e-3)


def photo_size_px(photo: Photo, network: Network) -> tuple[int, int]:
    """(width, height) of an upright picture, its own or its camera's."""
    camera = next(c for c in network.cameras if c.name == photo.camera)
    return photo.size_px or (camera.width_px, camera.height_px)


def _names(network: Network) -> tuple[str, ...]:
    """Every named point once: outline, islands, then the others in the order they are first met."""
    names = dict.fromkeys(network.outline)
    for island in network.islands:
        names.update(dict.fromkeys(island.corners))
    names.update(dict.fromkeys(m.point for m in network.marks))
    names.update(dict.fromkeys(n for t in network.tapes for n in (t.a, t.b)))
    names.update(dict.fromkeys(o.point for o in network.offsets))
    names.update(dict.fromkeys(o.point for o in network.on_walls))
    names.update(dict.fromkeys(name for p in network.papers for name in p.corners))
    return tuple(names)


def _side(point: str, wall: tuple[str, str], ring: dict[str, int], size: int) -> float:
    """+1 if the wall is named in the outline's order, -1 if against it, 0 if it is no wall of the outline; a chain of
    walls along which the point lies is a wall too."""
    if wall[0] not in ring or wall[1] not in ring:
        return 0.0
    step = (ring[wall[1]] - ring[wall[0]]) % size
    if step in (1, size - 1):
        return 1.0 if step == 1 else -1.0
    if is_between(point, wall, tuple(ring)):
        return 1.0 if step < size - step else -1.0
    return 0.0


def is_between(point: str, wall: tuple[str, str], outline: tuple[str, ...]) -> bool:
    """Whether an outline corner lies between two others, on the way round with fewer corners: a place along a bowed
    wall."""
    if not {point, *wall} <= set(outline):
        return False
    size, first = len(outline), outline.index(wall[0])
    step, place = (outline.index(wall[1]) - first) % size, (outline.index(point) - first) % size
    return 0 < place < step if step < size - step else step < place and step > size - step


class _Finder:
    """Index of a name, or one sentence that it is unknown."""

    def __init__(self, table: dict[str, int], slug: str, what: str) -> None:
        self._table, self._slug, self._what = table, slug, what

    def __call__(self, name: str, where: str) -> int:
        if name not in self._table:
            known = ", ".join(self._table) or "none"
            raise CaptureError(self._slug,
                               f"{where or 'job'}: there is no {self._what} named '{name}'; known are: {known}",
                               where=where)
        return self._table[name]


def _ints(values: Sequence[object], width: int = 0) -> Ints:
    return np.array(values, dtype=np.int64).reshape((-1, width) if width else -1)


def _floats(values: Sequence[object], width: int = 0) -> Array:
    return np.array(values, dtype=np.float64).reshape((-1, width) if width else -1)
