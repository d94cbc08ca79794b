"""The lit scene for the renderer (mitsuba 3): materials, textures, lights.

Two lightings are rendered apart and added: "sky" (window daylight and a warm lamp on the landing) and "sun" (one
direction through the window; the sky's emitter would stand in its way).
"""
from __future__ import annotations

import mitsuba as mi
import numpy as np

from demo_photos.render import building, room, targets, textures
from demo_photos.render.camera import View
from demo_photos.render.shapes import Mesh, cloth, joined, prism, quad, turned

FLOOR_BOX = (-60.0, 4380.0, -140.0, 3440.0)
WALL_STEP_MM = 4.0
SUN_TOWARDS = (-0.80, 0.13, -0.60)


class Textures:
    """Pictures of floor and walls, made once and shared by all views."""

    def __init__(self, floor_step_mm: float) -> None:
        self.floor = _floor_picture(FLOOR_BOX, floor_step_mm)
        self.walls = {wall: _wall_picture(400 + 37 * k) for k, wall in enumerate(room.walls())}


def build(view: View, pictures: Textures, lighting: str) -> mi.Scene:
    """The scene as seen in a view, under "sky" or "sun"."""
    parts = {"type": "scene", "integrator": {"type": "path", "max_depth": 8 if lighting == "sky" else 6}}
    parts |= _fabric(pictures) | _props() | _beside(view)
    parts |= _sky() if lighting == "sky" else _sun()
    return mi.load_dict(parts)


def _fabric(pictures: Textures) -> dict:
    """Floor, walls, joinery, radiator and pipes."""
    white, cream = _paint((0.85, 0.84, 0.81), 0.22), _paint((0.83, 0.81, 0.75), 0.2)
    parts = {"floor": _shape("floor", building.floor_sheet(0.0, FLOOR_BOX), _boards(pictures.floor)),
             "ground": _shape("ground", building.floor_sheet(-0.6), _matt((0.25, 0.18, 0.12))),
             "ceiling": _shape("ceiling", building.ceiling(), _matt((0.80, 0.79, 0.76))),
             "skirting": _shape("skirting", building.skirtings(), cream),
             "casing": _shape("casing", joined([building.door_casing(), building.door_lining()]), cream),
             "hall": _shape("hall", building.hall(), _matt((0.62, 0.58, 0.50))),
             "carpet": _shape("carpet", building.hall_carpet(), _matt((0.16, 0.17, 0.20))),
             "reveal": _shape("reveal", building.window_reveal(), _matt((0.72, 0.71, 0.66))),
             "window": _shape("window", building.window_joinery(), white),
             "radiator": _shape("radiator", building.radiator(), white),
             "plates": _shape("plates", joined([building.plates(), building.valve_heads()]), white),
             "valves": _shape("valves", building.valves(), _metal("Cr", 0.16)),
             "pipes": _shape("pipes", building.pipes(), _metal("Cu", 0.17)),
             "holes": _shape("holes", building.pipe_holes(), _matt((0.03, 0.025, 0.02)))}
    for k, (wall, picture) in enumerate(pictures.walls.items()):
        parts[f"wall{k}"] = _shape(f"wall{k}", building.wall_plaster(wall), _matt_picture(picture))
    return parts


def _props() -> dict:
    """What the people at work have left standing about."""
    bucket, sheet, tin = room.PROPS
    body = turned(bucket.centre, [(0.1, 1.0), (112.0, 1.0), (141.0, 280.0), (150.0, 283.0), (150.0, 305.0),
                                  (140.0, 305.0), (138.0, 280.0), (112.0, 12.0), (0.1, 12.0)])
    can = turned(tin.centre, [(0.1, 0.5), (82.0, 0.5), (82.0, 4.0), (80.0, 6.0), (80.0, 183.0), (82.0, 185.0),
                              (82.0, 190.0), (76.0, 190.0), (74.0, 184.0), (0.1, 184.0)])
    band = turned(tin.centre, [(80.5, 22.0), (80.5, 170.0)])
    cartons = joined([prism(room.slab_footprint(s), s.bottom_mm + 0.3, s.bottom_mm + s.size_mm[2]) for s in room.SLABS])
    return {"bucket": _shape("bucket", body, _paint((0.018, 0.018, 0.02), 0.25)),
            "cloth": _shape("cloth", cloth(sheet.centre, sheet.radius_mm, sheet.height_mm, 17),
                            _matt((0.66, 0.57, 0.44)), smooth=True), "tin": _shape("tin", can, _metal("Al", 0.25)),
            "band": _shape("band", band, _paint((0.70, 0.72, 0.70), 0.2)),
            "cartons": _shape("cartons", cartons, _matt((0.47, 0.36, 0.245))),
            "tape": _shape("tape", _carton_tape(), _paint((0.62, 0.56, 0.44), 0.1))}


def _carton_tape() -> Mesh:
    """Parcel tape along the middle of the upper carton."""
    top = room.SLABS[-1]
    strip = room.Slab(what="tape", centre=top.centre, size_mm=(top.size_mm[0], 48.0, 0.0), turn_deg=top.turn_deg)
    z = top.bottom_mm + top.size_mm[2] + 0.3
    return quad(np.column_stack([room.slab_footprint(strip), np.full(4, z)]))


def _beside(view: View) -> dict:
    """The targets of a room photo; the sheet or card of a close-up, with a finer picture of the boards about it."""
    if view.file.startswith("room"):
        return _targets()
    slab = room.SHEET if "casing" in view.file else room.CARD
    colour = (0.84, 0.84, 0.83) if slab is room.SHEET else (0.76, 0.77, 0.75)
    x, y = slab.centre
    box = (x - 760.0, x + 560.0, y - 560.0, y + 560.0)
    return {"sheet": _shape("sheet", prism(room.slab_footprint(slab), 0.03, slab.size_mm[2]), _paint(colour, 0.35)),
            "near": _shape("near", building.floor_sheet(0.02, box), _boards(_floor_picture(box, 0.4)))}


def _targets() -> dict:
    """The printed floor targets, each taped down at its corners."""
    whole, parts = [(0, 0), (1, 0), (1, 1), (0, 1)], {}
    for laid in targets.LAID:
        paper = quad(_lying(targets.sheet_mm(laid), targets.PAPER_UP_MM), whole)
        parts[f"target{laid.number}"] = _shape(f"target{laid.number}", paper, _matt_picture(targets.picture(laid)))
    strips = [quad(_lying(strip, targets.TAPE_UP_MM)) for laid in targets.LAID for strip in targets.strips_mm(laid)]
    return parts | {"strips": _shape("strips", joined(strips), _matt((0.66, 0.55, 0.33)))}


def _lying(plan: np.ndarray, up_mm: float) -> np.ndarray:
    """(k, 3) world places of (k, 2) plan places at one height."""
    return np.column_stack([plan, np.full(len(plan), up_mm)])


def _sky() -> dict:
    """Daylight from a bright picture outside the window; a weak warm lamp on the landing."""
    w = room.WINDOW
    middle = w.from_mm + w.width_mm / 2
    at = [(middle - 1500, -650, 200), (middle + 1500, -650, 200), (middle + 1500, -650, 2900),
          (middle - 1500, -650, 2900)]
    outside = quad([[*room.at_wall(w.wall, s, off), z] for s, off, z in at], [(0, 0), (1, 0), (1, 1), (0, 1)])
    lamp = quad([(600, -500, 2400), (600, -900, 2400), (1200, -900, 2400), (1200, -500, 2400)])
    return {"outside": _lamp("outside", outside, _bitmap(_outdoors()), inward=True),
            "lamp": _lamp("lamp", lamp, {"type": "rgb", "value": [9.0, 6.6, 4.2]}, inward=False)}


def _sun() -> dict:
    """The sun through the window."""
    return {"sun": {"type": "directional", "direction": list(SUN_TOWARDS),
                    "irradiance": {"type": "rgb", "value": [7.4, 6.6, 5.4]}}}


def _outdoors() -> np.ndarray:
    """(64, 64, 3) radiance outside: pale sky over hedge and grass, out of focus; first line is the top."""
    up = np.linspace(1, 0, 64)[:, None, None] * np.ones((1, 64, 1))
    bumps = 0.05 * np.sin(np.linspace(0, 9, 64))[None, :, None]
    share = np.clip((up - 0.40 - bumps) / 0.12, 0, 1)
    sky = np.array([10.6, 11.4, 12.4]) * (0.8 + 0.35 * up)
    return ((1 - share) * np.array([1.6, 2.1, 1.1]) + share * sky).astype(np.float32)


def _floor_picture(box: tuple[float, float, float, float], step_mm: float) -> np.ndarray:
    """The boards over a rectangle, first line at its greatest y."""
    x = np.arange(box[0] + step_mm / 2, box[1], step_mm, dtype=np.float32)
    y = np.arange(box[3] - step_mm / 2, box[2], -step_mm, dtype=np.float32)
    lines = [textures.floor_colour(*np.meshgrid(x, y[k:k + 256])) for k in range(0, len(y), 256)]
    return np.concatenate(lines).astype(np.float16).astype(np.float32)


def _wall_picture(seed: int) -> np.ndarray:
    """A wall's paint over (5000, 2500) mm from 100 mm before its first corner, first line at the top."""
    s, z = np.meshgrid(np.arange(-100.0, 4900.0, WALL_STEP_MM, dtype=np.float32),
                       np.arange(2500.0, 0.0, -WALL_STEP_MM, dtype=np.float32))
    return textures.wall_colour(s, z, seed)


def _boards(picture: np.ndarray) -> dict:
    """Worn boards: nearly matt, a little sheen at a low angle."""
    return {"type": "twosided", "bsdf": {"type": "principled", "base_color": _bitmap(picture),
                                         "roughness": 0.52, "specular": 0.32}}


def _matt(colour: tuple[float, float, float]) -> dict:
    """Matt paint, cloth, card."""
    return {"type": "twosided", "bsdf": {"type": "diffuse", "reflectance": {"type": "rgb", "value": list(colour)}}}


def _matt_picture(picture: np.ndarray) -> dict:
    """Matt paint with a picture."""
    return {"type": "twosided", "bsdf": {"type": "diffuse", "reflectance": _bitmap(picture)}}


def _paint(colour: tuple[float, float, float], alpha: float) -> dict:
    """Satin paint or plastic."""
    return {"type": "twosided", "bsdf": {"type": "roughplastic", "alpha": alpha,
                                         "diffuse_reflectance": {"type": "rgb", "value": list(colour)}}}


def _metal(material: str, alpha: float) -> dict:
    """A dull metal."""
    return {"type": "twosided", "bsdf": {"type": "roughconductor", "material": material, "alpha": alpha}}


def _bitmap(picture: np.ndarray) -> dict:
    """A linear-light texture; the renderer has v = 0 at a picture's first line, we have it at the last (the bottom)."""
    pixels = mi.Bitmap(np.ascontiguousarray(picture[::-1], dtype=np.float32))
    return {"type": "bitmap", "bitmap": pixels, "raw": True, "wrap_mode": "clamp"}


def _shape(name: str, mesh: Mesh, bsdf: dict | None, *, smooth: bool = False, emitter: dict | None = None) -> mi.Mesh:
    """A renderer's mesh."""
    props = mi.Properties()
    if bsdf is not None:
        props["mesh_bsdf"] = mi.load_dict(bsdf)
    if emitter is not None:
        props["mesh_emitter"] = mi.load_dict(emitter)
    props["face_normals"] = not smooth
    shape = mi.Mesh(name, len(mesh.vertices), len(mesh.faces), has_vertex_normals=smooth, has_vertex_texcoords=True,
                    props=props)
    params = mi.traverse(shape)
    params["vertex_positions"] = mesh.vertices.astype(np.float32).ravel()
    params["faces"] = mesh.faces.astype(np.uint32).ravel()
    params["vertex_texcoords"] = mesh.uv.astype(np.float32).ravel()
    params.update()
    return shape


def _lamp(name: str, mesh: Mesh, radiance: dict, *, inward: bool) -> mi.Mesh:
    """An emitting mesh that shines towards the room's middle (`inward`) or down."""
    a, b, c = mesh.vertices[mesh.faces[0]]
    normal = np.cross(b - a, c - a)
    wanted = np.array([2100.0, 1700.0, 1200.0]) - a if inward else np.array([0.0, 0.0, -1.0])
    faces = mesh.faces if normal @ wanted > 0 else mesh.faces[:, ::-1]
    return _shape(name, Mesh(mesh.vertices, faces, mesh.uv), _matt((0.0, 0.0, 0.0)),
                  emitter={"type": "area", "radiance": radiance})
