"""From the JSON of a job file to its close-ups, and to what was traced in them of a door's casing: field by field,
every fault noted."""
from __future__ import annotations

from typing import Any

from desk.jobfile.json_reader import Node
from desk.jobfile.job import CloseupEntry, EdgeEntry, OutlineClick, Point

BESIDE = ("a4", "letter", "card", "target")
LEGS = ("left", "right")
#: Words for the same things in jobs written before close-ups were measured.
_BESIDE_WORDS = {"A4 sheet": "a4", "Letter sheet": "letter", "blank ID-1 card": "card", "floor target": "target"}


def closeup(node: Node) -> CloseupEntry:
    """One close-up."""
    node.mapping()
    return CloseupEntry(file=node.need("file", Node.path, wanted="the path of the picture in the job's folder"),
                        of=node.part("of", Node.name) or "", beside=node.part("beside", _beside) or "",
                        camera=node.part("camera", Node.name) or "",
                        corners_px=node.part("corners", lambda n: _places(n, 4,
                                                                          "the four corners of the sheet or card"))
                        or (), outline=node.each("outline", _click), closed=node.part("closed", Node.yes_or_no)
                        or False, leg=node.part("leg", lambda n: n.choice(LEGS)) or "",
                        mirror=node.part("mirror", Node.yes_or_no) or False, ring_px=node.each("ring", Node.place),
                        sides_px=node.each("sides", lambda n: _places(n, 2, "two places on one outline of the pipe")),
                        edges=node.each("edges", edge), height_mm=node.maybe_length("height", like="0") or 0.0,
                        click_sd_px=node.part("click_sd", Node.spread), where=node.where)


def edge(node: Node) -> EdgeEntry:
    """Clicks on the floor line of a wall."""
    node.mapping()
    wall = node.need("wall", Node.pair, wanted='the two corners of the wall, such as ["A", "B"]')
    return EdgeEntry(wall=wall, points_px=node.each("points", Node.place), sd_px=node.part("sd", Node.spread),
                     where=node.where)


def casing_legs(casing: Node) -> dict[str, Any]:
    """The traced legs of a casing and how the boards are to meet it, as fields of a DoorEntry."""
    legs = casing.part("legs", Node.mapping)
    traced = () if legs is None else tuple((leg, ring) for leg in LEGS if (ring := legs.part(leg, _ring)) is not None)
    cut = casing.part("cut", lambda n: n.choice(("undercut", "scribe")))
    return {"legs": traced, "legs_pm_mm": casing.maybe_length("pm", like="0.5") or 0.0, "scribe": cut == "scribe"}


def _beside(node: Node) -> str:
    if isinstance(node.value, str) and node.value in _BESIDE_WORDS:
        return _BESIDE_WORDS[node.value]
    return node.choice(BESIDE)


def _click(node: Node) -> OutlineClick:
    node.mapping()
    x, y = (node.need(key, lambda n: n.number(wanted="a place in the picture in px"),
                      wanted="its place in the picture in px") for key in "xy")
    return OutlineClick(x_px=x, y_px=y, on_arc=node.part("arc", Node.yes_or_no) or False)


def _places(node: Node, count: int, what: str) -> tuple[Point, ...]:
    if not isinstance(node.value, list) or len(node.value) != count:
        raise node.wrong(f"a list of {count} [x, y] places in px: {what}")
    return tuple(node.child(i).place() for i in range(count))


def _ring(node: Node) -> tuple[Point, ...]:
    if not isinstance(node.value, list) or len(node.value) < 3:
        raise node.wrong("a list of three or more [away from the opening, into the room] places in mm")
    return tuple(node.child(i).place() for i in range(len(node.value)))
