"""Random furnished rooms and a phone held in them, as plain numbers for the ray caster. All invented; the same seed,
the same room.

A scene is a dict of float32 arrays of fixed shapes, padded, so that scenes of one picture format can be stacked.
Metres; x right and y up in plan, z up from the floor; outlines anticlockwise. Colours are linear light, 0 to 1. Field
by field: see `draw_scene`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Scene = dict[str, NDArray[np.float32]]
Rng = np.random.Generator

WALLS, DECALS, BOXES, TINS, RUGS = 14, 18, 22, 3, 5
#: Where padding lies: far away, of no size.
_AWAY = 1e4
#: What a decal is.
PAINT, OPENING, GLOW = 0.0, 1.0, 2.0


def draw_outline(rng: Rng) -> NDArray[np.float64]:
    """(k, 2) corners of a room of 1.8 to 7 m, corners a few cm out of true."""
    w, h = rng.uniform(1.8, 6.5), rng.uniform(2.0, 6.5)
    kind = rng.choice(["rectangle", "ell", "breast", "breast", "alcove", "slant", "ewe", "two"],
                      p=[0.2, 0.17, 0.17, 0.1, 0.1, 0.08, 0.08, 0.1])
    a, b = w * rng.uniform(0.12, 0.45), w * rng.uniform(0.55, 0.88)
    d = rng.uniform(0.12, 0.75)
    ring = {
        "rectangle": [(0, 0), (w, 0), (w, h), (0, h)],
        "ell": [(0, 0), (w, 0), (w, h * rng.uniform(0.3, 0.7)), (a + 0.3, 0), (a + 0.3, h), (0, h)],
        "breast": [(0, 0), (w, 0), (w, h), (b, h), (b, h - d), (a, h - d), (a, h), (0, h)],
        "alcove": [(0, 0), (w, 0), (w, h), (b, h), (b, h + d), (a, h + d), (a, h), (0, h)],
        "slant": [(0, 0), (w, 0), (w, h * rng.uniform(0.4, 0.8)), (w * rng.uniform(0.4, 0.8), h), (0, h)],
        "ewe": [(0, 0), (w, 0), (w, h), (b, h), (b, h * 0.5), (a, h * 0.5), (a, h), (0, h)],
        "two": [
            (0, 0),
            (w, 0),
            (w, h),
            (b, h),
            (b, h - d),
            (a, h - d),
            (a, h),
            (0, h),
            (0, h * 0.7),
            (d, h * 0.7),
            (d, h * 0.3),
            (0, h * 0.3),
        ],
    }[kind]
    if kind == "ell":
        ring[3] = (ring[3][0], ring[2][1])
    points = np.array(ring, dtype=float)
    points += rng.normal(0, rng.choice([0.0, 0.012, 0.03]), points.shape)
    if rng.random() < 0.5:
        points = points[::-1] * np.array([-1.0, 1.0])
    turn = rng.uniform(0, 2 * np.pi)
    return points @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])


def draw_scene(rng: Rng, portrait: bool, *, furnished: float = 0.65,
               outline: NDArray[np.float64] | None = None) -> Scene:
    """One room with what stands in it and one view of it."""
    ring = draw_outline(rng) if outline is None else outline
    eye, heading = _stand(rng, ring)
    scene = _fabric(rng, ring) | _camera(rng, eye, heading, portrait)
    scene |= (
        _furniture(rng, ring, eye, rng.random() < furnished) | _rugs(rng, ring) | _light(rng, ring, scene) | _phone(rng)
    )
    return {name: np.asarray(value, dtype=np.float32) for name, value in scene.items()}


def stacked(scenes: list[Scene]) -> Scene:
    """Scenes as one stack, without padding that none of them needs."""
    stack = {name: np.stack([scene[name] for scene in scenes]) for name in scenes[0]}
    used = {
        "walls": np.any(stack["walls"][..., 0] < _AWAY, axis=0),
        "boxes": np.any(stack["boxes"][..., 0] < _AWAY, axis=0),
        "decals": np.any(stack["decals"][..., 0] >= 0, axis=0),
        "rugs": np.any(stack["rugs"][..., 0] < _AWAY, axis=0),
        "tins": np.any(stack["tins"][..., 0] > -_AWAY, axis=0),
    }
    used["hollow"] = used["paint"] = used["walls"]
    return {name: value[:, used[name]] if name in used else value for name, value in stack.items()}


def furnished(scene: Scene) -> int:
    """How many boxes stand in a room."""
    return int(np.sum(scene["boxes"][:, 0] < _AWAY))


def inside(ring: NDArray[np.float64], point: NDArray[np.float64]) -> bool:
    """Whether a point lies in a ring (even-odd rule)."""
    a, b = ring, np.roll(ring, -1, axis=0)
    cross = (a[:, 1] > point[1]) != (b[:, 1] > point[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        x = a[:, 0] + (point[1] - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    return bool(np.sum(cross & (point[0] < x)) % 2)


def off_walls(ring: NDArray[np.float64], point: NDArray[np.float64]) -> float:
    """Distance from a point to the nearest wall."""
    a, b = ring, np.roll(ring, -1, axis=0)
    d = b - a
    t = np.clip(np.sum((point - a) * d, axis=1) / np.sum(d * d, axis=1), 0, 1)
    return float(np.min(np.hypot(*(a + t[:, None] * d - point).T)))


def _stand(rng: Rng, ring):
    """Where the phone is held and the way it looks: usually near a wall or corner, looking into the room."""
    low, high = ring.min(axis=0), ring.max(axis=0)
    best, best_score = None, -1.0
    for _ in range(60):
        at = rng.uniform(low, high)
        if not inside(ring, at) or off_walls(ring, at) < 0.12:
            continue
        score = float(np.hypot(*(at - ring.mean(axis=0)))) * rng.uniform(0.5, 1.0)
        if score > best_score:
            best, best_score = at, score
    at = ring.mean(axis=0) if best is None else best
    # Look where the room is deep: towards a far corner or point.
    far = ring[rng.integers(len(ring))] if rng.random() < 0.5 else ring.mean(axis=0) + rng.normal(0, 0.5, 2)
    way = far - at
    return np.array([*at, rng.uniform(1.15, 1.8)]), float(np.arctan2(way[1], way[0]) + rng.normal(0, 0.25))


def _camera(rng: Rng, eye, heading: float, portrait: bool) -> dict:
    """eye (3,), rotation (3, 3) rows right, down, forward, lens (focal in long sides, k1), portrait ()."""
    pitch, roll = np.radians(np.clip(rng.normal(24, 9), 4, 48)), np.radians(rng.normal(0,
                                                                                       2.0 if rng.random() < 0.85
                                                                                       else 5.0))
    forward = np.array([np.cos(heading) * np.cos(pitch), np.sin(heading) * np.cos(pitch), -np.sin(pitch)])
    right = np.array([np.sin(heading), -np.cos(heading), 0.0])
    down = np.cross(forward, right)
    turned = np.cos(roll) * right + np.sin(roll) * down
    wide = rng.random() < 0.2
    focal = rng.uniform(0.42, 0.66) if wide else rng.uniform(0.66, 0.86)
    k1 = rng.uniform(-0.1, 0.1) if wide and rng.random() < 0.5 else np.clip(rng.normal(0, 0.03), -0.08, 0.08)
    return {"eye": eye, "rotation": [turned, np.cross(forward, turned), forward], "lens": [focal, k1],
            "portrait": float(portrait)}


def _tone(rng: Rng, low: float, high: float, tint: float = 0.12):
    """A paint colour."""
    return np.clip(rng.uniform(low, high) * (1 + rng.normal(0, tint, 3)), 0.01, 0.95)


def _wood(rng: Rng):
    level = np.exp(rng.uniform(np.log(0.03), np.log(0.65)))
    return np.clip(level * np.array([1.25, 1.0, rng.uniform(0.45, 1.0)]) * (1 + rng.normal(0, 0.05, 3)), 0.01, 0.9)


def _fabric(rng: Rng, ring) -> dict:
    """walls (W, 4) ends; hollow (W, 2) whether each end is a concave corner; paint (W, 3); paper (4,) kind, period,
    strength, phase; skirting (5,) height, thickness, beading height, gap, none; skirting_colour (3,); ceiling (); floor
    (16,); decals (D, 10): wall, s0, s1, z0, z1, r, g, b, kind, over the skirting."""
    count = len(ring)
    walls, paint = np.full((WALLS, 4), _AWAY), np.full((WALLS, 3), 0.5)
    walls[count:, 2] += 1e-3
    walls[:count] = np.hstack([ring, np.roll(ring, -1, axis=0)])
    way = np.roll(ring, -1, axis=0) - ring
    turn = np.roll(way, 1, axis=0)[:, 0] * way[:, 1] - np.roll(way, 1, axis=0)[:, 1] * way[:, 0]
    hollow = np.zeros((WALLS, 2))
    hollow[:count] = np.stack([turn > 0, np.roll(turn, -1) > 0], axis=1)
    base = _tone(rng, 0.25, 0.85, 0.06) if rng.random() < 0.8 else _tone(rng, 0.04, 0.5, 0.3)
    paint[:] = base
    if rng.random() < 0.3:
        paint[rng.integers(count)] = _tone(rng, 0.03, 0.8, 0.3)
    style = rng.random()
    skirting = _tone(rng, 0.7, 0.92, 0.03) if style < 0.6 else base if style < 0.8 else _wood(rng)
    height = rng.uniform(0.04, 0.2) if rng.random() < 0.93 else 0.0
    bead = rng.uniform(0.008, 0.02) if rng.random() < 0.2 else 0.0
    decals = np.zeros((DECALS, 10))
    decals[:, 0] = -1
    rows = _doors(rng, way, skirting, height) + _hangings(rng, way)
    order = rows[:DECALS]
    if order:
        decals[: len(order)] = order
    return {"walls": walls, "hollow": hollow, "paint": paint, "count": float(count),
            "paper": [rng.choice([0, 1, 2, 3], p=[0.7, 0.1, 0.1, 0.1]), rng.uniform(0.04, 0.6), rng.uniform(0.05, 0.5),
                      rng.uniform(0, 9)], "skirting": [height, rng.uniform(0.008, 0.022), bead, rng.uniform(0, 0.004),
                                                       rng.uniform(0.0, 0.6)], "skirting_colour": skirting,
            "ceiling": rng.uniform(2.2, 2.9), "floor": _floor(rng), "decals": decals,
            "beyond": np.concatenate([_wood(rng), _tone(rng, 0.1, 0.8)]),}


def _doors(rng: Rng, way, skirting, height: float) -> list[list[float]]:
    """Doors with casings, closed or open, and windows down to the floor."""
    rows: list[list[float]] = []
    lengths = np.hypot(*way.T)
    for wall in rng.permutation(len(way))[: rng.integers(0, 3)]:
        width = rng.uniform(0.62, 0.95)
        if lengths[wall] < width + 0.3:
            continue
        s0 = rng.uniform(0.1, lengths[wall] - width - 0.1)
        casing, top = rng.uniform(0.04, 0.1), rng.uniform(1.95, 2.1)
        leaf = _tone(rng, 0.5, 0.9, 0.04) if rng.random() < 0.7 else _wood(rng)
        kind = OPENING if rng.random() < 0.35 else GLOW if rng.random() < 0.12 else PAINT
        for a, b, c in ((s0 - casing, s0, skirting), (s0 + width, s0 + width + casing, skirting)):
            rows.append([wall, a, b, 0.0, top + casing, *c, PAINT, 1])
        rows.append([wall, s0, s0 + width, 0.0, top, *leaf, kind, 1])
        if kind == PAINT:  # panels
            for z0, z1 in ((0.2, 0.85), (1.0, 1.85)):
                rows.append([wall, s0 + 0.13, s0 + width - 0.13, z0, z1, *(leaf * rng.uniform(0.7, 0.95)), PAINT, 1])
    return rows


def _hangings(rng: Rng, way) -> list[list[float]]:
    """Pictures, sockets, radiators painted flat, windows and two-tone walls."""
    rows: list[list[float]] = []
    lengths = np.hypot(*way.T)
    if rng.random() < 0.1:
        dado, low = rng.uniform(0.7, 1.1), _tone(rng, 0.05, 0.7, 0.2)
        rows += [[k, 0.0, lengths[k], 0.0, dado, *low, PAINT, 0] for k in range(min(len(way), 6))]
    for _ in range(rng.integers(0, 8)):
        wall = int(rng.choice(len(way), p=lengths / lengths.sum()))
        what = rng.random()
        if what < 0.35:
            w, h, z = rng.uniform(0.2, 1.2), rng.uniform(0.2, 0.9), rng.uniform(0.9, 1.5)
            colour, kind = _tone(rng, 0.02, 0.9, 0.4), PAINT
        elif what < 0.7:
            w, h, z = rng.uniform(0.08, 0.16), 0.086, rng.uniform(0.2, 0.45)
            colour, kind = _tone(rng, 0.6, 0.95, 0.03), PAINT
        else:
            w, h, z = rng.uniform(0.6, 2.2), rng.uniform(0.8, 1.4), rng.uniform(0.5, 1.0)
            colour, kind = np.array([1.5, 1.6, 1.8]) * rng.uniform(0.5, 3), GLOW
        if lengths[wall] > w + 0.1:
            s0 = rng.uniform(0.0, lengths[wall] - w)
            rows.append([wall, s0, s0 + w, z, z + h, *colour, kind, 0])
    return rows


def _floor(rng: Rng) -> list[float]:
    """(16,) r, g, b, way x, way y, board width, board length, joint width, joint darkness, spread of board tones,
    grain, speckle, stains, tiles (0 or 1), gloss, seed."""
    kind = rng.choice(["boards", "tiles", "carpet", "screed"], p=[0.55, 0.12, 0.18, 0.15])
    turn = rng.uniform(0, 2 * np.pi) if rng.random() < 0.3 else None
    way = (
        (np.cos(turn), np.sin(turn)) if turn is not None else (2.0, 0.0)
    )  # 2: along the first wall, told apart in the caster
    colour = _wood(rng) if kind == "boards" else _tone(rng, 0.03, 0.7, 0.12)
    joint = {"boards": rng.uniform(0.0005, 0.004), "tiles": rng.uniform(0.002, 0.008)}.get(kind, 0.0)
    width = {"boards": rng.uniform(0.06, 0.25), "tiles": rng.uniform(0.1, 0.6)}.get(kind, 0.5)
    length = width if kind == "tiles" else rng.uniform(0.4, 2.2)
    dark = rng.uniform(0.2, 0.9) if kind != "tiles" or rng.random() < 0.5 else rng.uniform(1.1, 2.0)
    return [
        *colour,
        *way,
        width,
        length,
        joint,
        dark,
        rng.uniform(0, 0.25) if kind != "carpet" else 0.0,
        rng.uniform(0, 0.3) if kind == "boards" else 0.0,
        rng.uniform(0, 0.3) if kind == "carpet" else rng.uniform(0, 0.06),
        rng.uniform(0, 0.3),
        float(kind == "tiles"),
        rng.uniform(0, 1) ** 2 if kind in ("boards", "tiles") else 0.0,
        rng.uniform(0, 50),
    ]


def _furniture(rng: Rng, ring, eye, furnished: bool) -> dict:
    """boxes (K, 12): middle x, y, z, half sizes 3, way x, way y, r, g, b, stripes; tins (T, 8): x, y, radius, z0,
    z1, r, g, b."""
    boxes, tins = np.zeros((BOXES, 12)), np.zeros((TINS, 8))
    boxes[:, :3], boxes[:, 3:6], boxes[:, 6] = _AWAY, 1e-3, 1.0
    tins[:, :2], tins[:, 2] = -_AWAY, 1e-3
    rows: list[list[float]] = []
    for _ in range(rng.integers(2, 9) if furnished else rng.integers(0, 2)):
        rows += _piece(rng, ring, eye, small=not furnished)
    if rows:
        boxes[: len(rows[:BOXES])] = rows[:BOXES]
    for k in range(rng.integers(0, TINS + 1) if furnished else rng.choice([0, 0, 1])):
        at = _clear_place(rng, ring, eye, 0.3)
        if at is not None:
            z0 = 0.0
            tins[k] = [*at, rng.uniform(0.04, 0.25), z0, z0 + rng.uniform(0.1, 0.7), *_tone(rng, 0.02, 0.8, 0.3)]
    return {"boxes": boxes, "tins": tins}


def _clear_place(rng: Rng, ring, eye, least: float):
    low, high = ring.min(axis=0), ring.max(axis=0)
    for _ in range(12):
        at = rng.uniform(low, high)
        if inside(ring, at) and off_walls(ring, at) > least and np.hypot(*(at - eye[:2])) > 0.6:
            return at
    return None


def _piece(rng: Rng, ring, eye, small: bool) -> list[list[float]]:
    """One piece of furniture as boxes: along a wall mostly, or standing free."""
    lengths = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    kind = (
        "carton"
        if small
        else rng.choice(
            ["cabinet", "table", "sofa", "bed", "carton", "radiator", "curtain", "shelf", "leaf"],
            p=[0.26, 0.16, 0.12, 0.08, 0.12, 0.1, 0.06, 0.05, 0.05],
        )
    )
    size = {
        "cabinet": (0.4, 1.8, 0.25, 0.6, 0.3, 2.1),
        "table": (0.4, 1.6, 0.4, 0.9, 0.4, 0.8),
        "sofa": (0.8, 2.2, 0.7, 1.0, 0.35, 0.45),
        "bed": (0.9, 1.8, 1.9, 2.1, 0.3, 0.55),
        "carton": (0.15, 0.6, 0.15, 0.5, 0.08, 0.6),
        "radiator": (0.4, 1.6, 0.06, 0.12, 0.4, 0.6),
        "curtain": (0.3, 1.2, 0.05, 0.15, 2.0, 2.3),
        "shelf": (0.5, 1.5, 0.2, 0.35, 0.2, 0.4),
        "leaf": (0.7, 0.9, 0.035, 0.045, 1.95, 2.05),
    }[kind]
    w, d, h = (rng.uniform(*size[k : k + 2]) for k in (0, 2, 4))
    wall = int(rng.choice(len(ring), p=lengths / lengths.sum()))
    a, b = ring[wall], ring[(wall + 1) % len(ring)]
    u = (b - a) / lengths[wall]
    n = np.array([-u[1], u[0]])
    free = kind in ("carton", "table", "leaf") and rng.random() < 0.5
    if free:
        at = _clear_place(rng, ring, eye, max(d, w) / 2)
        if at is None:
            return []
        turn = rng.uniform(0, np.pi)
        u = np.array([np.cos(turn), np.sin(turn)])
        n = np.array([-u[1], u[0]])
    else:
        if lengths[wall] < w + 0.05:
            return []
        # In a corner now and then.
        s = rng.choice([w / 2 + rng.uniform(0.01, 0.1), lengths[wall] - w / 2 - rng.uniform(0.01, 0.1),
                        rng.uniform(w / 2, lengths[wall] - w / 2)])
        gap = rng.uniform(0.022, 0.06) if rng.random() < 0.8 else rng.uniform(0.05, 0.4)
        at = a + s * u + (d / 2 + gap) * n
        if not inside(ring, at + d / 2 * n) or not inside(ring, at):
            return []
    if abs(float((eye[:2] - at) @ u)) < w / 2 + 0.3 and abs(float((eye[:2] - at) @ n)) < d / 2 + 0.3:
        return []
    colour = _tone(rng, 0.02, 0.85, 0.15) if rng.random() < 0.6 else _wood(rng)
    return [
        [*(at + x * u + y * n), z, hx, hy, hz, *u, *np.clip(colour * shade, 0, 0.95), stripes]
        for x, y, z, hx, hy, hz, shade, stripes in _parts(rng, kind, w, d, h)
    ]


def _parts(rng: Rng, kind: str, w: float, d: float, h: float):
    """Boxes of a piece in its own frame: middle x, y, z, half sizes, shade, stripes a metre."""
    if kind == "table":
        leg, i = rng.uniform(0.015, 0.04), 0.05
        legs = [(sx * (w / 2 - i), sy * (d / 2 - i), h / 2 - 0.01, leg, leg, h / 2 - 0.01, 0.9, 0.0) for sx in (-1, 1)
                for sy in (-1, 1)]
        return [(0, 0, h - 0.015, w / 2, d / 2, 0.015, 1.0, 0.0), *legs]
    if kind == "sofa":
        up = rng.choice([0.0, 0.08])
        return [
            (0, 0, h / 2 + up, w / 2, d / 2, h / 2, 1.0, 0.0),
            (0, -d / 2 + 0.1, h + up, w / 2, 0.1, 0.35, 1.05, 0.0),
            (w / 2 - 0.08, 0, h / 2 + 0.1 + up, 0.08, d / 2, h / 2 + 0.1, 0.95, 0.0),
        ]
    if kind == "bed":
        return [(0, 0, h / 2 + 0.1, w / 2, d / 2, h / 2, 1.0, 0.0),
                (0, 0, 0.1, w / 2 - 0.05, d / 2 - 0.05, 0.05, 0.4, 0.0)]
    if kind == "radiator":
        low = rng.uniform(0.08, 0.2)
        return [(0, 0, low + h / 2, w / 2, d / 2, h / 2, 1.0, rng.uniform(8, 20))]
    if kind == "shelf":
        low = rng.uniform(0.4, 1.4)
        return [(0, 0, low + h / 2, w / 2, d / 2, h / 2, 1.0, 0.0)]
    if kind == "cabinet" and rng.random() < 0.3:
        leg = rng.uniform(0.06, 0.18)
        legs = [(sx * (w / 2 - 0.04), sy * (d / 2 - 0.04), leg / 2, 0.018, 0.018, leg / 2, 0.7, 0.0) for sx in (-1, 1)
                for sy in (-1, 1)]
        return [(0, 0, leg + h / 2, w / 2, d / 2, h / 2, 1.0, 0.0), *legs]
    low = 0.012 if kind == "leaf" else 0.0
    return [(0, 0, low + h / 2, w / 2, d / 2, h / 2, 1.0, rng.uniform(3, 14)
             if kind == "curtain" else rng.choice([0.0, 0.0, 2.5]))]


def _rugs(rng: Rng, ring) -> dict:
    """rugs (R, 14): middle x, y, half sizes 2, way x, way y, colour 3, second colour 3, stripe period, round (0 or
    1)."""
    rugs = np.zeros((RUGS, 14))
    rugs[:, :2], rugs[:, 2:4], rugs[:, 4] = _AWAY, 1e-3, 1.0
    low, high = ring.min(axis=0), ring.max(axis=0)
    u = ring[1] - ring[0]
    u = u / np.hypot(*u)
    for k in range(RUGS):
        what = rng.random()
        if what < 0.5:
            continue
        turn = rng.uniform(0, np.pi) if rng.random() < 0.3 else rng.choice([0, np.pi / 2]) + rng.normal(0, 0.02)
        way = np.array([u[0] * np.cos(turn) - u[1] * np.sin(turn), u[0] * np.sin(turn) + u[1] * np.cos(turn)])
        size = (
            (rng.uniform(0.3, 1.5), rng.uniform(0.2, 1.1))
            if what < 0.75
            else (0.1485, 0.105)
            if what < 0.88
            else (rng.uniform(0.3, 1.5), rng.uniform(0.003, 0.03))
        )
        one = _tone(rng, 0.02, 0.85, 0.3) if what < 0.75 or what > 0.88 else _tone(rng, 0.75, 0.9, 0.02)
        two = _tone(rng, 0.02, 0.85, 0.3) if what < 0.75 else np.array([0.02, 0.02, 0.02]) if what < 0.88 else one
        rugs[k] = [*rng.uniform(low, high), *size, *way, *one, *two, rng.uniform(0.03, 0.4),
                   float(rng.random() < 0.15 and what < 0.75)]
    return {"rugs": rugs}


def _light(rng: Rng, ring, scene) -> dict:
    """lamps (2, 6): x, y, z, r, g, b; ambient (3,); sun (12,): direction 3, strength, window middle 3, along 2, half
    width, half height, bars; dark (2,): depth and reach of the shade in corners and under things."""
    low, high = ring.min(axis=0), ring.max(axis=0)
    night = rng.random() < 0.25
    lamps = np.zeros((2, 6))
    for k in range(2):
        at = rng.uniform(low, high)
        if not inside(ring, at):
            at = ring.mean(axis=0)
        warm = np.array([1.25, 1.0, rng.uniform(0.45, 0.8)]) if night else np.array([1.0, 1.0, rng.uniform(0.9, 1.2)])
        lamps[k] = [
            *at,
            rng.uniform(0.5, 2.3) if night else rng.uniform(1.0, 2.3),
            *(warm * rng.uniform(0.3, 2.0) * (1.0 if k == 0 else rng.uniform(0, 0.8))),
        ]
    wall = rng.integers(len(ring))
    a, b = ring[wall], ring[(wall + 1) % len(ring)]
    length = np.hypot(*(b - a))
    u = (b - a) / length
    n = np.array([-u[1], u[0]])
    if not night:  # the first light is the window
        lamps[0, :3] = [*(a + u * length * rng.uniform(0.2, 0.8) + n * 0.05), rng.uniform(1.0, 1.8)]
        lamps[0, 3:] *= rng.uniform(1, 4)
    middle = a + u * length * rng.uniform(0.3, 0.7)
    half = min(rng.uniform(0.3, 1.2), length / 2)
    down, side = rng.uniform(0.3, 1.4), rng.normal(0, 0.6)
    way = n + side * u
    way = np.array([*(way / np.hypot(*way)), -down])
    sun = [
        *(way / np.linalg.norm(way)),
        0.0 if night or rng.random() < 0.55 else rng.uniform(0.5, 4.0),
        *middle,
        rng.uniform(0.9, 1.6),
        *u,
        half,
        rng.uniform(0.4, 0.9),
        rng.choice([0.0, 2.0, 3.0]),
    ]
    return {
        "lamps": lamps,
        "ambient": rng.uniform(0.05, 0.6) * (1 + rng.normal(0, 0.05, 3)),
        "sun": sun,
        "dark": [rng.uniform(0, 0.6), rng.uniform(0.03, 0.3)],
    }


def _phone(rng: Rng) -> dict:
    """phone (8,): stops, red gain, blue gain, contrast, fall-off, blur in px of 768, noise, seed."""
    return {
        "phone": [
            rng.normal(0, 0.4),
            np.exp(rng.normal(0, 0.07)),
            np.exp(rng.normal(0, 0.09)),
            rng.uniform(0.8, 1.25),
            rng.uniform(0, 1.6),
            rng.uniform(0, 1) ** 2 * 1.6,
            np.exp(rng.uniform(np.log(0.002), np.log(0.035))),
            rng.uniform(0, 1000),
        ]
    }
