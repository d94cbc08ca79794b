"""Drawn close-ups with known truth: a sheet, card or target on a floor of boards, a casing or a pipe standing beside
it, photographed.

Everything is painted as polygons projected by `cv2.projectPoints` (the lens's bend included) in light at three times
the picture's size, then averaged, blurred, turned into stored values, given noise and saved as JPEG. Floor frame: mm,
the reference's middle at (0, 0), x along its long side, y across, z up; the wall lies beyond the reference at a line y
= const. Every draw comes from its seed.
"""
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from shapely.geometry import Polygon

from capture.network import Camera

SIZE = (2016, 1512)
#: 26 mm equivalent by the diagonal, as EXIF tells it.
FOCAL_PX = 26.0 * float(np.hypot(*SIZE)) / 43.267
TIMES = 3
#: name: long and short side, spread of a side, radius of the corners, thickness, mm. Spreads are those
#: `capture.closeup.reference_objects` trusts: an interval can be checked only where things are as far off as it is told
#: they may be.
THINGS = {"a4": (297.0, 210.0, 0.4, 0.0, 0.1), "letter": (279.4, 215.9, 0.4, 0.0, 0.1),
          "card": (85.60, 53.98, 0.05, 3.18, 0.76)}
#: Stored colours of cards (the first is paper's too) and of pipes: copper, painted, chromed.
CARDS = np.array([(238, 238, 233), (60, 90, 160), (150, 40, 50), (40, 110, 70)], dtype=float)
PIPES = np.array([(196, 128, 92), (236, 234, 228), (190, 194, 200)], dtype=float)
#: What EXIF and a usual phone tell beforehand.
CAMERA = Camera(name="c", width_px=SIZE[0], height_px=SIZE[1], focal_px=FOCAL_PX, focal_sd=0.05, k1=0.0, k1_sd=0.02,
                k2_sd=0.01)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Shot:
    """A lens over the floor: rotation (3, 3) and shift (3,) as in `capture.camera`, focal length, k1, k2 and centre,
    px."""

    rotation: np.ndarray
    shift: np.ndarray
    focal: float
    bend: tuple[float, float]
    centre: np.ndarray

    @property
    def eye(self) -> np.ndarray:
        return -self.rotation.T @ self.shift

    def px(self, points, height=0.0) -> np.ndarray:
        """(k, 2) true px of floor points (k, 2) at a height, by OpenCV."""
        points = np.reshape(points, (-1, 2))
        matrix = np.array([[self.focal, 0, self.centre[0]], [0, self.focal, self.centre[1]], [0, 0, 1]])
        space = np.column_stack([points, np.full(len(points), height)])
        return cv2.projectPoints(space, cv2.Rodrigues(self.rotation)[0], self.shift, matrix,
                                 np.array([*self.bend, 0, 0]))[0].reshape(-1, 2)

    def patch(self, margin_px=120.0) -> Polygon:
        """The part of the floor the picture shows, and some more; farther out a lens with a bend means nothing."""
        w, h = SIZE[0] + margin_px, SIZE[1] + margin_px
        rim = dense_ring([(-margin_px, -margin_px), (w, -margin_px), (w, h), (-margin_px, h)])
        matrix = np.array([[self.focal, 0, self.centre[0]], [0, self.focal, self.centre[1]], [0, 0, 1]])
        flat = cv2.undistortPoints(rim.reshape(-1, 1, 2), matrix, np.array([*self.bend, 0, 0])).reshape(-1, 2)
        rays = np.column_stack([flat, np.ones(len(flat))]) @ self.rotation
        return Polygon(self.eye[:2] - self.eye[2] * rays[:, :2] / np.minimum(rays[:, 2:], -0.05)).buffer(0)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Closeup:
    """One drawn photo. corners: (4, 2) true corners of the reference (where its edges would meet), anticlockwise from
    above, mm.

    casing: (n, 2) footprint, mm, anticlockwise, and which of its edges (n,) are seen where they meet the floor; or
    None. pipe: (x, y, diameter) or None. wall: y of the wall's floor line.
    """

    pixels: np.ndarray
    shot: Shot
    kind: str
    corners: np.ndarray
    thick: float
    tilt_deg: float
    wall: float
    casing: np.ndarray | None = None
    arcs: tuple[int, ...] = ()
    pipe: tuple[float, float, float] | None = None


def draw_shot(rng, aim, tilt_deg, heading, distance) -> Shot:
    """A camera `distance` from the aimed place, tilted from plumb towards `heading` (the way it looks along the
    floor)."""
    tilt = np.radians(tilt_deg)
    away = np.array([np.cos(heading), np.sin(heading)])
    eye = np.array([*(np.asarray(aim) - distance * np.sin(tilt) * away), distance * np.cos(tilt)])
    forward = (np.array([*aim, 0.0]) - eye) / distance
    up = np.array([*away, 0.0])
    right = np.cross(forward, up)
    right /= np.linalg.norm(right)
    rotation = np.stack([right, np.cross(forward, right), forward])
    roll = rng.normal(0, 0.15)
    rotation = np.array([[np.cos(roll), np.sin(roll), 0], [-np.sin(roll), np.cos(roll), 0], [0, 0, 1]]) @ rotation
    return Shot(rotation=rotation, shift=-rotation @ eye, focal=FOCAL_PX * float(np.exp(rng.normal(0, 0.03))),
                bend=(float(rng.normal(0, 0.02)), float(rng.normal(0, 0.01))),
                centre=(np.array(SIZE) - 1) / 2 + rng.normal(0, 0.005 * SIZE[0], 2))


class Easel:
    """A picture being painted, in light from 0 to 65535, three times the picture's size."""

    def __init__(self, shot: Shot, ground) -> None:
        self.shot, self.patch = shot, shot.patch()
        self.canvas = np.empty((SIZE[1] * TIMES, SIZE[0] * TIMES, 3), dtype=np.uint16)
        self.canvas[0] = as_light(ground)
        self.canvas[1:] = self.canvas[0]  # row by row: colour by colour takes five times as long

    def fill(self, points, colour, height=0.0) -> None:
        """A polygon of the floor or of a plane above it, in a stored colour."""
        shown = Polygon(points).intersection(self.patch)
        for part in getattr(shown, "geoms", [shown]):
            if isinstance(part, Polygon) and part.area > 0:
                self.fill_px(self.shot.px(dense_ring(part.exterior.coords[:-1]), height), colour)

    def fill_px(self, px, colour) -> None:
        fine = np.nan_to_num(((px + 0.5) * TIMES - 0.5) * 256, nan=0.0, posinf=2**30, neginf=-2**30)
        fine = np.clip(np.round(fine), -2**30, 2**30).astype(np.int32)
        cv2.fillPoly(self.canvas, [fine.reshape(-1, 1, 2)], tuple(float(v) for v in as_light(colour)), cv2.LINE_8, 8)

    def stand(self, ring, height, colours) -> None:
        """Upright faces on a ring (n, 2), the farther ones first; colours (n, 3)."""
        ring = np.asarray(ring)
        ahead = np.roll(ring, -1, axis=0)
        far = np.hypot(*((ring + ahead) / 2 - self.shot.eye[:2]).T)
        for k in np.argsort(-far):
            edge = np.array([ring[k], ahead[k]])
            fine = edge[0] + np.linspace(0, 1, 12)[:, None] * (edge[1] - edge[0])
            self.fill_px(np.concatenate([self.shot.px(fine), self.shot.px(fine[::-1], height)]), colours[k])

    def photo(self, rng, blur=0.8, noise=2.5, quality=90) -> np.ndarray:
        """(h, w, 3) the picture as a phone saves it."""
        light = cv2.resize(self.canvas, SIZE, interpolation=cv2.INTER_AREA).astype(np.float32) / 65535
        light = cv2.GaussianBlur(light, (0, 0), blur)
        y, x = np.mgrid[-1:1:SIZE[1] * 1j, -1:1:SIZE[0] * 1j].astype(np.float32)
        light *= (1 - 0.12 * (x**2 + y**2) + rng.normal(0, 0.06) * x + rng.normal(0, 0.06) * y)[..., None]
        grey = 255 * np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.clip(light, 1e-9, None) ** (1 / 2.4)
                              - 0.055)
        grain = cv2.GaussianBlur(rng.normal(0, 1, grey.shape).astype(np.float32), (0, 0), 0.6) * 2.1
        stored = np.clip(np.round(grey + noise * grain), 0, 255).astype(np.uint8)
        return cv2.imdecode(cv2.imencode(".jpg", stored[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, quality])[1],
                            cv2.IMREAD_COLOR)[..., ::-1].copy()


def as_light(colour) -> np.ndarray:
    """Light, 0 to 65535, of a stored colour: IEC 61966-2-1."""
    share = np.asarray(colour, dtype=float) / 255
    return np.round(65535 * np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4))


def dense_ring(points) -> np.ndarray:
    """The ring with its sides cut fine, so that a lens may bend them."""
    points = np.asarray(points, dtype=float)
    ahead = np.roll(points, -1, axis=0)
    shares = [np.linspace(0, 1, int(np.hypot(*(b - a)) / 8) + 2, endpoint=False)[:, None]
              for a, b in zip(points, ahead)]
    return np.concatenate([a + share * (b - a) for share, a, b in zip(shares, points, ahead)])


def rectangle(long, short) -> np.ndarray:
    return np.array([[-long, -short], [long, -short], [long, short], [-long, short]]) / 2


def rounded(long, short, radius) -> np.ndarray:
    """(n, 2) a rectangle with rounded corners, anticlockwise from its lower left corner on."""
    if radius == 0:
        return rectangle(long, short)
    ring = []
    for k, (x, y) in enumerate(rectangle(long - 2 * radius, short - 2 * radius)):
        turn = np.radians(180 + 90 * k) + np.linspace(0, np.pi / 2, 16)
        ring.append(np.column_stack([x + radius * np.cos(turn), y + radius * np.sin(turn)]))
    return np.concatenate(ring)


def lay_floor(rng, easel: Easel, colour) -> None:
    """Boards with dark joints, a little different in shade, and streaks along them."""
    turn = rng.uniform(0, np.pi)
    along, over = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    width, start = rng.uniform(90, 200), rng.uniform(0, 200)
    for k in range(-9, 10):
        low, shade = start + k * width, rng.normal(0, 5)
        easel.fill(_strip(along, over, low, low + width - 1.8), colour + shade)
        for _ in range(14):
            at = low + rng.uniform(0, width - 6)
            easel.fill(_strip(along, over, at, at + rng.uniform(1, 4)), colour + shade + rng.normal(0, 4))
    for _ in range(25):
        at, size = rng.uniform(-500, 500, 2), rng.uniform(1, 4)
        easel.fill(at + size * rectangle(1, 1), colour * rng.uniform(0.4, 1.6))


def _strip(along, over, low, high, reach=1200.0) -> np.ndarray:
    return np.array([-reach * along + low * over, reach * along + low * over, reach * along + high * over,
                     -reach * along + high * over])


def lay_reference(rng, easel: Easel, kind: str, colour, wood) -> tuple[np.ndarray, float]:
    """Lay it with its shadow; (4, 2) its true corners and its thickness."""
    long, short, spread, radius, thick = THINGS[kind]
    long, short = long + rng.normal(0, spread), short + rng.normal(0, spread)
    ring = rounded(long, short, radius)
    shade = rng.uniform(-1, 1, 2) * (0.3 + 0.8 * thick)
    easel.fill(ring + shade, np.asarray(wood) * rng.uniform(0.45, 0.8))
    fine = dense_ring(ring)
    hull = cv2.convexHull(np.concatenate([easel.shot.px(fine), easel.shot.px(fine, thick)]).astype(np.float32)).reshape(
        -1, 2)
    easel.fill_px(hull, np.asarray(colour) * 0.85)
    easel.fill(ring, colour, thick)
    return rectangle(long, short), thick


def casing_ring(rng, wall: float, left: float) -> tuple[np.ndarray, tuple[int, ...]]:
    """(n, 2) footprint of a stepped casing against the wall line y = wall, the room below it, anticlockwise from its
    left foot at the wall, and the numbers of its edges that make its one arc."""
    width, thick = rng.uniform(55, 95), rng.uniform(14, 20)
    nose, step = rng.uniform(10, 20), rng.uniform(3, 6)
    radius = 0.8 * min(rng.uniform(12, 20), thick - step)
    right, front = left + width, wall - thick
    # Down the left face, along the nose, a step up towards the wall, along, and a quarter round up to the right face.
    path = [(left, wall), (left, front), (left + nose, front), (left + nose, front + step),
            (right - radius, front + step)]
    turn = np.linspace(1.5 * np.pi, 2 * np.pi, 13)[1:]
    arc = np.array([right - radius, front + step + radius]) + radius * np.column_stack([np.cos(turn), np.sin(turn)])
    return np.array([*path, *arc, (right, wall)]), tuple(range(len(path) - 1, len(path) - 1 + len(arc)))


def draw_closeup(seed: int, *, what: str = "casing", kind: str = "", tilt_deg: float | None = None,
                 diameter: float | None = None) -> Closeup:
    """A casing or a pipe beside a reference, photographed with up to 35 degrees of tilt, all of it in the picture."""
    rng = np.random.default_rng(seed)
    kind = kind or str(rng.choice(["a4", "letter", "card"]))
    while True:
        drawn = _scene(rng, what, kind, tilt_deg, diameter)
        if drawn is not None:
            return drawn


def _scene(rng, what, kind, tilt_deg, diameter) -> Closeup | None:
    long, short = THINGS[kind][:2]
    size = float(diameter or rng.choice([12, 15, 16, 18, 22, 28]))
    wall = short / 2 + rng.uniform(30, 70) + (size if what == "pipe" else 0.0)
    tilt = float(rng.uniform(3, 35)) if tilt_deg is None else tilt_deg
    aim = np.array([rng.uniform(-0.15, 0.15) * long, short / 4 + 20.0])
    shot = draw_shot(rng, aim, tilt, np.pi / 2 + rng.normal(0, 0.5),
                     rng.uniform(400, 600) if kind == "card" else rng.uniform(520, 760))
    rim = shot.px(rectangle(long, short))
    if np.any(rim < 25) or np.any(rim > np.array(SIZE) - 26):
        return None
    wood = np.array([rng.uniform(120, 175), rng.uniform(85, 130), rng.uniform(55, 95)])
    easel = Easel(shot, wood * 0.9)
    lay_floor(rng, easel, wood)
    easel.fill([(-1500, wall), (1500, wall), (1500, wall + 900), (-1500, wall + 900)], (205, 204, 198))
    casing, arcs, pipe = None, (), None
    if what == "casing":
        casing, arcs = casing_ring(rng, wall, rng.uniform(-0.4, 0.3) * long)
        faces = np.roll(casing, -1, axis=0) - casing
        shade = 226 - 26 * (faces[:, 1] / np.maximum(np.hypot(*faces.T), 1e-9))
        easel.stand(casing, 160.0, np.stack([shade, shade - 1, shade - 6], axis=1).clip(0, 250))
    elif what == "pipe":
        at = np.array([rng.uniform(-0.35, 0.35) * long,
                       rng.uniform(short / 2 + 10.0 + size / 2, wall - 10.0 - size / 2)])
        pipe = (*at, size)
        turn = np.linspace(0, 2 * np.pi, 72, endpoint=False)
        metal = PIPES[rng.choice(len(PIPES))]
        shades = np.stack([metal * (0.8 + 0.25 * np.cos(2 * t + 0.4)) for t in turn]).clip(0, 255)
        easel.stand(at + size / 2 * np.stack([np.cos(turn), np.sin(turn)], axis=1), 140.0, shades)
    colour = CARDS[rng.choice(len(CARDS))] if kind == "card" else CARDS[0]
    corners, thick = lay_reference(rng, easel, kind, colour, wood)
    pixels = easel.photo(rng, blur=rng.uniform(0.6, 1.3), noise=rng.uniform(1.5, 3.5),
                         quality=int(rng.integers(85, 95)))
    return Closeup(pixels=pixels, shot=shot, kind=kind, corners=corners, thick=thick, tilt_deg=tilt, wall=wall,
                   casing=casing, arcs=arcs, pipe=pipe)


#: Things that look like a reference and are none: long and short side, mm, colours, printed or not.
NEGATIVES = {"book": ((130, 200), (150, 210), (170, 240), (110, 178)), "phone": ((146, 71), (160, 75), (138, 67)),
             "tile": ((200, 200), (300, 150), (330, 330)), "A5 sheet": ((210, 148),), "A3 sheet": ((420, 297),),
             "photo print": ((150, 100), (178, 127)), "envelope": ((220, 110), (229, 162)),
             "note": ((76, 76), (127, 76)), "parquet": ((0, 0),), "bare floor": ((0, 0),),}


def draw_negative(seed: int) -> tuple[np.ndarray, str]:
    """A picture without a reference, and what lies there instead."""
    rng = np.random.default_rng(seed)
    what = list(NEGATIVES)[seed % len(NEGATIVES)]
    short, long = sorted(NEGATIVES[what][rng.choice(len(NEGATIVES[what]))])
    while True:
        distance = rng.uniform(500, 800) * max(1.0, long / 300)
        shot = draw_shot(rng, rng.uniform(-20, 20, 2), float(rng.uniform(3, 35)), rng.uniform(0, 2 * np.pi), distance)
        rim = shot.px(rectangle(long, short))
        if np.all(rim >= 20) and np.all(rim <= np.array(SIZE) - 21):
            break
    wood = np.array([rng.uniform(120, 175), rng.uniform(85, 130), rng.uniform(55, 95)])
    easel = Easel(shot, wood * 0.9)
    if what == "parquet":
        _lay_parquet(rng, easel, wood)
    else:
        lay_floor(rng, easel, wood)
    if long:
        _lay_thing(rng, easel, what, long, short, wood)
    return easel.photo(rng, blur=rng.uniform(0.6, 1.3), noise=rng.uniform(1.5, 3.5),
                       quality=int(rng.integers(85, 95))), what


def _lay_thing(rng, easel: Easel, what: str, long: float, short: float, wood) -> None:
    """One thing with what is printed on it; sheets and notes are plain paper."""
    paper = np.array([(238, 238, 233), (240, 236, 222)][rng.choice(2)], dtype=float)
    plain = what in ("A5 sheet", "A3 sheet", "envelope")
    colour = {"phone": np.full(3, rng.uniform(12, 40)), "note": np.array([245, 225, 110.0]),
              "tile": np.full(3, rng.uniform(170, 225))}.get(what, paper if plain
                                                             or rng.random() < 0.3 else rng.uniform(30, 220, 3))
    thick = {"book": 20.0, "phone": 8.0, "tile": 9.0}.get(what, 0.1)
    ring = rounded(long, short, 9.0 if what == "phone" else 0.0)
    easel.fill(ring + rng.uniform(-1, 1, 2) * 0.5, wood * 0.6)
    easel.stand(ring, thick, np.tile(colour * 0.8, (len(ring), 1)))
    easel.fill(ring, colour, thick)
    if not plain and what not in ("note", "tile"):
        for _ in range(6):
            size, at = rng.uniform(0.1, 0.5, 2), rng.uniform(-0.25, 0.25, 2)
            easel.fill((rectangle(1, 1) * size + at) * [long, short], rng.uniform(20, 240, 3), thick)


def _lay_parquet(rng, easel: Easel, wood) -> None:
    """Blocks in a basket pattern: every block a rectangle of its own shade."""
    turn = rng.uniform(0, np.pi)
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    width, count = rng.uniform(40, 70), int(rng.integers(2, 5))
    side = width * count
    for i in range(-8, 9):
        for j in range(-8, 9):
            for k in range(count):
                block = rectangle(side - 1.0, width - 1.0) + [0.0, (k - (count - 1) / 2) * width]
                block = block[:, ::-1] if (i + j) % 2 else block
                easel.fill((block + np.array([i, j]) * side) @ spin.T, wood * rng.uniform(0.75, 1.25))
