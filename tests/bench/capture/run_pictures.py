"""Real photographs: every pair of the calibration pictures left01.jpg ... left14.jpg of the Debian package opencv-doc.

``python -m tests.bench.capture.run_pictures [room ...]``. Inner corners of the board stand for the corners of a room,
500 mm a square; its walls alone are typed, the lens is all but unknown (focal length to 15 %, k1 to 0.3, k2 to 0.1,
axis to 3 % of the picture). Beside the RMS error stands the one claimed: no method that knows no more can do better on
average. Truth: the board's own geometry.
"""
from __future__ import annotations

import os
import sys
from concurrent.futures import ProcessPoolExecutor
from functools import cache, partial
from itertools import combinations
from pathlib import Path

import cv2
import numpy as np

from capture.adjustment.network_design import corner_sd_mm
from capture.network import Camera, Mark, Network, Photo, TapeLength
from capture.solve import solve_floor
from tests.support.simulate import aligned_rms_mm

_FOLDER, _SQUARE_MM = Path("/usr/share/doc/opencv-doc/examples/data"), 500.0
#: Corners as (column, row) of the board, in order round the room.
ROOMS = {
    "rectangle": ((0, 0), (8, 0), (8, 5), (0, 5)),
    "L": ((0, 0), (8, 0), (8, 3), (5, 3), (5, 5), (0, 5)),
    "T": ((0, 0), (8, 0), (8, 2), (5, 2), (5, 5), (2, 5), (2, 2), (0, 2)),
    "chimney breast": ((0, 0), (8, 0), (8, 5), (5, 5), (5, 3), (3, 3), (3, 5), (0, 5)),
    "U": ((0, 0), (3, 0), (3, 3), (5, 3), (5, 0), (8, 0), (8, 5), (0, 5)),
    "cross": ((2, 0), (6, 0), (6, 2), (8, 2), (8, 4), (6, 4), (6, 5), (2, 5), (2, 4), (0, 4), (0, 2), (2, 2)),
}
#: Picture 10 does not exist.
_PICTURES = [f"{k:02d}" for k in range(1, 15) if k != 10]


@cache
def corners(name: str) -> np.ndarray:
    """(6, 9, 2) px of the board's inner corners, found by OpenCV."""
    picture = cv2.imread(str(_FOLDER / f"left{name}.jpg"), cv2.IMREAD_GRAYSCALE)
    _, found = cv2.findChessboardCorners(picture, (9, 6), None)
    fine = cv2.cornerSubPix(picture, found, (5, 5), (-1, -1),
                            (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 40, 1e-3))
    return fine.reshape(6, 9, 2).astype(float)


def survey(room: str, pair: tuple[str, str]) -> tuple[float, float, list[bool]]:
    """RMS corner error and the claimed one, mm; which of the intervals between any two corners hold."""
    spots = dict(zip("ABCDEFGHIJKL", ROOMS[room]))
    names = tuple(spots)
    # The board's columns run right and its rows down: plan y is minus the row.
    truth = {name: np.array((c * _SQUARE_MM, -r * _SQUARE_MM)) for name, (c, r) in spots.items()}
    far = {(a, b): float(np.hypot(*(truth[a] - truth[b]))) for a in names for b in names}
    marks = tuple(Mark(photo=name, point=point, x_px=corners(name)[r, c][0], y_px=corners(name)[r, c][1], sd_px=0.25)
                  for name in pair for point, (c, r) in spots.items())
    lens = Camera(name="lens", width_px=640, height_px=480, focal_px=480.0, focal_sd=0.15, k1=0.0, k1_sd=0.3, k2_sd=0.1,
                  centre_sd=0.03)
    walls = tuple(TapeLength(a=a, b=b, length_mm=far[a, b], sd_mm=2.0) for a, b in zip(names, names[1:] + names[:1]))
    photos = tuple(Photo(name=name, camera="lens") for name in pair)
    floor = solve_floor(Network(outline=names, cameras=(lens,), photos=photos, marks=marks, tapes=walls)).floor
    lengths = [(floor.length(a, b), far[a, b]) for a, b in combinations(names, 2)]
    return (aligned_rms_mm(floor.ring(names), np.array([truth[name] for name in names])), corner_sd_mm(floor) * 2**0.5,
            [abs(x.length_mm - mm) <= x.pm95_mm for x, mm in lengths])


def main() -> None:
    for room in sys.argv[1:] or ROOMS:
        with ProcessPoolExecutor(os.cpu_count()) as pool:
            found = list(pool.map(partial(survey, room), combinations(_PICTURES, 2)))
        rms, claimed = np.array([r for r, _, _ in found]), np.array([c for _, c, _ in found])
        print(f"{room}: {len(found)} pairs, pooled RMS {np.sqrt(np.mean(rms**2)):.2f} mm (claimed "
              f"{np.sqrt(np.mean(claimed**2)):.2f}), "
              f"median {np.median(rms):.2f}, under 5 mm {100 * np.mean(rms < 5.0):.0f} %, worst {rms.max():.1f} "
              f"(claimed {claimed[rms.argmax()]:.1f}); "
              f"95 % intervals hold {100 * np.mean([h for _, _, held in found for h in held]):.1f} %", flush=True)


if __name__ == "__main__":
    main()
