"""How true are close-ups? Drawn photos with known truth, beside the homography of four clicked corners.

``python -m tests.bench.capture.run_closeup [casings] [pipes] [negatives] [first seed]`` prints the tables. *Traced
points*: places on every run of a clicked outline, each by its distance across from the true line, within 120 mm of the
reference; clicks are off by 1.5 px, one standard deviation along each axis, and so are the four corners in the rows
"four clicks". *Baseline*: cv2.findHomography from the same four clicks, no lens, no edges, the clicks of the outline as
they are. *Held*: the share of 95 % intervals that hold the truth. Negatives are pictures without a reference, and with
things that look like one. Not claimed: real cameras, hands or glossy cards; see the demo's renderings and the
photographs of a board in the tests for those.
"""
from __future__ import annotations

import sys
from collections import Counter
from dataclasses import dataclass, field

import cv2
import numpy as np

from capture.closeup.reference_objects import KNOWN, reference_named
from capture.errors import CaptureError
from capture.closeup.reference_detection import find_reference, marked_reference
from capture.closeup.pipe_sizes import match_size
from capture.closeup.accuracy import distance_mm
from capture.closeup.pipe_circle import Ring, fit_ring
from capture.closeup.tracing import Click, fit_circle, onto, trace
from capture.closeup.plane_pose import Z95, View
from tests.support.draw_closeups import CAMERA, Closeup, draw_closeup, draw_negative

CLICK_PX, WITHIN_MM = 1.5, 120.0


@dataclass
class Tally:
    """Errors across, mm, with their claimed standard deviations, of one way of working; kept by photo, whose errors
    belong together."""

    photos: dict[int, list[tuple[float, float]]] = field(default_factory=dict)
    failed: Counter = field(default_factory=Counter)

    def note(self, photo: int, off: float, sd: float = np.nan) -> None:
        self.photos.setdefault(photo, []).append((off, sd))

    def row(self, name: str) -> str:
        noted = np.array([pair for pairs in self.photos.values() for pair in pairs]).reshape(-1, 2)
        if not len(noted):
            return f"| {name} | - | - | - | 0 | 0 | {dict(self.failed) or 0} |"
        off = np.abs(noted[:, 0])
        return (f"| {name} | {np.median(off):.2f} | {np.percentile(off, 95):.2f} | {self.held()} | {len(noted)} | "
                f"{len(self.photos)} "
                f"| {dict(self.failed) or 0} |")

    def held(self) -> str:
        """Share of 95 % intervals that hold the truth, and how well that share is known: photos drawn anew 2,000
        times with replacement."""
        inside = [[sum(abs(off) <= Z95 * sd for off, sd in pairs), len(pairs)] for pairs in self.photos.values()
                  if np.isfinite(pairs[0][1])]
        if not inside:
            return "-"
        counts = np.array(inside)
        drawn = counts[np.random.default_rng(0).integers(0, len(counts), (2000, len(counts)))].sum(axis=1)
        low, high = np.percentile(100 * drawn[:, 0] / drawn[:, 1], [2.5, 97.5])
        return f"{100 * counts[:, 0].sum() / counts[:, 1].sum():.1f} % ({low:.0f} to {high:.0f})"


HEAD = ("| traced points | median, mm | p95, mm | 95 % held (bootstrap) | points | photos | failed |\n| --- | --- | "
        "--- | --- | --- | --- | --- |")


def seen_path(drawn: Closeup) -> list[tuple[np.ndarray, bool]]:
    """Clicked places of the casing, in order, with whether each lies on an arc: from the first edge that is seen to
    the last."""
    ring = drawn.casing
    ahead = np.roll(ring, -1, axis=0) - ring
    out = np.column_stack([ahead[:, 1], -ahead[:, 0]]) / np.maximum(np.hypot(*ahead.T), 1e-9)[:, None]
    toward = drawn.shot.eye[:2] - ring
    seen = np.einsum("ki,ki->k", out, toward) > 0.12 * np.hypot(*toward.T)
    arc = list(drawn.arcs)
    straight = [k for k in range(arc[0]) if seen[k]]
    # The step faces sideways and is hidden from one side: what is traced is then the stretch up to it.
    runs = [k for k in straight if k <= 1] if straight[:1] in ([0], [1]) and 2 not in straight else straight
    path = [(ring[k], False) for k in runs] + ([(ring[runs[-1] + 1], False)] if runs else [])
    if runs and runs[-1] == arc[0] - 1 and all(seen[k] for k in arc):
        path += [(ring[arc[len(arc) // 3]], True), (ring[arc[2 * len(arc) // 3]], True), (ring[arc[-1] + 1], False)]
    return path


def true_runs(path) -> list[np.ndarray]:
    """The true line under each run, fine."""
    runs, start = [], 0
    for k in range(1, len(path)):
        if not path[k][1]:
            part = np.array([place for place, _ in path[start:k + 1]])
            runs.append(_fine(part))
            start = k
    return runs


def _fine(part: np.ndarray) -> np.ndarray:
    if len(part) == 2:
        return part[0] + np.linspace(0, 1, 200)[:, None] * (part[1] - part[0])
    centre, radius = fit_circle(part)
    turn = np.unwrap([np.arctan2(*(place - centre)[::-1]) for place in part])
    at = np.linspace(turn[0], turn[-1], 400)
    return centre + radius * np.column_stack([np.cos(at), np.sin(at)])


def sign_of(corners_px, drawn: Closeup) -> float:
    true = drawn.shot.px(drawn.corners, drawn.thick)
    return 1.0 if np.argmin(np.hypot(*(true - corners_px[0]).T)) == 0 else -1.0


def tally_trace(seed: int, drawn: Closeup, view: View, corners_px, ground, rng, tally: Tally) -> None:
    """Trace the casing and note how far the middle parts of its runs are off."""
    path = seen_path(drawn)
    if len(path) < 2:
        return
    px = drawn.shot.px(np.array([place for place, _ in path])) + rng.normal(0, CLICK_PX, (len(path), 2))
    clicks = [Click(x_px=x, y_px=y, on_arc=on_arc) for (x, y), (_, on_arc) in zip(px, path)]
    try:
        outline = trace(drawn.pixels, view, clicks, click_px=CLICK_PX, ground=ground)
    except CaptureError as error:
        tally.failed[error.slug] += 1
        return
    sign = sign_of(corners_px, drawn)
    for run, true in zip(outline.runs, true_runs(path)):
        for share in (0.15, 0.5, 0.85):
            place = true[int(share * (len(true) - 1))]
            way = true[min(int(share * (len(true) - 1)) + 1, len(true) - 1)] - true[max(int(share * (len(true) - 1))
                                                                                        - 1, 0)]
            normal = np.array([way[1], -way[0]]) / np.hypot(*way)
            here = sign * place
            if distance_mm(view, here[None])[0] > WITHIN_MM:
                continue
            off = float((sign * onto(run, here) - place) @ normal)
            sd = float(np.sqrt(normal @ view.covariance(here[None]) @ normal + run.sd_mm(here) ** 2))
            tally.note(seed, off, sd)


def tally_baseline(seed: int, drawn: Closeup, clicked, rng, tally: Tally) -> None:
    """The same by the homography of four clicks."""
    path = seen_path(drawn)
    if len(path) < 2:
        return
    h, _ = cv2.findHomography(clicked, drawn_nominal(drawn))
    px = drawn.shot.px(np.array([place for place, _ in path])) + rng.normal(0, CLICK_PX, (len(path), 2))
    floor = cv2.perspectiveTransform(px.reshape(-1, 1, 2), h).reshape(-1, 2)
    start = 0
    for k in range(1, len(path)):
        if path[k][1]:
            continue
        (true,), found = true_runs([path[j] for j in (start, *range(start + 1, k + 1))]), floor[start:k + 1]
        line = found[0] + np.linspace(0, 1, 200)[:, None] * (found[-1] - found[0]) if len(found) == 2 else _fine(found)
        for share in (0.15, 0.5, 0.85):
            place = true[int(share * (len(true) - 1))]
            if np.hypot(*np.maximum(np.abs(place) - np.max(np.abs(drawn.corners), axis=0), 0)) <= WITHIN_MM:
                tally.note(seed, float(np.min(np.hypot(*(line - place).T))))
        start = k


def drawn_nominal(drawn: Closeup) -> np.ndarray:
    w, h = np.array(reference_named(drawn.kind).sides_mm) / 2
    return np.array([[-w, -h], [w, -h], [w, h], [-w, h]])


def bench_casings(count: int, first: int) -> None:
    ways: dict[str, Tally] = {}
    missed: Counter = Counter()
    for seed in range(first, first + count):
        drawn = draw_closeup(seed, what="casing")
        rng = np.random.default_rng([seed, 1])
        thing = reference_named(drawn.kind)
        clicked = drawn.shot.px(drawn.corners, drawn.thick) + rng.normal(0, CLICK_PX, (4, 2))
        try:
            found = find_reference(drawn.pixels, CAMERA, KNOWN)
        except CaptureError as error:
            missed[f"{drawn.kind}: {error.slug}"] += 1
        else:
            if found.view.reference.name != drawn.kind:
                missed[f"{drawn.kind} taken as {found.view.reference.name}"] += 1
            else:
                ground = np.median([side.outside for side in found.sides], axis=0)
                for key in (f"found edges, {drawn.kind}", "found edges, all"):
                    tally_trace(seed, drawn, found.view, found.corners_px, ground, np.random.default_rng([seed, 2]),
                                ways.setdefault(key, Tally()))
        try:
            marked = marked_reference(drawn.pixels, CAMERA, thing, clicked, click_px=CLICK_PX)
        except CaptureError as error:
            missed[f"marked {drawn.kind}: {error.slug}"] += 1
        else:
            ground = np.median([side.outside for side in marked.sides], axis=0) if marked.sides else None
            for key in (f"four clicks, {drawn.kind}", "four clicks, all"):
                tally_trace(seed, drawn, marked.view, marked.corners_px, ground, np.random.default_rng([seed, 3]),
                            ways.setdefault(key, Tally()))
        for key in (f"baseline: homography of four clicks, {drawn.kind}", "baseline: homography of four clicks, all"):
            tally_baseline(seed, drawn, clicked, np.random.default_rng([seed, 4]), ways.setdefault(key, Tally()))
    print(HEAD)
    for name in sorted(ways):
        print(ways[name].row(name))
    lost = sum(number for name, number in missed.items() if not name.startswith("marked"))
    print(f"reference found without help: {count - lost} of {count}; not: {dict(missed)}", flush=True)


@dataclass
class PipeTally:
    """What became of the pipes: centres, diameters, and how often the size was right, sure, sure and wrong.

    told: how often the reader ends with the right size: taken as known and right, or not known and among those asked
    about.
    """

    centre: Tally = field(default_factory=Tally)
    diameter: Tally = field(default_factory=Tally)
    far: list[float] = field(default_factory=list)
    right: int = 0
    sure: int = 0
    sure_and_wrong: int = 0
    told: int = 0

    def rows(self, name: str) -> str:
        count = len(self.diameter.photos)
        return (
            self.centre.row(f"pipe centre, each way, {name}")
            + "\n"
            + self.diameter.row(f"pipe diameter, {name}")
            + f"\n\nlikeliest size right {self.right} of {count}, sure {self.sure}, sure and wrong "
              f"{self.sure_and_wrong}; right when asked "
            f"{self.told} of {count}; centre off p95 {np.percentile(self.far, 95) if self.far else np.nan:.2f} mm\n"
        )


def bench_pipes(count: int, first: int) -> None:
    """Centre and diameter, with and without clicks on the straight outlines."""
    ways = {"ring alone": PipeTally(), "straight outlines too": PipeTally()}
    for seed in range(first, first + count):
        drawn = draw_closeup(seed, what="pipe")
        try:
            found = find_reference(drawn.pixels, CAMERA, (reference_named(drawn.kind),))
        except CaptureError as error:
            for tally in ways.values():
                tally.centre.failed[error.slug] += 1
            continue
        for name, tally in ways.items():
            try:
                ring = clicked_ring(drawn, found.view, np.random.default_rng([seed, 5]), name != "ring alone")
            except CaptureError as error:
                tally.centre.failed[error.slug] += 1
                continue
            _note_ring(seed, drawn, sign_of(found.corners_px, drawn), ring, tally)
    for name, tally in ways.items():
        print(HEAD + "\n" + tally.rows(name), flush=True)


def _note_ring(seed: int, drawn: Closeup, sign: float, ring: Ring, tally: PipeTally) -> None:
    x, y, diameter = drawn.pipe
    off = sign * ring.centre_mm - [x, y]
    for axis in (0, 1):
        tally.centre.note(seed, float(off[axis]), float(np.sqrt(ring.cov[axis, axis])))
    tally.far.append(float(np.hypot(*off)))
    tally.diameter.note(seed, ring.diameter_mm - diameter, ring.diameter_sd_mm)
    match = match_size(ring.diameter_mm, ring.diameter_sd_mm)
    is_right = match.best.diameter_mm == diameter
    tally.right += is_right
    tally.sure += match.sure
    tally.sure_and_wrong += match.sure and not is_right
    tally.told += is_right if match.sure else diameter in [size.diameter_mm for size, _ in match.odds]


def clicked_ring(drawn: Closeup, view: View, rng, with_sides: bool) -> Ring:
    """The pipe measured from five clicks on its front and, `with_sides`, two on each straight outline, all off by
    CLICK_PX."""
    x, y, diameter = drawn.pipe
    towards = drawn.shot.eye[:2] - [x, y]
    turn, half = np.arctan2(towards[1], towards[0]), np.arccos(diameter / 2 / np.hypot(*towards))
    angles = turn + np.linspace(-0.95 * half, 0.95 * half, 5)
    px = drawn.shot.px(np.array([x, y]) + diameter / 2
                       * np.column_stack([np.cos(angles), np.sin(angles)])) + rng.normal(0, CLICK_PX, (5, 2))
    sides = []
    for edge in (-half, half):
        rim = np.array([x, y]) + diameter / 2 * np.array([np.cos(turn + edge), np.sin(turn + edge)])
        sides.append(np.array([drawn.shot.px(rim, up)[0] for up in (10.0, 60.0)]) + rng.normal(0, CLICK_PX, (2, 2)))
    return fit_ring(drawn.pixels, view, px, sides_px=sides if with_sides else (), click_px=CLICK_PX)


def bench_negatives(count: int, first: int) -> None:
    """Pictures without a reference: what is taken for one, and whether the answer asks the reader to make sure."""
    taken: Counter = Counter()
    silent, kinds = 0, Counter()
    for seed in range(first, first + count):
        pixels, what = draw_negative(seed)
        kinds[what] += 1
        try:
            found = find_reference(pixels, CAMERA, KNOWN)
        except CaptureError:
            continue
        asks = bool(found.view.reference.alike)
        taken[f"{what} as {found.view.reference.name}{', with the advice to make sure' if asks else ', silently'}"] += 1
        silent += not asks
    print(f"{count} hard negatives ({dict(kinds)}): taken for a reference {sum(taken.values())}, silently {silent}: "
          f"{dict(taken)}", flush=True)


def main() -> None:
    casings, pipes, negatives, first = (int(v) for v in (*sys.argv[1:],
                                                         *("60", "60", "100", "1000")[len(sys.argv) - 1:]))
    bench_casings(casings, first)
    bench_pipes(pipes, first + 5000)
    bench_negatives(negatives, first + 9000)


if __name__ == "__main__":
    main()
