"""Write job.json from truth.json: what a careful person would have marked and typed.

Marks carry a normal error of 2 px, tape lengths one of 2 mm, rounded as a person reads them; the seed is fixed.
Run as ``python -m demo_photos.render.write_job`` from the repository's root, after ``truth``.
"""
from __future__ import annotations

import json

import numpy as np

from demo_photos.render.truth import HOME, as_text
from desk.actions.closeups import keep_in, measure_closeups
from desk.jobfile.files import read_job

SEED, MARK_SD_PX, TAPE_SD_MM = 20240316, 2.0, 2.0

#: What one person with a tape can measure: every wall, three diagonals, how far along its wall the door is. Two points
#: and how they were written down.
TAPES = (("A", "B", "m"), ("B", "C", "mm"), ("C", "D", "m"), ("D", "E", "mm"), ("E", "F", "mm"), ("F", "G", "cm"),
         ("G", "H", "cm"), ("H", "A", "m"), ("A", "C", "m"), ("B", "H", "mm"), ("A", "E", "m"), ("A", "J1", "mm"))
#: Point, wall it was measured square from, and how it was written down.
OFFSETS = (("P1", ("B", "C"), "mm"), ("P1", ("A", "B"), "m"), ("P2", ("B", "C"), "cm"), ("P2", ("A", "B"), "mm"))
#: Photo, wall, and where on its visible part it was clicked, as shares of the wall's length.
WALL_CLICKS = (("photos/room-1.jpg", ("E", "F"), (0.45, 0.85)), ("photos/room-1.jpg", ("C", "D"), (0.2, 0.55)),
               ("photos/room-4.jpg", ("B", "C"), (0.05, 0.17)), ("photos/room-4.jpg", ("H", "A"), (0.84, 0.93)))
#: In a close-up the phone's picture is looked at large; and which of the casing's outline points a person clicks.
CLOSE_SD_PX, OUTLINE_CLICKS = 1.0, (0, 2, 5, 7, 11, 13, 15, 18)

FLOORING = {
    "board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8},
    "underlay": {"thickness": 3, "roll": {"length": 10000, "width": 1000}},
    "gap": 10, "kerf": 3,
    "rules": {"stagger": 300, "shortest": 300, "narrowest": 60},
    "direction": "auto", "first_row": "auto", "start": "auto", "pattern": "fewest", "lay": "left-to-right",
}


def job(truth: dict) -> dict:
    """The whole demo job."""
    rng = np.random.default_rng(SEED)
    points = {name: np.array(xy) for name, xy in truth["points"].items()}
    return {
        "format": "tapegroove-job",
        "version": 1,
        "title": truth["title"],
        "show": "metric",
        "date": "2026-11-25",
        "outline": list(truth["corners"]),
        "cameras": {"c1": {"focal_px": 1201.9, "focal_sd": 0.05, "k1": 0.0, "k1_sd": 0.02}},
        "photos": [_photo(photo, points, rng) for photo in truth["photos"]],
        "targets": {"size": truth["targets"]["size"]},
        "tape": [_tape(points, *line, rng) for line in TAPES] + [_offset(points, *line, rng) for line in OFFSETS],
        "on_wall": [{"point": "J1", "wall": ["A", "B"]}],
        "pipes": [{"name": p["name"], "diameter": int(p["diameter"])} for p in truth["pipes"]],
        "doors": truth["doors"],
        "flooring": FLOORING,
        "closeups": [
            _casing_closeup(truth["closeups"][0], points, rng),
            _pipe_closeup(truth["closeups"][1], points, rng),
        ],
    }


def _photo(photo: dict, points: dict, rng: np.random.Generator) -> dict:
    """A photo with a mark on every floor point it sees and the clicks along walls that end out of sight."""
    marks = [{"point": name, "x": x, "y": y, "sd": MARK_SD_PX}
             for name, (x, y) in ((name, _clicked(px, rng)) for name, px in photo["points"].items())]
    edges = [{"wall": list(wall), "points": [_clicked(_seen_at(photo, points, wall, share), rng) for share in shares]}
             for file, wall, shares in WALL_CLICKS if file == photo["file"]]
    told = {"file": photo["file"], "camera": "c1", "size": photo["size"], "marks": marks}
    return told | ({"edges": edges} if edges else {})


def _casing_closeup(photo: dict, points: dict, rng: np.random.Generator) -> dict:
    """The casing's outline clicked at its corners, and the floor line of its wall."""
    outline = [dict(zip("xy", _clicked(px, rng, CLOSE_SD_PX)))
               for px in (photo["outline"]["px"][k] for k in OUTLINE_CLICKS)]
    return {"file": photo["file"], "of": photo["of"], "camera": "c1", "beside": "a4", "leg": "left", "mirror": True,
            "outline": outline, "edges": [_wall_clicks(photo, points, ("A", "B"), (0.319, 0.362, 0.404), rng)]}


def _pipe_closeup(photo: dict, points: dict, rng: np.random.Generator) -> dict:
    """The front of the pipe's ring, two places on each of its outlines, and the floor line behind it."""
    middle, radius = np.array(photo["circle"]["centre_mm"]), photo["circle"]["diameter"] / 2
    towards = np.array(photo["eye"][:2]) - middle
    turn, half = np.arctan2(towards[1], towards[0]), np.arccos(radius / np.hypot(*towards))
    ring = [middle + radius * np.array([np.cos(turn + a), np.sin(turn + a)])
            for a in np.linspace(-0.95 * half, 0.95 * half, 5)]
    rims = [middle + radius * np.array([np.cos(turn + a), np.sin(turn + a)]) for a in (-half, half)]
    return {"file": photo["file"], "of": photo["of"], "camera": "c1", "beside": "card",
            "ring": [_clicked(_px_of(photo, (*place, 0.0)), rng, CLOSE_SD_PX) for place in ring],
            "sides": [[_clicked(_px_of(photo, (*rim, up)), rng, CLOSE_SD_PX) for up in (20.0, 80.0)] for rim in rims],
            "edges": [_wall_clicks(photo, points, ("B", "C"), (0.322, 0.355, 0.393), rng)]}


def _wall_clicks(photo: dict, points: dict, wall: tuple[str, str], shares: tuple[float, ...],
                 rng: np.random.Generator) -> dict:
    return {"wall": list(wall), "points": [_clicked(_seen_at(photo, points, wall, share), rng, CLOSE_SD_PX)
                                           for share in shares]}


def _clicked(px: list[float] | np.ndarray, rng: np.random.Generator, sd_px: float = MARK_SD_PX) -> list[float]:
    """A person's click on a true px."""
    return np.round(np.asarray(px) + rng.normal(0.0, sd_px, 2), 1).tolist()


def _seen_at(photo: dict, points: dict, wall: tuple[str, str], share: float) -> np.ndarray:
    """px of a point on a wall's floor line, by the camera model truth.json states."""
    plan = points[wall[0]] + share * (points[wall[1]] - points[wall[0]])
    return _px_of(photo, (*plan, 0.0))


def _px_of(photo: dict, place: tuple[float, float, float]) -> np.ndarray:
    """px of a place over the floor, by the camera model truth.json states."""
    x, y, z = np.array(photo["rotation"]) @ np.array(place) + photo["shift"]
    plane = np.array([x, y]) / z
    return photo["focal_px"] * plane * (1 + photo["k1"] * plane @ plane) + photo["centre_px"]


def _tape(points: dict, a: str, b: str, form: str, rng: np.random.Generator) -> dict:
    """A tape length between two points as read and written by a person."""
    mm = _read(float(np.hypot(*(points[b] - points[a]))), rng)
    return {"between": [a, b], "mm": mm, "typed": _typed(mm, form), "sd": TAPE_SD_MM}


def _offset(points: dict, point: str, wall: tuple[str, str], form: str, rng: np.random.Generator) -> dict:
    """A distance square off a wall line as read and written by a person."""
    start, end = points[wall[0]], points[wall[1]]
    along = (end - start) / np.hypot(*(end - start))
    inward = np.array([-along[1], along[0]])
    mm = _read(float((points[point] - start) @ inward), rng)
    return {"point": point, "wall": list(wall), "mm": mm, "typed": _typed(mm, form), "sd": TAPE_SD_MM}


def _read(true_mm: float, rng: np.random.Generator) -> int:
    """A tape read to the millimetre with its error."""
    return round(true_mm + rng.normal(0.0, TAPE_SD_MM))


def _typed(mm: int, form: str) -> str:
    """The length as a person writes it, always with its unit: "4.312 m", "123,4 cm" or "1204 mm"."""
    if form == "m":
        return f"{mm / 1000:.3f} m"
    return f"{mm} mm" if form == "mm" else f"{mm / 10:.1f} cm".replace(".", ",")


def main() -> None:
    """Read truth.json, write job.json beside it, then measure the close-ups and keep in the job what they tell."""
    truth = json.loads((HOME / "truth.json").read_text(encoding="utf-8"))
    (HOME / "job.json").write_text(as_text(job(truth)) + "\n", encoding="utf-8")
    made = read_job(HOME)
    (HOME / "job.json").write_text(as_text(keep_in(made, measure_closeups(HOME, made))) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
