"""Letters that a photo takes over from others, by geometry: ``python -m tests.bench.seeing.run_known_letters
[ROOMS]``.

True corners and walls' feet of drawn rooms with 1 px of error, 'up' off by 0.5 degree. All that the first photo shows
has letters, one or two of the second. A letter is right that the corner truly has, or where it is new and no photo
before shows it. Baseline: the letters of `same_room`, which asks for three corners in common and takes none as given.
"""
from __future__ import annotations

import sys
from collections import Counter

import numpy as np

from capture.seeing.known_letters import NEW, known_letters
from capture.seeing.proposals import CornerSeen, LineSeen, Proposals
from capture.seeing.same_room import letter_corners
from tests.bench.seeing.rooms import Scene, draw_outline, draw_scene
from tests.bench.seeing.views import truth_of

SIZE = (1600, 1200)
#: A foot that is seen to within this share of its wall's end is seen to its corner.
AT_END = 0.03


def seen_truly(rng: np.random.Generator, scene: Scene) -> tuple[Proposals, list[int]]:
    """What a perfect eye proposes, and the corners' true numbers."""
    told = truth_of(scene, SIZE)
    up = scene["rotation"][:, 2] + rng.normal(0, np.radians(0.5), 3)
    corners = tuple(CornerSeen(x_px=c["x"] + rng.normal(), y_px=c["y"] + rng.normal(), sd_px=1.0, sure=0.9,
                               convex=c["convex"], kind="join") for c in told["corners"])
    numbers = [c["number"] for c in told["corners"]]
    lines = tuple(_line(scene, told["focal_px"], int(wall), span, numbers)
                  for wall, spans in told["feet"].items() for span in spans if span[1] - span[0] > 0.1)
    return Proposals(corners=corners, lines=lines, up=tuple(float(v) for v in up / np.linalg.norm(up)), size_px=SIZE,
                     focal_px=told["focal_px"] * float(np.exp(rng.normal(0, 0.02)))), numbers


def _line(scene: Scene, focal_px: float, wall: int, span: list[float], numbers: list[int]) -> LineSeen:
    walls = scene["walls"]
    spots = walls[wall, :2] + np.array(span)[:, None] * (walls[wall, 2:] - walls[wall, :2])
    body = (np.column_stack([spots, [0.0, 0.0]]) - scene["eye"]) @ scene["rotation"].T
    px = focal_px * body[:, :2] / body[:, 2:] + (np.array(SIZE) - 1) / 2
    count = 1 + max(k for k in range(len(walls)) if np.allclose(walls[k, 2:], walls[0, :2]))
    ends = [wall if span[0] <= AT_END else None, (wall + 1) % count if span[1] >= 1.0 - AT_END else None]
    first, last = (numbers.index(end) if end in numbers else None for end in ends)
    return LineSeen(ends_px=(tuple(px[0]), tuple(px[1])), sure=0.9, corners=(first, last))


def tell(rooms: int, given: int, seed: int = 17) -> Counter[str]:
    """Counts over pairs of photos: how many are laid together, what letters are right, wrong, not told."""
    rng, told = np.random.default_rng([seed, given]), Counter[str]()
    for _ in range(rooms):
        ring = draw_outline(rng)
        (one, a), (other, b) = (seen_truly(rng, draw_scene(rng, False, furnished=0.0, outline=ring)) for _ in range(2))
        shared = [number for number in b if number in a]
        if len(shared) < given or len(b) < given + 1:
            continue
        chosen = rng.permutation(shared)[:given].tolist()
        marks = [_marks(one, a, a), _marks(other, b, chosen)]
        letters = known_letters([one, other], marks)[1]
        plain = letter_corners([one, other])
        names = {letter: number for number, letter in zip(a, plain.points[0]) if letter}
        told["pairs"] += 1
        told["laid"] += any(letter for letter, number in zip(letters, b) if number not in chosen)
        told["baseline laid"] += any(letter in names for letter in plain.points[1])
        for number, letter in zip(b, letters):
            if number not in chosen:
                true = str(number) if number in a else NEW
                told["not told" if letter is None else "right" if letter == true else "wrong"] += 1
    return told


def _marks(found: Proposals, numbers: list[int], chosen: list[int]) -> dict[str, tuple[float, float]]:
    return {str(n): (corner.x_px, corner.y_px) for n, corner in zip(numbers, found.corners) if n in chosen}


def main(rooms: int) -> None:
    for given in (1, 2):
        print(f"{given} of the second photo's corners has its letter: {dict(tell(rooms, given))}", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)
