"""The log of the day: entries in job.json to what happened, and back. Entries are only ever added."""
from __future__ import annotations

from collections.abc import Callable
from typing import Any

from desk.jobfile.json_reader import Node
from desk.jobfile.job import DayEntry
from layout.replan.events import (
    BoardsLeft, BoardsSpoiled, Event, FirstRowWidth, FloorPushed, Obstacle, OffcutFound, OffcutGone, OffcutShort,
    PieceCut, RowBegun, RowDown, Sight, ToFarWall)


def day_entry(node: Node) -> DayEntry:
    """One entry. Notes a fault for a kind this version does not know: a log with a hole in it must not be followed."""
    node.mapping()
    node.leave("on")
    what = node.need("what", lambda n: n.choice(tuple(_READERS) + ("undo",)), wanted="what happened")
    said = node.part("said", Node.text) or ""
    if what == "undo":
        return DayEntry(event=None, undoes=node.need("entry", lambda n: n.whole(wanted="the number of an entry"),
                                                     wanted="the entry to take back"), said=said, where=node.where)
    return DayEntry(event=_READERS[what](node), said=said, where=node.where)


def entry_tree(event: Event) -> dict[str, Any]:
    """What happened as it stands in job.json."""
    match event:
        case RowDown(row=row):
            return {"what": "row-down", "row": row}
        case RowBegun(row=row):
            return {"what": "row-begun", "row": row}
        case PieceCut(piece=piece, length_mm=length):
            return {"what": "piece-cut", "piece": piece, "mm": length}
        case BoardsSpoiled(count=count):
            return {"what": "boards-spoiled", "count": count}
        case OffcutGone(label=label):
            return {"what": "offcut-gone", "offcut": label}
        case OffcutShort(label=label, piece=piece):
            return {"what": "offcut-short", "offcut": label, "piece": piece}
        case OffcutFound(label=label, length_mm=length, keeps=keeps):
            return {"what": "offcut-found", "offcut": label, "mm": length, "keeps": list(keeps)}
        case ToFarWall(row=row, sights=sights):
            return {"what": "to-far-wall", "row": row, "distances": [_sight_tree(sight) for sight in sights]}
        case BoardsLeft(count=count):
            return {"what": "boards-left", "count": count}
        case FirstRowWidth(width_mm=width):
            return {"what": "first-row", "mm": width}
        case FloorPushed(towards_start_mm=towards):
            return {"what": "floor-pushed", "towards_start": towards}
        case Obstacle():
            size = {"diameter": event.diameter_mm} if event.diameter_mm else {"size": list(event.size_mm)}
            return {"what": "obstacle", "name": event.name, "row": event.row, "left": event.left_mm,
                    "ahead": event.ahead_mm} | size
    raise TypeError(event)


def _sight_tree(sight: Sight) -> dict[str, Any]:
    return {"side": sight.side, "mm": sight.distance_mm} if sight.side else {"at": sight.at_mm, "mm": sight.distance_mm}


def _count(node: Node, least: int = 1) -> int:
    return node.need("count", lambda n: n.whole(wanted="a whole number", least=least), wanted="how many")


def _row(node: Node, least: int = 1) -> int:
    return node.need("row", lambda n: n.whole(wanted="a row's number", least=least), wanted="the row")


def _label(node: Node) -> str:
    return node.need("offcut", Node.name, wanted="the label of the offcut")


def _piece(node: Node) -> str:
    return node.need("piece", Node.name, wanted='the piece, such as "4.5"')


def _found(node: Node) -> OffcutFound:
    keeps = node.each("keeps", lambda n: n.choice(("left", "right")))
    if not keeps:
        raise node.fault(f'{node.where} must say which factory ends the piece keeps, such as "keeps": ["left"].',
                         "missing-field")
    return OffcutFound(label=_label(node), length_mm=node.length("mm", least=1.0, like="640"), keeps=keeps)


def _to_wall(node: Node) -> ToFarWall:
    sights = node.each("distances", _sight)
    if not sights:
        raise node.fault(f"{node.where} holds no distance to the wall.", "missing-field")
    return ToFarWall(row=_row(node, 0), sights=sights)


def _sight(node: Node) -> Sight:
    node.mapping()
    side = node.part("side", lambda n: n.choice(("left", "right"))) or ""
    at = None if side else node.length("at", like="350")
    return Sight(distance_mm=node.length("mm", like="1803"), side=side, at_mm=at)


def _obstacle(node: Node) -> Obstacle:
    diameter = node.maybe_length("diameter", least=1.0, like="22")
    size = (0.0, 0.0) if diameter else node.need("size", Node.place,
                                                 wanted="its size along and across the rows, or a diameter")
    return Obstacle(name=node.need("name", Node.name, wanted="a name for it"), row=_row(node, 0),
                    left_mm=node.length("left", like="1204"), ahead_mm=node.length("ahead", like="356"),
                    diameter_mm=diameter or 0.0, size_mm=size)


_READERS: dict[str, Callable[[Node], Event]] = {
    "row-down": lambda node: RowDown(row=_row(node)),
    "row-begun": lambda node: RowBegun(row=_row(node)),
    "piece-cut": lambda node: PieceCut(piece=_piece(node), length_mm=node.length("mm", least=1.0, like="412")),
    "boards-spoiled": lambda node: BoardsSpoiled(count=_count(node)),
    "offcut-gone": lambda node: OffcutGone(label=_label(node)),
    "offcut-short": lambda node: OffcutShort(label=_label(node), piece=_piece(node)),
    "offcut-found": _found,
    "to-far-wall": _to_wall,
    "obstacle": _obstacle,
    "boards-left": lambda node: BoardsLeft(count=_count(node, 0)),
    "floor-pushed": lambda node: FloorPushed(
        towards_start_mm=node.need(
            "towards_start", lambda n: n.number(wanted="a distance in mm"), wanted="how far towards the start wall"
        )
    ),
    "first-row": lambda node: FirstRowWidth(width_mm=node.length("mm", least=1.0, like="130")),
}
