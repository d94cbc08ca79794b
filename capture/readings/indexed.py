"""A network as arrays: its parameters, and of each kind of reading one `Readings`. Names go in, whole numbers come out.

Order of the parameters: points (x, y each), photos (rotation 3, translation 3, lens centre 2 each), lenses (log f, k1,
k2 each), then scale and hook of the tape where its error is an unknown. The named points come first, then four corners
a printed target; these have no names, so none can clash with a person's. Order of the observation lines: that of
`table.KINDS`, and only `Indexed` counts them.
"""
from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar, Self, TypeVar

import numpy as np
from numpy.typing import NDArray

from capture.errors import CaptureError
from capture.language.messages import Message, lazy_gettext
from capture.network import Network
from capture.readings.findings import Contradicted, Finding
from capture.readings.state import LENS, POSE, State

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
#: Points placed so far, complex plan mm, by index.
Placed = Mapping[int, complex]


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """What a reading is: kind, names, photo, value as read, its sd, and its place in the job."""

    kind: str
    names: tuple[str, ...]
    photo: str = ""
    value: float = 0.0
    sd: float
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """Where a point must be that lies this far from a placed one; complex plan mm."""

    centre: complex
    radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """Where a point must be that lies on a line; `way` is a unit number. strong: a reading says so, not a hint."""

    through: complex
    way: complex
    strong: bool = True


Locus = Circle | Line


class Names:
    """Indices of the names of a network; `point`, `photo` and `camera` raise CaptureError for a name that leads
    nowhere."""

    def __init__(self, network: Network, names: tuple[str, ...], targets: Sequence[int]) -> None:
        self.names, self.targets, self.outline = names, targets, network.outline
        self.ring = {name: i for i, name in enumerate(network.outline)}
        self.point = _Finder(names, "unknown-point", lazy_gettext(
            "{where}: there is no point named '{name}'; known are: {known}"))
        self.photo = _Finder([p.name for p in network.photos], "unknown-photo", lazy_gettext(
            "{where}: there is no photo named '{name}'; known are: {known}"))
        self.camera = _Finder([c.name for c in network.cameras], "unknown-camera", lazy_gettext(
            "{where}: there is no camera named '{name}'; known are: {known}"))


class _Finder:
    """Index of a name, or one sentence that it is unknown."""

    def __init__(self, names: Iterable[str], slug: str, unknown: Message) -> None:
        self._table, self._slug, self._unknown = {name: i for i, name in enumerate(names)}, slug, unknown

    def __call__(self, name: str, where: str) -> int:
        if name not in self._table:
            known = ", ".join(self._table) or lazy_gettext("none")
            raise CaptureError(self._slug, self._unknown.filled(where=where or "job", name=name, known=known),
                               where=where)
        return self._table[name]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Readings(ABC):
    """All readings of one kind in a network; a subclass is a kind, its arrays are further fields. See `table.KINDS`.

    units: what its readings are called in answers, each with its unit. lines_each: observation lines of one reading.
    slip_cost: what one wrong reading counts against a floor, however wrong it is: -2 log of the odds of a slip times
    the density of a sound reading at its middle over that of a slip. taken: a person took it, as against believed or
    stated it. given: no person did either; it is known of the print or the lens. prior: known of the lens or tape
    beforehand, never doubted. scales: its readings tell the size of the floor. locates: the points it names count as
    measured. places: `loci` is not empty.
    """

    units: ClassVar[Mapping[str, str]]
    lines_each: ClassVar[int] = 1
    slip_cost: ClassVar[float] = 50.0
    taken: ClassVar[bool] = False
    given: ClassVar[bool] = False
    prior: ClassVar[bool] = False
    scales: ClassVar[bool] = False
    locates: ClassVar[bool] = True
    places: ClassVar[bool] = False

    labels: tuple[Label, ...]

    @classmethod
    @abstractmethod
    def read(cls, network: Network, names: Names) -> Self:
        """The network's readings of this kind. Raises CaptureError for a name that leads nowhere."""

    @classmethod
    def points(cls, network: Network) -> Iterable[tuple[str, str]]:
        """(name, place in the job) of each point that its readings speak of, walls' ends apart."""
        return ()

    @classmethod
    def faults(cls, network: Network) -> Iterable[CaptureError]:
        """What makes no sense about a reading by itself."""
        return ()

    @abstractmethod
    def equations(self, ix: Indexed, state: State) -> tuple[Array, Array]:
        """Whitened residuals (l,), observed - computed, and whitened Jacobian (l, columns) of the computed values,
        analytic.

        Called only where there are readings.
        """

    def finding(self, ix: Indexed, state: State, cov: Array, k: int) -> Finding:
        """How the others contradict reading `k`, at a floor solved without it: its state and covariance (columns,
        columns)."""
        return Contradicted()

    def __len__(self) -> int:
        """Number of readings."""
        return len(self.labels)

    def groups(self) -> Ints:
        """(l,) number of the reading each line belongs to, from 0."""
        return np.repeat(np.arange(len(self.labels)), self.lines_each)

    def without(self, k: int) -> Self | None:
        """The readings without one of them, for rough floors drawn anew; None for a kind that no rough floor rests
        on."""
        return None

    def distances(self) -> list[tuple[int, int, float]]:
        """(point, point, mm) between pairs of points, as read."""
        return []

    def loci(self, ix: Indexed, placed: Placed, point: int) -> Iterable[Locus]:
        """Where its readings to placed points put one that is not placed yet."""
        return ()


K = TypeVar("K", bound=Readings)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Indexed:
    """The parameters of one network, what is known of them beforehand, and its readings, one `Readings` a kind."""

    names: tuple[str, ...]
    outline: Ints
    photo_names: tuple[str, ...]
    photo_camera: Ints
    photo_centre: Array
    photo_centre_sd: Array
    lens_focal: Array
    lens_focal_sd: Array
    lens_distortion: Array
    lens_distortion_sd: Array
    tape_error_sd: Array
    target_numbers: Ints
    target_mm: float
    readings: tuple[Readings, ...]

    def of(self, kind: type[K]) -> K:
        """The readings of a kind."""
        return next(readings for readings in self.readings if isinstance(readings, kind))

    def numbers_of(self, kind: type[Readings]) -> range:
        """Numbers of the readings of a kind among all readings."""
        first = 0
        for readings in self.readings:
            if isinstance(readings, kind):
                return range(first, first + len(readings))
            first += len(readings)
        raise KeyError(kind)

    def lines_of(self, kind: type[Readings]) -> slice:
        """The observation lines of a kind."""
        mine = self.numbers_of(kind)
        return slice(*np.searchsorted(self.line_groups(), [mine.start, mine.stop]).tolist())

    def finding(self, state: State, cov: Array, number: int) -> Finding:
        """See `Readings.finding`; the reading by its number among all."""
        kind = next(readings for readings in self.readings if number in self.numbers_of(type(readings)))
        return kind.finding(self, state, cov, number - self.numbers_of(type(kind)).start)

    def line_groups(self) -> Ints:
        """(l,) number of the reading each observation line belongs to."""
        groups, first = [], 0
        for readings in self.readings:
            if len(readings):
                groups.append(first + readings.groups())
                first += len(readings)
        return np.concatenate(groups) if groups else np.zeros(0, dtype=np.int64)

    @property
    def point_count(self) -> int:
        """Number of floor points: the named ones and four a target."""
        return len(self.names) + 4 * len(self.target_numbers)

    @property
    def target_points(self) -> Ints:
        """(t, 4) points of the corners of each target."""
        return len(self.names) + np.arange(4 * len(self.target_numbers)).reshape(-1, 4)

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

    def blank(self, state: State, lines: int) -> Array:
        """(lines, columns) Jacobian of nought."""
        return np.zeros((*state.points_mm.shape[:-2], lines, self.columns))


def ints(values: Sequence[object], width: int = 0) -> Ints:
    """Whole numbers (k,) or (k, width)."""
    return np.array(values, dtype=np.int64).reshape((-1, width) if width else -1)


def floats(values: Sequence[object], width: int = 0) -> Array:
    """Numbers (k,) or (k, width)."""
    return np.array(values, dtype=np.float64).reshape((-1, width) if width else -1)


def three_points(ix: Indexed, ends: Ints, derivatives: Array) -> Array:
    """Jacobian lines that touch three points each: (k, columns) from (k, 3) points and (k, 3, 2) derivatives."""
    jac = np.zeros((*derivatives.shape[:-2], ix.columns))
    line = np.arange(len(ends))[:, None]
    for i in range(3):
        jac[..., line, 2 * ends[:, i, None] + np.arange(2)] += derivatives[..., i, :]
    return jac
