"""Path-traced photos of drawn rooms, with truth: ``python -m tests.bench.seeing.render_rooms DIR [--rooms 18-35]``.

Rooms with four photos each, even numbers nearly empty, odd ones furnished; which are held out: `views`. Rooms and views
come from `rooms` (seeds kept), so the network has never seen them; light, skirting, shade and mirroring are the
renderer's (mitsuba 3, as for the demo photos), not the tracer's it learnt from. Sunlight alone is our tracer's, added
to the other light, and from room 18 on grain is taken out as phones do. Needs what demo_photos/render/README.md lists;
VARIANT=scalar_rgb does without LLVM. DIR/truth.json tells focal length, k1, turn, eye and visible corners of each
photo.
"""

from __future__ import annotations

import argparse
import os
import time
from pathlib import Path

import cv2
import mitsuba as mi
import numpy as np

mi.set_variant(os.environ.get("VARIANT", "llvm_ad_rgb"))

from numpy.typing import NDArray  # noqa: E402

from demo_photos.render.shapes import Mesh, joined, prism, quad, turned  # noqa: E402
from tests.bench.seeing import caster  # noqa: E402
from tests.bench.seeing.pictures import plane  # noqa: E402
from tests.bench.seeing.rooms import _AWAY, Rng, Scene, stacked  # noqa: E402
from tests.bench.seeing.lights import BALL  # noqa: E402
from tests.bench.seeing.traced import behind, draw_on_cpu  # noqa: E402
from tests.bench.seeing.views import SEED, _size, room_views, write_truth  # noqa: E402

SAMPLES = 40

#: A texel of the floor's picture.
STEP_MM = 3.0


def world(scene: Scene, rng: Rng) -> mi.Scene:
    """The room for the renderer, mm."""
    walls = scene["walls"][scene["walls"][:, 0] < _AWAY] * 1000.0
    parts: dict = {"type": "scene", "integrator": {"type": "path", "max_depth": 6}}
    low, high = walls[:, :2].min(axis=0) - 1500, walls[:, :2].max(axis=0) + 1500
    parts["floor"] = _shape(quad([[low[0], low[1], 0], [high[0], low[1], 0], [high[0], high[1], 0],
                                  [low[0], high[1], 0]], [(0, 0), (1, 0), (1, 1), (0, 1)]), _floor(scene, low, high),)
    top = float(scene["ceiling"]) * 1000
    parts["ceiling"] = _shape(quad([[low[0], low[1], top], [low[0], high[1], top], [high[0], high[1], top],
                                    [high[0], low[1], top]]), _matt([0.8, 0.8, 0.78]))
    thick, height = float(scene["skirting"][1]) * 1000, float(scene["skirting"][0]) * 1000
    out = behind(walls, thick)
    openings: dict[int, list] = {}
    for row in scene["decals"]:
        if row[0] >= 0:
            openings.setdefault(int(row[0]), []).append(row)
    for k, wall in enumerate(walls):
        a, b = out[k], out[(k + 1) % len(out)]
        holes = [(r[1] * 1000, r[2] * 1000, r[4] * 1000) for r in openings.get(k, []) if r[8] == 1]
        parts[f"wall{k}"] = _shape(joined(_panels(a, b, top, holes)), _matt(scene["paint"][k]))
        if height > 5:
            gaps = [(r[1] * 1000, r[2] * 1000) for r in openings.get(k, []) if r[9] > 0]
            strips = _skirting(walls[k, :2], walls[k, 2:], a, b, height, gaps)
            if strips:
                parts[f"skirting{k}"] = _shape(joined(strips), _paint(scene["skirting_colour"]))
        u = (wall[2:] - wall[:2]) / np.hypot(*(wall[2:] - wall[:2]))
        n = np.array([-u[1], u[0]])
        for j, row in enumerate(openings.get(k, [])):
            if row[8] == 1:
                continue
            casing = row[9] > 0 and row[8] == 0
            face = -2.0 if row[9] == 0 else 1.5 if row[2] - row[1] < 0.15 else -thick + 2
            z0, z1 = row[3] * 1000, row[4] * 1000
            s0, s1 = row[1] * 1000, row[2] * 1000
            ring = [
                [*(wall[:2] + u * s + n * (face if casing else -thick + 3 + j * 0.5)), z]
                for s, z in ((s0, z0), (s1, z0), (s1, z1), (s0, z1))
            ]
            if row[8] == 2:
                light = {"type": "area", "radiance": {"type": "rgb", "value": [float(c) * 4 for c in row[5:8]]}}
                parts[f"glow{k}_{j}"] = _shape(quad(ring), _matt([0.5, 0.5, 0.5]), light)
            else:
                parts[f"hung{k}_{j}"] = _shape(quad(ring), _paint(row[5:8]))
    for k, b in enumerate(scene["boxes"][scene["boxes"][:, 0] < _AWAY] * np.array([1000] * 6 + [1] * 6)):
        u, v = np.array([b[6], b[7]]), np.array([-b[7], b[6]])
        foot = [b[:2] + p * b[3] * u + q * b[4] * v for p, q in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
        parts[f"box{k}"] = _shape(
            prism(foot, max(b[2] - b[5], 0.3), b[2] + b[5]), _paint(b[8:11]) if rng.random() < 0.5 else _matt(b[8:11])
        )
    for k, t in enumerate(scene["tins"][scene["tins"][:, 0] > -_AWAY]):
        r, z0, z1 = (float(v) * 1000 for v in t[2:5])
        body = turned(t[:2] * 1000, [(0.1, z0 + 1), (r * 0.8, z0 + 1), (r, z1), (r * 0.9, z1), (0.1, z1 - 10)])
        parts[f"tin{k}"] = _shape(body, _paint(t[5:8]))
    lights = _lamps(scene) if scene["lamps"].shape[1] == 14 else _lights(scene, walls, top, rng)
    return mi.load_dict(parts | lights)


def _panels(a, b, top: float, holes) -> list[Mesh]:
    length = float(np.hypot(*(b - a)))
    u = (b - a) / length
    cuts = sorted((max(0.0, s0), min(length, s1), z) for s0, s1, z in holes)
    sheets, at = [], 0.0
    for s0, s1, z in [*cuts, (length, length, 0.0)]:
        if s0 > at:
            sheets.append(_upright(a, u, at, s0, 0, top))
        if z and s1 > s0:
            sheets.append(_upright(a, u, s0, s1, z, top))
        at = max(at, s1)
    return sheets


def _upright(a, u, s0: float, s1: float, z0: float, z1: float) -> Mesh:
    return quad([[*(a + s * u), z] for s, z in ((s0, z0), (s1, z0), (s1, z1), (s0, z1))])


def _skirting(a, b, out_a, out_b, height: float, gaps) -> list[Mesh]:
    """The board in pieces between the gaps, with a small slope at its top."""
    length = float(np.hypot(*(b - a)))
    u = (b - a) / length
    pieces, at = [], 0.0
    for s0, s1 in [*sorted(gaps), (length, length)]:
        if s0 > at + 1:
            ends = []
            for s in (at, min(s0, length)):
                front = a + s * u
                back = out_a if s == 0 else out_b if s >= length else front + (out_a - a) - ((out_a - a) @ u) * u
                mid = 0.4 * front + 0.6 * back
                ends.append([[*front, 0.4], [*front, height - 8], [*mid, height], [*back, height]])
            pieces += [quad([ends[0][k], ends[1][k], ends[1][k + 1], ends[0][k + 1]]) for k in range(3)]
        at = max(at, s1)
    return pieces


def _lights(scene: Scene, walls, top: float, rng: Rng) -> dict:
    """Lamps under the ceiling or a window with sky; sunlight as a narrow bright patch comes from a far strong lamp
    in some rooms."""
    centre = walls[:, :2].mean(axis=0)
    parts = {}
    for k, lamp in enumerate(scene["lamps"]):
        x, y = 0.8 * lamp[:2] * 1000 + 0.2 * centre
        z, r = min(float(lamp[2]) * 1000, top - 60), 120.0 if k else 260.0
        colour = [float(c) for c in lamp[3:] * 14 * (260 / r) ** 1.2]
        parts[f"lamp{k}"] = _shape(
            quad([[x - r, y - r, z], [x - r, y + r, z], [x + r, y + r, z], [x + r, y - r, z]]),
            _matt([0.8, 0.8, 0.8]),
            {"type": "area", "radiance": {"type": "rgb", "value": colour}},
        )
    if scene["sun"][3] > 0:
        s = scene["sun"]
        far = s[4:7] * 1000 - s[:3] * 9000
        parts["sun"] = {"type": "spot", "to_world": mi.ScalarTransform4f().look_at([float(v) for v in far],
                                                                                   [float(v) for v in s[4:7] * 1000],
                                                                                   [0, 0, 1]), "cutoff_angle": 6.0,
                        "beam_width": 5.7, "intensity": {"type": "rgb",
                                                         "value": [float(s[3]) * 5e7, float(s[3]) * 4.6e7,
                                                                   float(s[3]) * 4e7]},}
    parts["ambient"] = {"type": "constant", "radiance": {"type": "rgb", "value": [0.02] * 3}}
    return parts


def _lamps(scene: Scene) -> dict:
    """Windows and lamps as `lights` has them."""
    parts: dict = {"ambient": {"type": "constant", "radiance": {"type": "rgb", "value": [float(v) * 0.2
                                                                                         for v in scene["fill"]]}}}
    for k, row in enumerate(scene["lamps"][scene["lamps"][:, 13] > 0].astype(float)):
        at, u, v = (1000 * row[j:j + 3] for j in (1, 4, 7))
        light = {"type": "area", "radiance": {"type": "rgb", "value": row[10:13].tolist()}}
        if row[0] == BALL:
            parts[f"lamp{k}"] = {"type": "sphere", "center": at.tolist(), "radius": float(u[0]), "light": light}
        else:
            ring = [(at + a * u + b * v).tolist() for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
            parts[f"lamp{k}"] = _shape(quad(ring), _matt([0.5, 0.5, 0.5]), light)
    return parts


def sunlight(scene: Scene, size: tuple[int, int]) -> NDArray[np.float32] | float:
    """(h, w, 3) linear light the sun alone gives through its window, by our tracer."""
    if scene["lamps"].shape[1] != 14 or scene["sun"][3] <= 0:
        return 0.0
    dark = scene | {"lamps": np.zeros_like(scene["lamps"]), "fill": np.zeros(3, np.float32),
                    "beyond": np.zeros(7, np.float32), "grain": np.float32(1.0)}
    dark["decals"] = scene["decals"].copy()
    dark["decals"][dark["decals"][:, 8] == 2, 5:8] = 0.0
    return draw_on_cpu(dark, size, 16)[0]


def _floor(scene: Scene, low, high) -> dict:
    """The drawn floor as a picture."""
    stack = stacked([scene])
    x, y = np.meshgrid(np.arange(low[0], high[0], STEP_MM, dtype=np.float32) / 1000,
                       np.arange(high[1], low[1], -STEP_MM, dtype=np.float32) / 1000)
    rows = []
    for k in range(0, len(x), 256):
        part = x[k : k + 256]
        rows.append(np.stack(caster._floor_colour(stack, np, part.reshape(1, -1), y[k : k + 256].reshape(1, -1)),
                             axis=-1).reshape(*part.shape, 3))
    picture = np.clip(np.concatenate(rows), 0, 0.95).astype(np.float32)
    gloss = float(scene["floor"][14])
    return {
        "type": "twosided",
        "bsdf": {
            "type": "principled",
            "base_color": {"type": "bitmap", "bitmap": mi.Bitmap(np.ascontiguousarray(picture[::-1])), "raw": True},
            "roughness": 0.55 - 0.35 * gloss,
            "specular": 0.3 + 0.3 * gloss,
        },
    }


def _shape(mesh: Mesh, bsdf: dict, emitter: dict | None = None) -> mi.Mesh:
    props = mi.Properties()
    props["mesh_bsdf"] = mi.load_dict(bsdf)
    if emitter:
        props["mesh_emitter"] = mi.load_dict(emitter)
    props["face_normals"] = True
    made = mi.Mesh("m", len(mesh.vertices), len(mesh.faces), has_vertex_normals=False, has_vertex_texcoords=True,
                   props=props)
    params = mi.traverse(made)
    params["vertex_positions"] = mesh.vertices.astype(np.float32).ravel()
    params["faces"] = mesh.faces.astype(np.uint32).ravel()
    params["vertex_texcoords"] = mesh.uv.astype(np.float32).ravel()
    params.update()
    return made


def _matt(colour) -> dict:
    return {"type": "twosided", "bsdf": {"type": "diffuse",
                                         "reflectance": {"type": "rgb", "value": [min(0.9, float(c)) for c in colour]}}}


def _paint(colour) -> dict:
    return {
        "type": "twosided",
        "bsdf": {
            "type": "principled",
            "base_color": {"type": "rgb", "value": [min(0.9, float(c)) for c in colour]},
            "roughness": 0.4,
            "specular": 0.4,
        },
    }


def photo(scene: Scene, built: mi.Scene, size: tuple[int, int], seed: int) -> NDArray[np.float32]:
    """(h, w, 3) linear light through the scene's lens."""
    focal = float(scene["lens"][0]) * max(size)
    u, v = plane(size)
    rays = caster.pixel_rays(stacked([scene]), np, u[None], v[None])
    body = np.stack([r[0] for r in rays], axis=1) @ scene["rotation"].T
    flat = (body[:, :2] / body[:, 2:]).reshape(size[1], size[0], 2)
    wide = [2 * int(np.ceil(focal * np.abs(flat[..., k]).max()) + 3) for k in (0, 1)]
    right, down, forward = scene["rotation"]
    to_world = np.eye(4)
    to_world[:3] = np.column_stack([-right, -down, forward, scene["eye"] * 1000])
    sensor = mi.load_dict({"type": "perspective", "to_world": mi.ScalarTransform4f(to_world), "near_clip": 20.0,
                           "far_clip": 30000.0, "fov_axis": "x",
                           "fov": float(np.degrees(2 * np.arctan(wide[0] / 2 / focal))),
                           "film": {"type": "hdrfilm", "width": wide[0], "height": wide[1], "pixel_format": "rgb",
                                    "rfilter": {"type": "box"}}, "sampler": {"type": "independent",
                                                                             "sample_count": SAMPLES},})
    light = np.array(mi.render(built, sensor=sensor, spp=SAMPLES, seed=seed), dtype=np.float32)
    where = (flat * focal + (np.array(wide) - 1) / 2).astype(np.float32)
    return cv2.remap(np.minimum(light, 20 * np.median(light) + 1e-3), where[..., 0], where[..., 1], cv2.INTER_CUBIC,
                     borderMode=cv2.BORDER_REPLICATE)


def _quietened(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """Grain of the renderer taken out as phones do, keeping edges; they add noise of their own (`developed`)."""
    tone = np.log(light.astype(np.float32) + 1e-3 * float(np.median(light)) + 1e-6)
    return np.exp(cv2.bilateralFilter(tone, 7, 0.3, 1.6))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--rooms", default="0-11")
    parser.add_argument("--photos", default="0-3")
    wanted = parser.parse_args()
    (first, last), (one, other) = ((int(v) for v in span.split("-")) for span in (wanted.rooms, wanted.photos))
    wanted.folder.mkdir(parents=True, exist_ok=True)
    from tests.bench.seeing.pictures import developed

    for number in range(first, last + 1):
        views = room_views(number)
        rng = np.random.default_rng([SEED, number, 1])
        built = world(views[0], rng)
        for k, scene in enumerate(views):
            if not one <= k <= other:
                continue
            rng = np.random.default_rng([SEED, number, 2 + k])
            begun = time.monotonic()
            size = _size(scene)
            phone = scene["phone"].copy()
            phone[:2] += rng.normal(0, [0.2, 0.02])
            phone[6] = np.clip(phone[6], 0.004, 0.03)
            light = np.clip(photo(scene, built, size, 10 * number + k), 0, None) + sunlight(scene, size)
            light = _quietened(light) if scene["lamps"].shape[1] == 14 else light
            pixels = developed(light, phone, rng, 88)
            name = f"room{number:02d}-{k}.jpg"
            cv2.imwrite(str(wanted.folder / name), pixels[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, 88])
            print(f"{name}: {time.monotonic() - begun:.0f} s", flush=True)
    write_truth(wanted.folder)


if __name__ == "__main__":
    main()
