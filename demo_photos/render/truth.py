"""Write truth.json: where everything in the pictures really is, in mm and px, by geometry and projection alone.

Run as ``python -m demo_photos.render.truth`` from the repository's root; no renderer needed.
"""
from __future__ import annotations

import json
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from demo_photos.render import room, targets
from demo_photos.render.camera import View, project, rotation, shift
from demo_photos.render.sight import looks
from demo_photos.render.views import CASING_VIEW, PIPE_VIEW, ROOM_VIEWS
from printpack.fullsize.target_sheets import SIDE_OF_SQUARE_MM

HOME = Path(__file__).resolve().parent.parent

ABOUT = {
    "what": "An invented room and the pictures rendered of it. Nothing here shows a real place.",
    "plan": "mm; x right, y up, z up from the floor; corners lie on the floor at the skirting's face; A is the origin, "
            "A-B along +x, corners anticlockwise.",
    "px": "Upright picture (EXIF orientation applied); x right, y down; (0, 0) is the centre of the top-left pixel.",
    "camera": "x_cam = rotation @ (x, y, z) + shift, mm, z forward, x right, y down; (u, v) = (x, y) / z; "
              "r2 = u^2 + v^2; px = focal_px * (u, v) * (1 + k1 * r2) + centre_px (OpenCV's model, k1 alone).",
    "visible": "'hidden' means inside the picture with something in front of it.",
    "casing": "thickness is how far the casing stands out from the wall line, that is from the skirting's face.",
    "targets": "printed floor targets: middle and corners of the black square in plan; corners in the order of the "
               "print (top left, "
               "top right, bottom right, bottom left), clockwise from above; the paper's face is z above the floor. A "
               "photo "
               "lists those that stand whole in it, px of the corners by number.",
    "J1": "where the skirting meets the casing on the far side of the door: a point on the wall line A-B.",
}


def truth() -> dict:
    """Everything truth.json holds."""
    return {"about": ABOUT, "title": "Back bedroom (invented)", "corners": _named(room.CORNERS),
            "points": _named(room.floor_points()), "walls": _walls(), "pipes": _pipes(), "doors": [_door()],
            "skirting": {"height": room.SKIRTING.height_mm, "thickness": room.SKIRTING.thickness_mm},
            "targets": _targets(),
            "photos": [_photo(view) for view in ROOM_VIEWS],
            "closeups": [_casing_closeup(), _pipe_closeup()]}


def _named(places: dict) -> dict:
    """Places by name, rounded to 0.01 mm."""
    return {name: [round(float(c), 2) for c in place] for name, place in places.items()}


def _walls() -> list[dict]:
    """Every wall's true length."""
    return [{"from": a, "to": b, "length": round(room.wall_frame((a, b))[3], 2)} for a, b in room.walls()]


def _pipes() -> list[dict]:
    """Pipe centres and outside diameters."""
    return [{"name": p.name, "diameter": p.diameter_mm, "centre": _list(room.pipe_centre(p), 2)} for p in room.PIPES]


def _door() -> dict:
    """The door as a job states it."""
    d = room.DOOR
    return {"name": d.name, "wall": list(d.wall), "from": d.from_mm, "width": d.width_mm, "reveal": d.reveal_mm,
            "casing": {"width": d.casing_width_mm, "thickness": d.casing_proud_mm}}


def _camera(view: View) -> dict:
    """File, size and camera of a view."""
    return {"file": f"photos/{view.file}", "size": list(view.size_px), "exif_orientation": view.orientation,
            "focal_px": view.lens.focal_px, "k1": view.lens.k1, "centre_px": list(view.centre_px),
            "rotation": _list(rotation(view), 9), "shift": _list(shift(view), 5), "eye": list(view.eye_mm)}


def _photo(view: View) -> dict:
    """A room photo with its visible and hidden points."""
    seen = looks(view)
    return _camera(view) | {"points": {name: _list(px, 3) for name, (px, state) in seen.items() if state == "seen"},
                            "hidden": [name for name, (_, state) in seen.items() if state == "hidden"],
                            "targets": {str(laid.number): _list(px, 3) for laid in targets.LAID
                                        if (px := targets.corners_px(view, laid)) is not None}}


def _targets() -> dict:
    """The floor targets in plan."""
    return {"size": SIDE_OF_SQUARE_MM, "z": targets.PAPER_UP_MM,
            "laid": [{"number": laid.number, "middle": _list(laid.centre, 2), "turn_deg": laid.turn_deg,
                      "corners": _list(targets.corners_mm(laid), 3)} for laid in targets.LAID]}


def _casing_closeup() -> dict:
    """The casing's far leg where it meets the floor, from the skirting's face round to the lining, and the sheet."""
    leg = room.casing_footprint("second")[1:-1]
    traced = np.concatenate([[room.floor_points()["J1"]], leg])
    return _camera(CASING_VIEW) | {
        "of": "D1", "beside": _slab(CASING_VIEW, room.SHEET),
        "outline": {"mm": _list(traced, 3), "px": _list(project(CASING_VIEW, _on_floor(traced)), 3)}}


def _pipe_closeup() -> dict:
    """The pipe's circle on the floor and the card."""
    pipe = room.PIPES[0]
    centre, turn = room.pipe_centre(pipe), np.linspace(0, 2 * np.pi, 24, endpoint=False)
    ring = centre + pipe.diameter_mm / 2 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return _camera(PIPE_VIEW) | {
        "of": pipe.name, "beside": _slab(PIPE_VIEW, room.CARD),
        "circle": {"centre_mm": _list(centre, 3), "diameter": pipe.diameter_mm,
                   "centre_px": _list(project(PIPE_VIEW, _on_floor(centre[None]))[0], 3),
                   "ring_mm": _list(ring, 3), "ring_px": _list(project(PIPE_VIEW, _on_floor(ring)), 3)}}


def _slab(view: View, slab: room.Slab) -> dict:
    """The upper corners of a sheet or card, in mm and px; `z` is its thickness."""
    corners, thickness = room.slab_footprint(slab), slab.size_mm[2]
    return {"what": slab.what, "size": list(slab.size_mm[:2]), "z": thickness, "mm": _list(corners, 3),
            "px": _list(project(view, _on_floor(corners, thickness)), 3)}


def _on_floor(plan: NDArray[np.float64], up_mm: float = 0.0) -> NDArray[np.float64]:
    """(k, 3) world points of (k, 2) plan points."""
    return np.column_stack([plan, np.full(len(plan), up_mm)])


def _list(array: NDArray[np.float64], digits: int) -> list:
    """Nested lists of rounded floats."""
    return np.round(np.asarray(array, dtype=float), digits).tolist()


def as_text(value: object, depth: int = 3, indent: str = "") -> str:
    """JSON with the outer levels laid out and everything `depth` levels in on one line, so that a change reads well."""
    flat = json.dumps(value, ensure_ascii=False)
    if depth == 0 or not isinstance(value, (dict, list)) or len(flat) + len(indent) < 100:
        return flat
    inner = indent + "  "
    if isinstance(value, dict):
        parts = [f"{json.dumps(key)}: {as_text(item, depth - 1, inner)}" for key, item in value.items()]
    else:
        parts = [as_text(item, depth - 1, inner) for item in value]
    opening, closing = "{}" if isinstance(value, dict) else "[]"
    return opening + "\n" + ",\n".join(inner + part for part in parts) + "\n" + indent + closing


def main() -> None:
    """Write truth.json beside the photos."""
    (HOME / "truth.json").write_text(as_text(truth()) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
