"""Corners and floor lines proposed from photos, beside the truth: ``python -m tests.bench.capture.run_look ROOMS
[--held-out] [--fit]``.

ROOMS: the folder tests/bench/seeing/render_rooms.py and views.py wrote. The demo and rooms 0 to 23 are for building;
``--held-out`` takes rooms 24 to 35, which nothing was chosen or fitted on. A corner is found if a proposal
lies within 12 px of it in a picture 1600 px long. A proposal that is near no visible corner is false. A floor line is
right if all of it lies within 6 px of one wall's foot.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Container
from dataclasses import dataclass, field, replace
from itertools import combinations
from pathlib import Path

import cv2
import numpy as np
from shapely import LineString, Polygon

from capture.seeing.places import PlaceFinder
from capture.seeing.proposals import CornerSeen, LineSeen, Proposals, propose
from capture.seeing.same_room import letter_corners
from capture.seeing.segmentation import Segmenter
from tests.bench.capture.look_taps import fitted_taps, tap_all, tell_taps
from tests.bench.capture.look_ways import tell_ways
from tests.bench.seeing.rooms import Scene, draw_outline, draw_scene
from tests.bench.seeing.views import DRAWN, HELD_OUT, ROOMS, truth_of

ROOT = Path(__file__).parents[3]
HIT_PX, LINE_PX, LEAST_LINE_PX = 12.0, 6.0, 40.0


@dataclass(frozen=True, kw_only=True)
class Photo:
    """One photo with truth: px of visible corners by name, its camera, the room's outline (mm)."""

    path: Path
    room: str
    furnished: bool
    told_focal_px: float
    focal_px: float
    k1: float
    rotation: np.ndarray
    shift: np.ndarray
    size: tuple[int, int]
    corners: dict[str, tuple[float, float]]
    convex: dict[str, bool]
    outline: np.ndarray
    names: list[str] = field(default_factory=list)
    feet: dict[int, list[tuple[float, float]]] = field(default_factory=dict)

    def project(self, points: np.ndarray) -> np.ndarray:
        """(k, 2) px of plan points (k, 2), mm; NaN behind the camera."""
        body = np.column_stack([points, np.zeros(len(points))]) @ self.rotation.T + self.shift
        flat = body[:, :2] / np.where(body[:, 2:] > 50, body[:, 2:], np.nan)
        r2 = np.sum(flat**2, axis=1, keepdims=True)
        return self.focal_px * flat * (1 + self.k1 * r2) + (np.array(self.size) - 1) / 2


def demo_photos() -> list[Photo]:
    truth = json.loads((ROOT / "demo_photos" / "truth.json").read_text())
    names = list(truth["corners"])
    outline = np.array([truth["corners"][n] for n in names])
    convex = _convex(names, outline)
    photos = [
        Photo(
            path=ROOT / "demo_photos" / p["file"],
            room="demo",
            furnished=False,
            told_focal_px=1201.8,
            focal_px=p["focal_px"],
            k1=p["k1"],
            rotation=np.array(p["rotation"]),
            shift=np.array(p["shift"]),
            size=tuple(p["size"]),
            corners={n: tuple(c) for n, c in p["points"].items() if n in names},
            convex=convex,
            outline=outline,
            names=names,
        )
        for p in truth["photos"]
        if "room" in p["file"]
    ]
    return [replace(photo, feet=_seen_past_walls(photo)) for photo in photos]


def _convex(names: list[str], outline: np.ndarray) -> dict[str, bool]:
    before, after = outline - np.roll(outline, 1, axis=0), np.roll(outline, -1, axis=0) - outline
    turn = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return {name: bool(t < 0) for name, t in zip(names, turn)}


def drawn_photos(folder: Path, rooms: Container[int]) -> list[Photo]:
    photos = []
    for entry in json.loads((folder / "truth.json").read_text()):
        if entry["room"] not in rooms:
            continue
        outline = np.array(entry["outline"]) * 1000
        names = [f"{k}" for k in range(len(outline))]
        for p in entry["photos"]:
            rotation, eye = np.array(p["rotation"]), np.array(p["eye"]) * 1000
            photos.append(
                Photo(
                    path=folder / p["file"],
                    room=f"{entry['room']:02d}",
                    furnished=bool(entry["room"] % 2 or entry["room"] in DRAWN),
                    told_focal_px=p["focal_px"],
                    focal_px=p["focal_px"],
                    k1=p["k1"],
                    rotation=rotation,
                    shift=-rotation @ eye,
                    size=tuple(p["size"]),
                    convex=_convex(names, outline),
                    outline=outline,
                    names=names,
                    corners={str(c["number"]): (c["x"], c["y"]) for c in p["corners"]},
                    feet={int(k): [(low, high) for low, high in spans] for k, spans in p["feet"].items()},
                )
            )
    return photos


@dataclass(kw_only=True)
class Looked:
    photo: Photo
    found: Proposals
    seconds: float

    @property
    def scale(self) -> float:
        return 1600 / max(self.photo.size)

    def judged(self) -> list[tuple[CornerSeen, str | None, float]]:
        """Each corner proposed, the visible corner it is (or None), and its distance, px of 1600; each true corner
        is given once."""
        free = dict(self.photo.corners)
        out = []
        for corner in sorted(self.found.corners, key=lambda c: -c.sure):
            off = {n: float(np.hypot(corner.x_px - x, corner.y_px - y)) * self.scale for n, (x, y) in free.items()}
            best = min(off, key=off.get, default=None)  # type: ignore[arg-type]
            hit = best is not None and off[best] <= HIT_PX
            out.append((corner, best if hit else None, off[best] if best is not None else np.inf))
            if hit:
                free.pop(best)
        return out

    def judged_lines(self) -> list[tuple[LineSeen, int | None]]:
        """Each line proposed and the wall it is, or None."""
        ring = self.photo.outline
        out = []
        for line in self.found.lines:
            ends = np.array(line.ends_px)
            spots = ends[0] + np.linspace(0, 1, 12)[:, None] * (ends[1] - ends[0])
            mine = None
            for k in range(len(ring)):
                wall = self.photo.project(ring[k] + np.linspace(0, 1, 1500)[:, None]
                                          * (ring[(k + 1) % len(ring)] - ring[k]))
                wall = wall[np.isfinite(wall).all(axis=1)]
                if len(wall) and max(np.min(np.hypot(*(wall - s).T)) for s in spots) * self.scale <= LINE_PX:
                    mine = k
            out.append((line, mine))
        return out


def look(photos: list[Photo], segmenter: Segmenter, finder: PlaceFinder, least: float,
         with_k1: bool = False) -> list[Looked]:
    looked = []
    for photo in photos:
        pixels = cv2.imread(str(photo.path))[:, :, ::-1]
        begun = time.process_time()
        found = propose(np.ascontiguousarray(pixels), segmenter, finder, focal_px=photo.told_focal_px,
                        k1=photo.k1 if with_k1 else 0.0, least_sure=least)
        looked.append(Looked(photo=photo, found=found, seconds=time.process_time() - begun))
    return looked


def tell(looked: list[Looked], name: str, sure: float) -> None:
    """One row of figures."""
    judged = [(c, n, off) for one in looked for c, n, off in one.judged()]
    taken = [(c, n, off) for c, n, off in judged if c.sure >= sure]
    count = sum(len(one.photo.corners) for one in looked)
    hits = [(c, off, one) for one in looked for c, n, off in one.judged() if c.sure >= sure and n]
    offs = np.array([off for _, off, _ in hits] or [np.nan])
    lines = [(line, wall) for one in looked for line, wall in one.judged_lines() if line.sure >= sure]
    seen = sum(len(_walls_seen(one.photo)) for one in looked)
    found = sum(len({w for line, w in one.judged_lines() if w is not None
                     and line.sure >= sure} & _walls_seen(one.photo)) for one in looked)
    wrong = sum(w is None for _, w in lines)
    print(
        f"{name:28s} {len(looked):3d} photos  corners {len(hits)}/{count} = {100 * len(hits) / max(count, 1):.0f} %"
        f"  false {(len(taken) - len(hits)) / len(looked):.2f} a photo"
        f"  off median {np.median(offs):.2f}, 90 % {np.percentile(offs, 90):.2f} px  lines {found}/{seen} = "
        f"{100 * found / max(seen, 1):.0f} %"
        f"  wrong {wrong}/{len(lines)}"
    )


def tell_spread(looked: list[Looked], sure: float = 0.5) -> None:
    """Errors over stated sd, a coordinate, by what was stated; 1 where the sd holds."""
    pairs = np.array([(off / (c.sd_px * one.scale) / 2**0.5, c.sd_px * one.scale) for one in looked
                      for c, n, off in one.judged() if n and c.sure >= sure])
    for low, high in ((0.0, 0.7), (0.7, 1.2), (1.2, 99.0), (0.0, 99.0)):
        z = pairs[(pairs[:, 1] >= low) & (pairs[:, 1] < high), 0]
        if len(z):
            print(f"z of sd {low} to {high} px: rms {np.sqrt(np.mean(np.square(z))):.2f}, median/0.83 "
                  f"{np.median(z) * 2**0.5 / 1.177:.2f} of {len(z)}")


def _corner_of(one: Looked) -> dict[int, str | None]:
    """The corner each proposal is, by its id; one that hides behind an edge counts where a proposal lies on it."""
    names = {id(corner): name for corner, name, _ in one.judged()}
    rest = {name: at for name, at in zip(one.photo.names, one.photo.project(one.photo.outline))
            if name not in names.values()}
    for corner in one.found.corners:
        off = {name: float(np.hypot(corner.x_px - x, corner.y_px - y)) * one.scale for name, (x, y) in rest.items()}
        near = [name for name in sorted(off, key=off.get) if off[name] <= HIT_PX]  # type: ignore[arg-type]
        if names[id(corner)] is None and near:
            names[id(corner)] = near[0]
            rest.pop(near[0])
    return names


def tell_letters(looked: list[Looked]) -> None:
    """Pairs of photos of one room, no targets: corners that get one letter in both and are one, or are not."""
    right = wrong = filled = could = pairs = 0
    for room in sorted({one.photo.room for one in looked}):
        for a, b in combinations([one for one in looked if one.photo.room == room], 2):
            pairs += 1
            truth = [_corner_of(one) for one in (a, b)]
            shared = {n for n in truth[0].values() if n} & {n for n in truth[1].values() if n}
            letters = letter_corners([a.found, b.found])
            named = [
                {letter: truth[k][id(c)] for c, letter in zip(one.found.corners, letters.points[k]) if letter}
                for k, one in enumerate((a, b))
            ]
            both = set(named[0]) & set(named[1])
            right += sum(named[0][x] is not None and named[0][x] == named[1][x] for x in both)
            wrong += sum(named[0][x] != named[1][x] for x in both)
            could += len(shared) >= 3
            filled += len(shared) >= 3 and bool(both)
    print(
        f"letters: {pairs} pairs of photos, {right} shared letters right"
        f", {wrong} wrong; filled in {filled} of the {could} pairs that share three found corners"
    )


def tell_letters_of_truth(pairs: int, seed: int = 11) -> None:
    """Letters by geometry alone: true corners of drawn rooms with 1 px of error, 'up' off by 0.5 degree, from pairs of
    places that share three corners or more."""
    rng = np.random.default_rng(seed)
    done = filled = right = wrong = 0
    while done < pairs:
        ring = draw_outline(rng)
        shown = [_true_proposals(rng, draw_scene(rng, False, furnished=0.0, outline=ring)) for _ in range(4)]
        for (one, a), (other, b) in combinations(shown, 2):
            shared = len(set(a) & set(b))
            if shared < 3 or done >= pairs:
                continue
            done += 1
            letters = letter_corners([one, other])
            named = [dict(zip(points, numbers)) for points, numbers in zip(letters.points, (a, b))]
            both = (set(named[0]) & set(named[1])) - {None}
            filled += bool(both)
            right += sum(named[0][x] == named[1][x] for x in both)
            wrong += sum(named[0][x] != named[1][x] for x in both)
    print(f"letters by geometry: {done} pairs that share three corners or more, filled in {filled}; {right} right, "
          f"{wrong} wrong")


def _true_proposals(rng: np.random.Generator, scene: Scene) -> tuple[Proposals, list[int]]:
    told = truth_of(scene, (1600, 1200))
    up = scene["rotation"][:, 2] + rng.normal(0, np.radians(0.5), 3)
    corners = tuple(CornerSeen(x_px=c["x"] + rng.normal(), y_px=c["y"] + rng.normal(), sd_px=1.0, sure=0.9,
                               convex=c["convex"], kind="join") for c in told["corners"])
    found = Proposals(
        corners=corners,
        up=tuple(float(v) for v in up / np.linalg.norm(up)),
        focal_px=told["focal_px"] * float(np.exp(rng.normal(0, 0.02))),  # type: ignore[arg-type]
        size_px=(1600, 1200),
    )
    return found, [c["number"] for c in told["corners"]]


def _walls_seen(photo: Photo) -> set[int]:
    """Walls whose foot is in sight for 40 px of 1600 on end, with neither furniture nor another wall before it."""
    return {k for k, spans in photo.feet.items() if any(_length_px(photo, k, span) >= LEAST_LINE_PX for span in spans)}


def _length_px(photo: Photo, wall: int, span: tuple[float, float]) -> float:
    """How long a stretch of a wall's foot is in the picture, px of 1600."""
    start, end = photo.outline[wall], photo.outline[(wall + 1) % len(photo.outline)]
    ends = photo.project(start + np.array(span)[:, None] * (end - start))
    return float(np.hypot(*(ends[1] - ends[0]))) * 1600 / max(photo.size)


def _seen_past_walls(photo: Photo) -> dict[int, list[tuple[float, float]]]:
    """Stretches of each wall's foot that lie inside the picture with no other wall before them; for an empty room."""
    ring, at, feet = photo.outline, (np.arange(400) + 0.5) / 400, {}
    room, eye = Polygon(ring).buffer(1.0), -photo.rotation.T @ photo.shift
    for k in range(len(ring)):
        spots = ring[k] + at[:, None] * (ring[(k + 1) % len(ring)] - ring[k])
        px = photo.project(spots)
        seen = np.isfinite(px).all(axis=1) & np.all((px > 2) & (px < np.array(photo.size) - 3), axis=1)
        seen &= np.array([room.covers(LineString([eye[:2], spot])) for spot in spots])
        edges = np.flatnonzero(np.diff(np.concatenate([[0], seen.astype(int), [0]]))).reshape(-1, 2)
        feet[k] = [(low / len(at), high / len(at)) for low, high in edges.tolist()]
    return feet


def fitted(rows: list[tuple[tuple[float, ...], bool]], ridge: float = 0.5) -> np.ndarray:
    """Weights of a logistic regression, by Newton's method with a ridge on all but the constant."""
    x, y = np.array([r[0] for r in rows]), np.array([float(r[1]) for r in rows])
    w, keep = np.zeros(x.shape[1]), ridge * np.eye(x.shape[1])
    keep[0, 0] = 1e-3
    for _ in range(30):
        p = 1 / (1 + np.exp(-x @ w))
        w = w - np.linalg.solve((x * (p * (1 - p))[:, None]).T @ x + keep, x.T @ (p - y) + keep @ w)
    return w


def calibration(pairs: list[tuple[float, bool]]) -> str:
    """How often proposals were right, by how sure they said they were."""
    out = []
    for low, high in ((0.25, 0.5), (0.5, 0.7), (0.7, 0.85), (0.85, 0.95), (0.95, 1.01)):
        inside = [(s, r) for s, r in pairs if low <= s < high]
        if inside:
            out.append(
                f"{low:.2f}-{min(high, 1):.2f}: said {np.mean([s for s, _ in inside]):.2f}, "
                f"right {np.mean([r for _, r in inside]):.2f} of {len(inside)}"
            )
    return "; ".join(out)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("rooms", type=Path)
    parser.add_argument("--weights", type=Path, default=ROOT / "desk" / "floor_corners.onnx")
    parser.add_argument("--places", type=Path, default=ROOT / "desk" / "corner_places.onnx")
    parser.add_argument("--held-out", action="store_true")
    parser.add_argument("--fit", action="store_true")
    parser.add_argument("--k1", action="store_true", help="the lens's bending is known")
    wanted = parser.parse_args()
    segmenter = Segmenter(wanted.weights.read_bytes())
    finder = PlaceFinder(wanted.places.read_bytes())
    photos = (
        drawn_photos(wanted.rooms, HELD_OUT)
        if wanted.held_out
        else demo_photos() + drawn_photos(wanted.rooms, set(range(ROOMS)) - set(HELD_OUT))
    )
    looked = look(photos, segmenter, finder, 0.0 if wanted.fit else 0.25, wanted.k1)
    if wanted.fit:
        corners = [(c.features, n is not None) for one in looked for c, n, _ in one.judged()]
        lines = [(line.features, w is not None) for one in looked for line, w in one.judged_lines()]
        print("CORNER_WEIGHTS =", tuple(round(float(v), 2) for v in fitted(corners)), len(corners))
        print("LINE_WEIGHTS =", tuple(round(float(v), 2) for v in fitted(lines)), len(lines))
    for sure in (0.25, 0.5, 0.7, 0.85):
        for name, group in (
            ("nearly empty", [o for o in looked if not o.photo.furnished and o.photo.room != "demo"]),
            ("furnished", [o for o in looked if o.photo.furnished]),
            ("demo", [o for o in looked if o.photo.room == "demo"]),
        ):
            if group:
                tell(group, f"{name}, sure >= {sure}", sure)
    print("corners:", calibration([(c.sure, n is not None) for one in looked for c, n, _ in one.judged()]))
    print("lines:", calibration([(line.sure, w is not None) for one in looked for line, w in one.judged_lines()]))
    print(f"CPU a photo: median {np.median([o.seconds for o in looked]):.2f} s, most "
          f"{max(o.seconds for o in looked):.2f}")
    tell_spread(looked)
    tell_ways(looked, segmenter, finder)
    tapped = tap_all(looked, segmenter, finder)
    if wanted.fit:
        print("TAP_WEIGHTS =", tuple(round(float(v), 2) for v in fitted_taps(tapped)), len(tapped))
    tell_taps(tapped)
    tell_letters(looked)
    tell_letters_of_truth(200)


if __name__ == "__main__":
    main()
