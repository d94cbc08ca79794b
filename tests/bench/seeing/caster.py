"""A ray caster for stacks of drawn rooms: colours, what each pixel shows, and which floor corners are seen where.

Works on numpy arrays and on torch tensors alike (`xp` is the module), so that tests need no torch and training can draw
on a GPU. Arrays are (B, N): B scenes, N rays. Scenes: see `rooms`. One ray a pixel, one shadow ray to the first lamp;
light that went round is a guess (darker in corners, along walls and under things).
"""
from __future__ import annotations

from types import ModuleType
from typing import Any

FLOOR, SKIRTING, WALL, OTHER = 0, 1, 2, 3
_FAR = 1e6

Arr = Any
Three = tuple[Arr, Arr, Arr]


def pixel_rays(scene: dict[str, Arr], xp: ModuleType, u: Arr, v: Arr) -> Three:
    """World directions (B, N) of places u, v (B, N) or (N,) on the picture plane, in long sides from its middle,
    before the lens."""
    focal, k1 = scene["lens"][:, 0:1], scene["lens"][:, 1:2]
    bx, by = u / focal, v / focal
    x, y = bx, by
    for _ in range(5):
        bend = 1 + k1 * (x * x + y * y)
        x, y = bx / bend, by / bend
    r = scene["rotation"]
    return tuple(r[:, 0, k : k + 1] * x + r[:, 1, k : k + 1] * y + r[:, 2, k : k + 1] for k in range(3))  # type: ignore[return-value]


def place_on_picture(scene: dict[str, Arr], xp: ModuleType, points: Arr) -> tuple[Arr, Arr, Arr]:
    """Where world points (B, M, 3) fall: u, v in long sides from the middle, and depth (m), each (B, M)."""
    rel = points - scene["eye"][:, None, :]
    x, y, z = (sum(rel[..., k] * scene["rotation"][:, row, k:k + 1] for k in range(3)) for row in range(3))
    ahead = xp.clip(z, 1e-3, None)
    a, b = x / ahead, y / ahead
    r2 = a * a + b * b
    k1 = scene["lens"][:, 1:2]
    bend = scene["lens"][:, 0:1] * (1 + k1 * r2)
    folded = 1 + 3 * k1 * r2 <= 0
    return a * bend, b * bend, xp.where(folded, -xp.ones_like(z), z)


def noise(xp: ModuleType, x: Arr, y: Arr, seed: Arr) -> Arr:
    """Smooth noise, 0 to 1, one period a unit."""
    ix, iy = xp.floor(x), xp.floor(y)
    fx, fy = x - ix, y - iy
    fx, fy = fx * fx * (3 - 2 * fx), fy * fy * (3 - 2 * fy)
    low = _hash(xp, ix, iy, seed) * (1 - fx) + _hash(xp, ix + 1, iy, seed) * fx
    high = _hash(xp, ix, iy + 1, seed) * (1 - fx) + _hash(xp, ix + 1, iy + 1, seed) * fx
    return low * (1 - fy) + high * fy


def _hash(xp: ModuleType, a: Arr, b: Arr, seed: Arr) -> Arr:
    t = xp.sin(a * 12.9898 + b * 78.233 + seed * 3.717) * 4375.85
    return t - xp.floor(t)


def cast(scene: dict[str, Arr], xp: ModuleType, d: Three) -> tuple[Three, Arr]:
    """Linear light (three (B, N)) and what is seen (B, N): FLOOR, SKIRTING, WALL or OTHER, along directions `d`."""
    dx, dy, dz = d
    ex, ey, ez = (scene["eye"][:, k:k + 1] for k in range(3))
    t_wall, wall, along = _walls(scene, xp, ex, ey, dx, dy)
    level = xp.where(xp.abs(dz) < 1e-6, xp.full_like(dz, 1e-6), dz)
    t_floor = xp.where(level < 0, -ez / level, xp.full_like(dz, _FAR))
    t_top = xp.where(level > 0, (scene["ceiling"][:, None] - ez) / level, xp.full_like(dz, _FAR))
    is_floor, is_top = (t_floor < t_wall) & (t_floor < t_top), (t_top < t_wall)
    t = xp.minimum(xp.minimum(t_wall, t_floor), t_top)
    z = ez + t * dz
    # Walls, what hangs on them, and the openings in them.
    colour, kind, through, glow = _wall_colour(scene, xp, wall, along, z, t * xp.sqrt(dx * dx + dy * dy))
    through = through & ~is_floor & ~is_top
    t_beyond = xp.minimum(t_floor, t_wall + 1.4)
    t = xp.where(through, t_beyond, t)
    x, y, z = ex + t * dx, ey + t * dy, ez + t * dz
    floor = _floor_colour(scene, xp, x, y)
    beyond_floor = through & (t_floor <= t_wall + 1.4)
    glow = glow & ~is_floor & ~is_top & ~through
    colour = tuple(xp.where(is_floor, f, xp.where(is_top, 0.8 + 0 * c, c)) for f, c in zip(floor, colour))
    colour = tuple(xp.where(through, xp.where(beyond_floor, scene["beyond"][:, k:k + 1] + 0 * c,
                                              scene["beyond"][:, 3 + k:4 + k] + 0 * c), c)
                   for k, c in enumerate(colour))
    kind = xp.where(is_floor, 0 * kind + FLOOR,
                    xp.where(is_top, 0 * kind + WALL, xp.where(through, 0 * kind + OTHER, kind)))
    wx, wy = _wall_normal(scene, xp, wall, x)
    flat = is_floor | is_top | beyond_floor
    n = (xp.where(flat, 0 * wx, wx), xp.where(flat, 0 * wy, wy),
         xp.where(is_top, -1 + 0 * wx, xp.where(flat, 1 + 0 * wx, 0 * wx)))
    # Things standing about.
    t, colour, kind, n, thing = _things(scene, xp, (ex, ey, ez), d, t, colour, kind, n)
    glow = glow & ~thing
    x, y, z = ex + t * dx, ey + t * dy, ez + t * dz
    shade = _corner_shade(scene, xp, x, y, z, is_floor & ~thing, ~is_floor & ~is_top & ~thing, along, wall)
    light = _light(scene, xp, (x, y, z), n)
    lit = tuple(xp.where(glow, c, c * (e * shade)) for c, e in zip(colour, light))
    shine = _shine(scene, xp, (x, y), d) * scene["floor"][:, 14:15]
    return tuple(xp.where(is_floor & ~thing, v + shine * 0.5, v) for v in lit), kind  # type: ignore[return-value]


def hits(scene: dict[str, Arr], xp: ModuleType, d: Three, *, things: bool = True) -> Arr:
    """(B, N) ray parameter of the first thing or wall met; `things`: furniture counts too."""
    ex, ey, ez = (scene["eye"][:, k:k + 1] for k in range(3))
    t, _, _ = _walls(scene, xp, ex, ey, d[0], d[1])
    if things:
        for k in range(scene["boxes"].shape[1]):
            t = xp.minimum(t, _box(scene, xp, k, (ex, ey, ez), d)[0])
        for k in range(scene["tins"].shape[1]):
            t = xp.minimum(t, _tin(scene, xp, k, (ex, ey, ez), d)[0])
    return t


def corner_sights(scene: dict[str, Arr], xp: ModuleType) -> tuple[Arr, Arr, Arr]:
    """Floor corners (B, W): u, v in long sides, and 0 not seen, 1 seen and concave, 2 seen and convex."""
    walls, hollow = scene["walls"], scene["hollow"][..., 0]
    prior = xp.roll(walls, 1, 1) if xp.__name__ == "torch" else xp.roll(walls, 1, axis=1)
    # The wall that ends at corner 0 is the last real one: found by its end, not by its place in the padded list.
    count = scene["count"]
    last = sum(xp.where((count == k + 1)[:, None], walls[:, k], 0 * walls[:, k]) for k in range(walls.shape[1]))
    first = xp.zeros_like(hollow)
    first[:, 0] = 1
    came = xp.where(first[..., None] > 0, last[:, None, :], prior)
    a = walls[..., :2]
    out, back = walls[..., 2:] - a, came[..., :2] - a
    unit = [v / xp.clip(xp.sqrt(v[..., :1] ** 2 + v[..., 1:] ** 2), 1e-6, None) for v in (out, back)]
    # A point a little into the room: between the walls of a hollow corner, opposite them at a proud one.
    into = unit[0] + unit[1]
    into = into / xp.clip(xp.sqrt(into[..., :1] ** 2 + into[..., 1:] ** 2), 1e-6, None)
    into = xp.where(hollow[..., None] > 0, into, -into)
    probe = a + 0.004 * into
    rel = [probe[..., k] - scene["eye"][:, k:k + 1] for k in (0, 1)]
    down = 0.002 - scene["eye"][:, 2:3] + 0 * rel[0]
    free = hits(scene, xp, (rel[0], rel[1], down)) > 0.9985
    z = 0 * a[..., :1]
    u, v, depth = place_on_picture(scene, xp, xp.concatenate([a, z], axis=-1)
                                   if xp.__name__ == "numpy" else xp.cat([a, z], -1))
    real = (xp.arange(walls.shape[1]) if xp.__name__ == "numpy" else xp.arange(walls.shape[1], device=walls.device))[
        None
    ] < count[:, None]
    seen = free & (depth > 0.05) & real
    return u, v, xp.where(seen, 2 - hollow, 0 * hollow)


def _walls(scene, xp, ex, ey, dx, dy):
    """Nearest wall: ray parameter, its number, place along it (m)."""
    best, which, where = xp.full_like(dx, _FAR), xp.zeros_like(dx), xp.zeros_like(dx)
    for k in range(scene["walls"].shape[1]):
        x0, y0, x1, y1 = (scene["walls"][:, k, j][:, None] for j in range(4))
        wx, wy = x1 - x0, y1 - y0
        den = dx * wy - dy * wx
        den = xp.where(xp.abs(den) < 1e-9, xp.full_like(den, 1e-9), den)
        t = ((x0 - ex) * wy - (y0 - ey) * wx) / den
        s = ((x0 - ex) * dy - (y0 - ey) * dx) / den
        # Only from the room's side: the room lies on a wall's left.
        nearer = (t > 1e-4) & (t < best) & (s >= 0) & (s <= 1) & (den > 0)
        length = xp.sqrt(wx * wx + wy * wy)
        best, which, where = (
            xp.where(nearer, t, best),
            xp.where(nearer, 0 * dx + k, which),
            xp.where(nearer, s * length, where),
        )
    return best, which, where


def _pick(xp, table, which, like):
    """Rows of a table (B, W) by number (B, N)."""
    out = xp.zeros_like(like)
    for k in range(table.shape[1]):
        out = xp.where(which == k, table[:, k:k + 1] + 0 * like, out)
    return out


def _wall_normal(scene, xp, wall, like):
    w = scene["walls"]
    wx, wy = w[..., 2] - w[..., 0], w[..., 3] - w[..., 1]
    length = xp.sqrt(wx * wx + wy * wy)
    return _pick(xp, -wy / length, wall, like), _pick(xp, wx / length, wall, like)


def _wall_colour(scene, xp, wall, s, z, far):
    """Paint, skirting and what hangs there; kind; whether an opening is looked through; whether it shines by itself."""
    paint = [_pick(xp, scene["paint"][..., k], wall, s) for k in range(3)]
    style, period, strength, phase = (scene["paper"][:, k:k + 1] for k in range(4))
    stripes = xp.where(xp.sin(6.2832 * s / period + phase) > 0, 1 + 0 * s, 1 - strength)
    dots = xp.where((xp.sin(6.2832 * s / period) * xp.sin(6.2832 * z / period + phase)) > 0.4, 1 - strength, 1 + 0 * s)
    blots = 1 - strength * 0.6 * noise(xp, s / period / 2 + wall * 7, z / period / 2, phase)
    factor = xp.where(style == 1, stripes, xp.where(style == 2, dots, xp.where(style == 3, blots, 1 + 0 * s)))
    factor = factor * (1 - 0.03 * noise(xp, s * 3 + wall * 5, z * 3, phase))
    height, thick, bead, gap, edge = (scene["skirting"][:, k:k + 1] for k in range(5))
    colour = [c * factor for c in paint]
    # From above the top of the skirting is seen too, in front of the wall.
    top = height + thick * xp.clip((scene["eye"][:, 2:3] - height) / xp.clip(far, 0.05, None), 0, 3)
    is_skirting = z < top
    tone = xp.where(z > height, 1.06 + 0 * z,
                    xp.where(z > height - 0.012, 1 - 0.25 * edge, xp.where(z < gap, 0.25 + 0 * z, 1 + 0 * z)))
    tone = xp.where(z < bead, 0.55 + 0 * z, tone)
    colour = [xp.where(is_skirting, scene["skirting_colour"][:, k:k + 1] * tone, c) for k, c in enumerate(colour)]
    # A shade above the skirting.
    colour = [xp.where(~is_skirting & (z < top + 0.006), 0.8 * c, c) for c in colour]
    through, glow = z > _FAR, z > _FAR
    for k in range(scene["decals"].shape[1]):
        row = scene["decals"][:, k]
        inside = (wall == row[:, 0:1]) & (s > row[:, 1:2]) & (s < row[:, 2:3]) & (z > row[:, 3:4]) & (z < row[:, 4:5])
        inside = inside & ((row[:, 9:10] > 0) | ~is_skirting) if row.shape[1] == 10 else inside
        kind = row[:, 8:9]
        bars = (kind == 2) & (xp.abs(xp.sin(3.1416 * (s - row[:, 1:2]) / xp.clip(row[:, 2:3] - row[:, 1:2], 0.05, None)
                                            * 2)) < 0.08)
        colour = [xp.where(inside, xp.where(bars, 0.8 + 0 * c, row[:, 5 + j:6 + j] + 0 * c), c)
                  for j, c in enumerate(colour)]
        through = xp.where(inside, (kind == 1) & (z == z), through)
        glow = xp.where(inside, (kind == 2) & ~bars, glow)
        is_skirting = is_skirting & ~inside
    return colour, xp.where(is_skirting, 0 * z + SKIRTING, 0 * z + WALL), through, glow


def _floor_colour(scene, xp, x, y):
    f = scene["floor"]
    w0 = scene["walls"][:, 0]
    fx, fy = w0[:, 2:3] - w0[:, 0:1], w0[:, 3:4] - w0[:, 1:2]
    size = xp.sqrt(fx * fx + fy * fy)
    own = f[:, 3:4] > 1.5
    ux, uy = xp.where(own, fx / size, f[:, 3:4]), xp.where(own, fy / size, f[:, 4:5])
    a, b = x * ux + y * uy + 50.0, y * ux - x * uy + 50.0
    width, length, joint, dark, spread, grain, speckle, stains, tiles, seed = (f[:, k:k + 1]
                                                                               for k in (5, 6, 7, 8, 9, 10, 11, 12, 13,
                                                                                         15))
    row = xp.floor(b / width)
    start = _hash(xp, row, 0 * row, seed) * length * (1 - tiles)
    cell = xp.floor((a + start) / length)
    near = xp.minimum(b - row * width, (row + 1) * width - b)
    end = xp.minimum(a + start - cell * length, (cell + 1) * length - a - start)
    tone = 1 + spread * 2 * (_hash(xp, row, cell, seed) - 0.5)
    tone = tone * (1 - grain * noise(xp, a * 4, b * 70 + 13 * row, seed)
                   - 0.5 * grain * noise(xp, a * 1.3, b * 22 + 5 * row, seed))
    tone = tone * (1 - speckle * noise(xp, a * 160, b * 160, seed)) * (1
                                                                       - stains * noise(xp, a * 2.3, b * 2.3, seed + 3))
    tone = xp.where(xp.minimum(near, end) < joint / 2, tone * dark, tone)
    colour = [f[:, k:k + 1] * tone for k in range(3)]
    for k in range(scene["rugs"].shape[1]):
        g = scene["rugs"][:, k]
        p, q = x - g[:, 0:1], y - g[:, 1:2]
        m, o = (p * g[:, 4:5] + q * g[:, 5:6]) / g[:, 2:3], (q * g[:, 4:5] - p * g[:, 5:6]) / g[:, 3:4]
        far = xp.where(g[:, 13:14] > 0, xp.sqrt(m * m + o * o), xp.maximum(xp.abs(m), xp.abs(o)))
        second = (xp.sin(6.2832 * m * g[:, 2:3] / xp.clip(g[:, 12:13], 0.01, None)) > 0.3) & (far < 0.85)
        colour = [xp.where(far < 1, xp.where(second, g[:, 9 + j:10 + j] + 0 * c, g[:, 6 + j:7 + j] + 0 * c), c)
                  for j, c in enumerate(colour)]
    return [xp.clip(c, 0.003, 2.0) for c in colour]


def _box(scene, xp, k, e, d):
    """Ray parameter into a box (far if missed), and its normal there in the box's frame: axis number and sign."""
    b = scene["boxes"][:, k]
    c, s = b[:, 6:7], b[:, 7:8]
    px, py, pz = e[0] - b[:, 0:1], e[1] - b[:, 1:2], e[2] - b[:, 2:3]
    ox, oy = px * c + py * s, py * c - px * s
    dx, dy = d[0] * c + d[1] * s, d[1] * c - d[0] * s
    near, far, axis = None, None, None
    for j, (o, v) in enumerate(((ox, dx), (oy, dy), (pz, d[2]))):
        v = xp.where(xp.abs(v) < 1e-7, xp.full_like(v, 1e-7), v)
        half = b[:, 3 + j:4 + j]
        mid, reach = -o / v, half / xp.abs(v)
        t0, t1 = mid - reach, mid + reach
        if near is None:
            near, far, axis = t0, t1, xp.zeros_like(t0)
        else:
            axis = xp.where(t0 > near, 0 * t0 + j, axis)
            near, far = xp.maximum(near, t0), xp.minimum(far, t1)
    return xp.where((near < far) & (near > 1e-4), near, xp.full_like(near, _FAR)), axis, (c, s), (dx, dy)


def _tin(scene, xp, k, e, d):
    """Ray parameter into an upright cylinder, and whether its top is met."""
    r = scene["tins"][:, k]
    px, py = e[0] - r[:, 0:1], e[1] - r[:, 1:2]
    a = d[0] ** 2 + d[1] ** 2 + 1e-9
    b, c = px * d[0] + py * d[1], px * px + py * py - r[:, 2:3] ** 2
    root = b * b - a * c
    t = (-b - xp.sqrt(xp.clip(root, 0, None))) / a
    z = e[2] + t * d[2]
    side = (root > 0) & (t > 1e-4) & (z >= r[:, 3:4]) & (z <= r[:, 4:5])
    level = xp.where(xp.abs(d[2]) < 1e-7, xp.full_like(d[2], 1e-7), d[2])
    top = (r[:, 4:5] - e[2]) / level
    x, y = px + top * d[0], py + top * d[1]
    on_top = (top > 1e-4) & (x * x + y * y < r[:, 2:3] ** 2) & (level < 0)
    far = xp.full_like(t, _FAR)
    t, top = xp.where(side, t, far), xp.where(on_top, top, far)
    return xp.minimum(t, top), top < t


def _things(scene, xp, e, d, t, colour, kind, n):
    thing = t > _FAR * 2
    for k in range(scene["boxes"].shape[1]):
        b = scene["boxes"][:, k]
        tb, axis, (c, s), (dx, dy) = _box(scene, xp, k, e, d)
        nearer = tb < t
        sx, sy = xp.where(dx > 0, -xp.ones_like(dx), xp.ones_like(dx)), xp.where(dy > 0, -xp.ones_like(dy),
                                                                                 xp.ones_like(dy))
        nb = (xp.where(axis == 0, sx * c, xp.where(axis == 1, -sy * s, 0 * sx)),
              xp.where(axis == 0, sx * s, xp.where(axis == 1, sy * c, 0 * sx)),
              xp.where(axis == 2, xp.where(d[2] > 0, -xp.ones_like(sx), xp.ones_like(sx)), 0 * sx))
        period = b[:, 11:12]
        # Stripes along the front, such as ribs, drawers or folds.
        p = (e[0] + tb * d[0] - b[:, 0:1]) * c + (e[1] + tb * d[1] - b[:, 1:2]) * s
        tone = xp.where(period > 0, 0.82 + 0.18 * xp.sin(6.2832 * period * xp.where(nearer, p, 0 * p)), 1 + 0 * p)
        colour = tuple(xp.where(nearer, b[:, 8 + j:9 + j] * tone, v) for j, v in enumerate(colour))
        n = tuple(xp.where(nearer, v, w) for v, w in zip(nb, n))
        t, kind, thing = xp.where(nearer, tb, t), xp.where(nearer, 0 * kind + OTHER, kind), thing | nearer
    for k in range(scene["tins"].shape[1]):
        r = scene["tins"][:, k]
        tt, on_top = _tin(scene, xp, k, e, d)
        nearer = tt < t
        x, y = (e[0] + tt * d[0] - r[:, 0:1]) / r[:, 2:3], (e[1] + tt * d[1] - r[:, 1:2]) / r[:, 2:3]
        nb = (xp.where(on_top, 0 * x, x), xp.where(on_top, 0 * x, y), xp.where(on_top, 1 + 0 * x, 0 * x))
        colour = tuple(xp.where(nearer, r[:, 5 + j:6 + j] + 0 * v, v) for j, v in enumerate(colour))
        n = tuple(xp.where(nearer, v, w) for v, w in zip(nb, n))
        t, kind, thing = xp.where(nearer, tt, t), xp.where(nearer, 0 * kind + OTHER, kind), thing | nearer
    return t, colour, kind, n, thing


def _corner_shade(scene, xp, x, y, z, on_floor, on_wall, along, wall):
    """Less light along walls, in corners and beside things that stand on the floor."""
    depth, reach = scene["dark"][:, 0:1], scene["dark"][:, 1:2]
    far = xp.full_like(x, _FAR)
    for k in range(scene["walls"].shape[1]):
        x0, y0, x1, y1 = (scene["walls"][:, k, j][:, None] for j in range(4))
        wx, wy = x1 - x0, y1 - y0
        s = xp.clip(((x - x0) * wx + (y - y0) * wy) / xp.clip(wx * wx + wy * wy, 1e-9, None), 0, 1)
        far = xp.minimum(far, (x - x0 - s * wx) ** 2 + (y - y0 - s * wy) ** 2)
    shade = 1 - depth * xp.exp(-xp.sqrt(far) / reach)
    for k in range(scene["boxes"].shape[1]):
        b = scene["boxes"][:, k]
        px, py = x - b[:, 0:1], y - b[:, 1:2]
        p, q = xp.abs(px * b[:, 6:7] + py * b[:, 7:8]) - b[:, 3:4], xp.abs(py * b[:, 6:7] - px * b[:, 7:8]) - b[:, 4:5]
        out = xp.sqrt(xp.clip(p, 0, None) ** 2 + xp.clip(q, 0, None) ** 2)
        low = xp.clip(b[:, 2:3] - b[:, 5:6], 0, None)
        shade = shade * (1 - depth * 1.2 * xp.exp(-out / (reach * 0.7 + 0.3 * low)) * xp.exp(-low * 3))
    length = xp.sqrt((scene["walls"][..., 2] - scene["walls"][..., 0]) ** 2
                     + (scene["walls"][..., 3] - scene["walls"][..., 1]) ** 2)
    size = _pick(xp, length, wall, x)
    first, last = (_pick(xp, scene["hollow"][..., k], wall, x) for k in (0, 1))
    inner = (1 - 0.6 * depth * first * xp.exp(-along / reach)) * (1
                                                                  - 0.6 * depth * last
                                                                  * xp.exp(-(size - along) / reach))
    inner = inner * (1 - 0.6 * depth * xp.exp(-xp.clip(z, 0, None) / reach))
    return xp.where(on_floor, xp.clip(shade, 0.05, 1), xp.where(on_wall, inner, 1 + 0 * x))


def _light(scene, xp, p, n):
    """Light of three colours on a surface at p with normal n."""
    x, y, z = p
    sun = scene["sun"]
    sx, sy, sz = sun[:, 0:1], sun[:, 1:2], sun[:, 2:3]
    # Back along the sun's ray to the plane of the window.
    ux, uy = sun[:, 7:8], sun[:, 8:9]
    nx, ny = -uy, ux
    den = sx * nx + sy * ny
    back = ((x - sun[:, 4:5]) * nx + (y - sun[:, 5:6]) * ny) / xp.where(xp.abs(den) < 1e-6, xp.full_like(den, 1e-6),
                                                                        den)
    hx, hy, hz = x - back * sx - sun[:, 4:5], y - back * sy - sun[:, 5:6], z - back * sz - sun[:, 6:7]
    across = (hx * ux + hy * uy) / sun[:, 9:10]
    bar = (sun[:, 11:12] > 0) & (xp.abs(xp.sin(1.5708 * (across + 1) * sun[:, 11:12] / 2)) < 0.09)
    through = (back > 0) & (xp.abs(across) < 1) & (xp.abs(hz) < sun[:, 10:11]) & ~bar
    facing = xp.clip(-(sx * n[0] + sy * n[1] + sz * n[2]), 0, None)
    lit = xp.where(through, facing * sun[:, 3:4], 0 * x)
    lit = lit * _unshaded(scene, xp, (x + 2e-3 * n[0], y + 2e-3 * n[1], z + 2e-3 * n[2]),
                          (-sx + 0 * x, -sy + 0 * x, -sz + 0 * x), _FAR)
    light = [scene["ambient"][:, k:k + 1] * (0.85 + 0.15 * n[2]) + lit for k in range(3)]
    for k in range(2):
        lamp = scene["lamps"][:, k]
        lx, ly, lz = lamp[:, 0:1] - x, lamp[:, 1:2] - y, lamp[:, 2:3] - z
        far2 = lx * lx + ly * ly + lz * lz + 0.05
        cosine = xp.clip((lx * n[0] + ly * n[1] + lz * n[2]) / xp.sqrt(far2), 0, 1)
        fall = cosine / (0.4 + far2 * 0.35)
        if k == 0:
            fall = fall * (0.25 + 0.75 * _unshaded(scene, xp, (x + 2e-3 * n[0], y + 2e-3 * n[1], z + 2e-3 * n[2]),
                                                   (lx, ly, lz), 1.0))
        light = [v + lamp[:, 3 + j:4 + j] * fall for j, v in enumerate(light)]
    return light


def _unshaded(scene, xp, p, d, most):
    """1 where no box stands between."""
    free = xp.ones_like(d[0])
    for k in range(scene["boxes"].shape[1]):
        t = _box(scene, xp, k, p, d)[0]
        free = xp.where(t < min(most, 0.999 if most == 1.0 else 50.0), 0 * free, free)
    return free


def _shine(scene, xp, p, d):
    """The window mirrored in a floor with some gloss."""
    sun = scene["sun"]
    ux, uy = sun[:, 7:8], sun[:, 8:9]
    nx, ny = -uy, ux
    den = d[0] * nx + d[1] * ny
    t = ((sun[:, 4:5] - p[0]) * nx + (sun[:, 5:6] - p[1]) * ny) / xp.where(xp.abs(den) < 1e-6, xp.full_like(den, 1e-6),
                                                                           den)
    z = -d[2] * t
    s = ((p[0] + t * d[0] - sun[:, 4:5]) * ux + (p[1] + t * d[1] - sun[:, 5:6]) * uy) / sun[:, 9:10]
    seen = (t > 0) & (xp.abs(s) < 1.6) & (z > 0)
    return xp.where(seen, xp.exp(-(xp.clip(s * s, 0, 9)) * 1.5 - ((z - sun[:, 6:7]) / (sun[:, 10:11] * 1.3)) ** 2),
                    0 * z)
