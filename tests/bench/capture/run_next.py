"""Is 'measure next' good advice? ``python -m tests.bench.capture.run_next [rooms of each kind] [first seed]``

Rooms of six (L) and eight corners (alcove, chimney breast, bay), and homes of 10, 12 and 16 with several of these;
photos from inside that show every corner, one wall taped. Then eight lengths more, each the one advised at that moment;
or twelve drawn from all that a tape can reach, walls too (the baseline), or the first eight of those. The eight are
taken even where the survey has said before that the floor is good enough; when it did is told.

Two figures of each: the root mean square corner error that came out (after the best turn and shift), and the Cramer-Rao
bound of that choice of lengths, which no reading error blurs. Bounds alone: eight chosen with the truth known (the best
of all choices where there are few enough to try, else the best found by exchanging one length at a time from many
starts), and 400 draws of eight and of twelve. Pooled by how many lengths are in reach.
"""
from __future__ import annotations

import os
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, fields, replace
from itertools import combinations
from math import comb

import numpy as np

from capture.adjustment.least_squares import assess
from capture.adjustment.network_design import measure_next
from capture.floor import without_drift
from capture.adjustment.parameter_index import index_network
from capture.network import TapeLength
from capture.solve import solve_floor
from tests.support import simulate
from tests.support.draw_homes import draw_home

_SD_MM, _EIGHT, _TWELVE = 2.0, 8, 12
#: As many photos as it takes.
_PHOTOS = (4, 5, 6, 8)
#: All choices are tried up to this many; else exchanges from so many starts.
_ALL_CHOICES, _STARTS, _DRAWS = 50_000, 20, 400
KINDS = ("L", "eight corners", "10 corners", "12 corners", "16 corners")
#: Lengths in reach: the limits between which rooms are pooled.
_REACH = (0, 15, 20, 30, 45, 200)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """One room: corner errors that came out and bounds of the choices, mm; lengths after which it was good enough;
    lengths in reach."""

    before: float
    advised: float
    eight: float
    twelve: float
    advised_bound: float
    best_bound: float
    eight_bound: float
    twelve_bound: float
    enough: int
    reach: int


class Worth:
    """What lengths are worth in one survey: the bound of the corners' error, with inner constraints, once some of a
    pool are taken."""

    def __init__(self, case: simulate.Case, pool: list[tuple[str, str]]) -> None:
        size = len(case.corners)
        truth = simulate.truth_state(case)
        ring, cov = truth.points_mm[:size], assess(index_network(case.network), truth).cov[:2 * size, :2 * size]
        rows = np.zeros((len(pool), 2 * size))
        for row, (i, j) in zip(rows, ((case.names.index(a), case.names.index(b)) for a, b in pool)):
            along = (ring[j] - ring[i]) / np.hypot(*(ring[j] - ring[i]))
            row[2 * i:2 * i + 2], row[2 * j:2 * j + 2] = -along, along
        moved = without_drift(ring, cov @ rows.T)
        self._before = float(np.trace(without_drift(ring, without_drift(ring, cov).T)))
        self._seen, self._gain, self._size = rows @ cov @ rows.T + _SD_MM**2 * np.eye(len(pool)), moved.T @ moved, size

    def squares(self, choices: np.ndarray) -> np.ndarray:
        """(c,) bounds squared, mm2, of choices (c, k) of lengths by their number in the pool; from C - C J'(J C J' +
        R)^-1 J C."""
        rows, columns = choices[:, :, None], choices[:, None, :]
        saved = np.trace(np.linalg.solve(self._seen[rows, columns], self._gain[rows, columns]), axis1=1, axis2=2)
        return (self._before - saved) / self._size


def best_eight(worth: Worth, reach: int, rng: np.random.Generator) -> float:
    """Bound squared of the best eight of a pool."""
    if comb(reach, _EIGHT) <= _ALL_CHOICES:
        every = np.fromiter(combinations(range(reach), _EIGHT), dtype=(int, _EIGHT))
        return min(float(worth.squares(some).min()) for some in np.array_split(every, 1 + len(every) // 2000))
    return min(_exchanged(worth, rng.permutation(reach)[:_EIGHT], reach) for _ in range(_STARTS))


def _exchanged(worth: Worth, chosen: np.ndarray, reach: int) -> float:
    """Bound squared once no exchange of one length makes it smaller."""
    lowest = float(worth.squares(chosen[None])[0])
    while True:
        others = np.setdiff1d(np.arange(reach), chosen)
        swaps = np.array([np.where(np.arange(_EIGHT) == place, other, chosen) for place in range(_EIGHT)
                          for other in others])
        squares = worth.squares(swaps)
        if squares.min() >= lowest - 1e-9:
            return lowest
        chosen, lowest = swaps[int(np.argmin(squares))], float(squares.min())


def run_room(task: tuple[str, int]) -> Tried:
    rng = np.random.default_rng(task[1])
    case = draw(rng, task[0])
    pool = reachable(case)
    before = solve_floor(case.network)
    advised, survey, enough = _as_advised(case, before, pool, rng)
    worth, order = Worth(case, pool), rng.permutation(len(pool))
    lengths = [taken(case, *pool[k], rng) for k in order[:_TWELVE]]
    eight, twelve = (solve_floor(replace(case.network, tapes=(*case.network.tapes, *lengths[:k])), near=before)
                     for k in (_EIGHT, _TWELVE))
    drawn = np.array([rng.permutation(len(pool))[:_TWELVE] for _ in range(_DRAWS)])
    bounds = [float(np.mean(worth.squares(choice))) for choice in (np.array([advised]), drawn[:, :_EIGHT], drawn)]
    best = best_eight(worth, len(pool), rng)
    errors = [simulate.aligned_rms_mm(one.floor.ring(case.names), case.corners)
              for one in (before, survey, eight, twelve)]
    return Tried(before=errors[0], advised=errors[1], eight=errors[2], twelve=errors[3], enough=enough, reach=len(pool),
                 **dict(zip(("advised_bound", "eight_bound", "twelve_bound", "best_bound"),
                            np.sqrt([*bounds, best]).tolist())))


def _as_advised(case: simulate.Case, survey, pool: list[tuple[str, str]], rng: np.random.Generator):
    """(eight lengths by their number in the pool, the survey with them, after how many it called itself good
    enough)."""
    network, chosen, enough = case.network, [], 0
    for _ in range(_EIGHT):
        enough += bool(survey.advice)
        advice = measure_next(survey.floor, network, most=99)
        # A rough floor may advise a length that a wall turns out to block: the next one on the list is taken.
        open_ones = [pair for pair in ((one.a, one.b) for one in advice) if pair in pool]
        if open_ones:
            chosen.append(pool.index(open_ones[0]))
            network = replace(network, tapes=(*network.tapes, taken(case, *open_ones[0], rng)))
            survey = solve_floor(network, near=survey)
    return chosen, survey, enough


def taken(case: simulate.Case, a: str, b: str, rng: np.random.Generator) -> TapeLength:
    at = dict(zip(case.names, case.corners))
    return TapeLength(a=a, b=b, sd_mm=_SD_MM, length_mm=float(np.hypot(*(at[a] - at[b])) + rng.normal(0, _SD_MM)))


def draw(rng: np.random.Generator, kind: str) -> simulate.Case:
    """A survey that few photos and the first wall fix, roughly: of twelve photos those that show all corners, as a
    person would choose."""
    wishes = {"photos": 12, "diagonals": 0}
    while True:
        corners = int(kind.split()[0]) if kind[0].isdigit() else 0
        if corners:
            case = simulate.survey_room(rng, draw_home(rng, corners), kind, **wishes)
        else:
            case = simulate.draw_case(rng, shape=kind if kind == "L" else str(rng.choice(["alcove", "chimney", "bay"])),
                                      **wishes)
        for photos in _PHOTOS:
            few = _chosen(case, photos)
            if few is not None and simulate.is_determined(few, sd_mm=100.0):
                return few


def _chosen(case: simulate.Case, photos: int) -> simulate.Case | None:
    """The case with the photos that show most corners not yet seen and the first tape alone; None if a corner stays
    unseen."""
    seen = {k: {m.point for m in case.network.marks if m.photo == str(k)} for k in range(len(case.rotations))}
    chosen: list[int] = []
    for _ in range(photos):
        shown = set().union(*(seen[k] for k in chosen))
        chosen.append(max((k for k in seen if k not in chosen), key=lambda k: (len(seen[k] - shown), len(seen[k]))))
    if set().union(*(seen[k] for k in chosen)) != set(case.names):
        return None
    kept, full = {str(k): str(new) for new, k in enumerate(chosen)}, case.network
    network = replace(
        full,
        photos=tuple(replace(full.photos[k], name=kept[str(k)]) for k in chosen),
        tapes=full.tapes[:1],
        marks=tuple(replace(m, photo=kept[m.photo]) for m in full.marks if m.photo in kept),
        wall_lines=tuple(replace(w, photo=kept[w.photo]) for w in full.wall_lines if w.photo in kept),
    )
    return replace(case, network=network, rotations=case.rotations[chosen], shifts=case.shifts[chosen],
                   centres=case.centres[chosen])


def reachable(case: simulate.Case) -> list[tuple[str, str]]:
    """Untaped pairs of corners that see each other or are a wall."""
    count = len(case.names)
    return [(case.names[i], case.names[j]) for i, j in combinations(range(count), 2)
            if (i, j) != (0, 1) and ((j - i) % count in (1, count - 1) or simulate.in_sight(case.corners, i, j))]


def report(low: int, high: int, rooms: list[Tried]) -> str:
    """A line for the rooms with so many lengths in reach."""
    pooled = {one.name: f"{np.sqrt(np.mean([getattr(room, one.name)**2 for room in rooms])):.2f}"
              for one in fields(Tried)}
    as_good, could = (sum(getattr(room, name) <= room.twelve_bound for room in rooms)
                      for name in ("advised_bound", "best_bound"))
    return (f"{low + 1} to {high} lengths in reach: {len(rooms)} rooms, before {pooled['before']} mm; came out: eight "
            f"advised {pooled['advised']}, "
            f"twelve random {pooled['twelve']}, eight random {pooled['eight']}; bounds: eight advised "
            f"{pooled['advised_bound']}, "
            f"best eight {pooled['best_bound']}, twelve random {pooled['twelve_bound']}, eight random "
            f"{pooled['eight_bound']}; no worse than "
            f"twelve random (bounds): advised in {as_good}, best eight in {could}; good enough after "
            f"{np.mean([room.enough for room in rooms]):.1f} advised on average")


def main() -> None:
    count, first = (int(v) for v in (sys.argv[1:] + ["20", "0"][len(sys.argv) - 1:])[:2])
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        found = list(pool.map(run_room, [(kind, seed) for kind in KINDS for seed in range(first, first + count)]))
    for low, high in zip(_REACH, _REACH[1:]):
        rooms = [room for room in found if low < room.reach <= high]
        print(report(low, high, rooms) if rooms else f"{low + 1} to {high} lengths in reach: no room")


if __name__ == "__main__":
    main()
