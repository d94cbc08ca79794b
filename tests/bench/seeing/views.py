"""The rooms of the bench from several places each, with truth; and those that need no renderer, drawn by the ray
caster.

``python -m tests.bench.seeing.views DIR [--rooms 12-17]`` draws rooms 12 to 17, all furnished. Other even rooms are
nearly empty, odd ones furnished. Rooms 0 to 11 have lamps in unlikely places and any view; rooms from 18 on are lit as
`lights` says, and each view shows two corners at least, as a person who marks corners would choose it. Rooms 24 to 35
are held out: nothing is chosen or fitted on them.
"""
from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

import cv2
import numpy as np

from tests.bench.seeing import caster
from tests.bench.seeing.lights import lighted
from tests.bench.seeing.rooms import _AWAY, Scene, _camera, _stand, draw_outline, draw_scene, stacked

SIZE, PHOTOS, SEED, ROOMS = (1120, 840), 4, 20260, 36
DRAWN = range(12, 18)
HELD_OUT = range(24, 36)
#: Places along a wall at which its foot is looked for.
_FOOT_SPOTS = 400
#: From here on rooms are lit by windows and lamps where they belong.
_LIGHTED = 18


def room_views(number: int) -> list[Scene]:
    """One room from four places."""
    if number >= _LIGHTED:
        return _lighted_views(number)
    rng = np.random.default_rng([SEED, number])
    ring = draw_outline(rng)
    first = draw_scene(rng, False, furnished=float(number % 2 or number in DRAWN), outline=ring)
    views = [first]
    while len(views) < PHOTOS:
        eye, heading = _stand(rng, ring)
        if any(np.hypot(*(eye[:2] - v["eye"][:2])) < 0.8 for v in views) or _in_a_thing(first, eye):
            eye = eye if rng.random() < 0.1 and not _in_a_thing(first, eye) else None
        if eye is None:
            continue
        camera = _camera(rng, eye, heading, rng.random() < 0.4)
        camera["lens"] = [first["lens"][0], first["lens"][1]]
        views.append(first | {k: np.asarray(v, dtype=np.float32) for k, v in camera.items()})
    return views


def _lighted_views(number: int) -> list[Scene]:
    rng = np.random.default_rng([SEED, number])
    while True:
        ring = draw_outline(rng)
        first = lighted(rng, draw_scene(rng, False, furnished=float(number % 2), outline=ring))
        views: list[Scene] = []
        for _ in range(200):
            eye, heading = _stand(rng, ring)
            camera = _camera(rng, eye, heading, rng.random() < 0.4) | {"lens": first["lens"]}
            view = first | {k: np.asarray(v, dtype=np.float32) for k, v in camera.items()}
            apart = all(np.hypot(*(eye[:2] - v["eye"][:2])) > 0.5 for v in views)
            if apart and not _in_a_thing(first, eye) and len(truth_of(view, _size(view))["corners"]) >= 2:
                views.append(view)
            if len(views) == PHOTOS:
                return views


def _size(scene: Scene) -> tuple[int, int]:
    return SIZE[::-1] if scene["portrait"] > 0 else SIZE


def _in_a_thing(scene: Scene, eye) -> bool:
    for b in scene["boxes"][scene["boxes"][:, 0] < _AWAY]:
        p, q = eye[0] - b[0], eye[1] - b[1]
        if abs(p * b[6] + q * b[7]) < b[3] + 0.25 and abs(q * b[6] - p * b[7]) < b[4] + 0.25:
            return True
    return False


def truth_of(scene: Scene, size: tuple[int, int]) -> dict:
    """What is known of a photo: corners by number, px, seen and inside the picture by 2 px at least."""
    stack = stacked([scene])
    u, v, seen = (a[0] for a in caster.corner_sights(stack, np))
    px = np.stack([u, v], axis=1) * max(size) + (np.array(size) - 1) / 2
    keep = (seen > 0) & np.all((px > 2) & (px < np.array(size) - 3), axis=1)
    return {"size": list(size), "focal_px": float(scene["lens"][0]) * max(size), "k1": float(scene["lens"][1]),
            "rotation": scene["rotation"].tolist(), "eye": scene["eye"].tolist(),
            "corners": [{"number": int(k), "x": float(px[k, 0]), "y": float(px[k, 1]), "convex": bool(seen[k] > 1.5)}
                        for k in np.flatnonzero(keep)],
            "feet": {str(k): spans for k in range(int(stack["count"][0])) if (spans := _foot_seen(scene, size, k))}}


def _foot_seen(scene: Scene, size: tuple[int, int], wall: int) -> list[list[float]]:
    """Stretches (from, to), shares of a wall's length, along which its foot is in the picture, nothing before it."""
    at = (np.arange(_FOOT_SPOTS) + 0.5) / _FOOT_SPOTS
    start, end = scene["walls"][wall, :2], scene["walls"][wall, 2:]
    spots = np.column_stack([start + at[:, None] * (end - start), 0 * at]).astype(np.float32)
    stack = stacked([scene])
    u, v, depth = (a[0] for a in caster.place_on_picture(stack, np, spots[None]))
    px = np.stack([u, v], axis=1) * max(size) + (np.array(size) - 1) / 2
    # A little above the floor and before the wall, so that neither hides its own edge.
    raised = spots + [0.0, 0.0, 0.002] - scene["eye"]
    free = caster.hits(stack, np, tuple(0.997 * raised[None, :, k] for k in range(3)))[0] > 0.9985
    seen = free & (depth > 0.05) & np.all((px > 2) & (px < np.array(size) - 3), axis=1)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], seen.astype(int), [0]])))
    return [[int(low) / _FOOT_SPOTS, int(high) / _FOOT_SPOTS] for low, high in edges.reshape(-1, 2)]


def write_truth(folder: Path) -> None:
    """truth.json of all rooms, for the photos that are there."""
    rooms = []
    for number in range(ROOMS):
        views = room_views(number)
        photos = [{"file": name} | truth_of(scene, _size(scene))
                  for k, scene in enumerate(views) if (folder / (name := f"room{number:02d}-{k}.jpg")).exists()]
        ring = views[0]["walls"][views[0]["walls"][:, 0] < _AWAY][:, :2]
        rooms.append({"room": number, "outline": ring.tolist(), "photos": photos})
    (folder / "truth.json").write_text(json.dumps(rooms))


def main() -> None:
    from tests.bench.seeing.pictures import draw
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--rooms", default="12-17")
    wanted = parser.parse_args()
    first, last = (int(v) for v in wanted.rooms.split("-"))
    for number in range(first, last + 1):
        for k, scene in enumerate(room_views(number)):
            begun = time.monotonic()
            drawn = draw(scene, _size(scene), np.random.default_rng([SEED, number, 2 + k]))
            cv2.imwrite(str(wanted.folder / f"room{number:02d}-{k}.jpg"), drawn.pixels[:, :, ::-1],
                        [cv2.IMWRITE_JPEG_QUALITY, 88])
            print(f"room{number:02d}-{k}: {time.monotonic() - begun:.0f} s", flush=True)
    write_truth(wanted.folder)


if __name__ == "__main__":
    main()
