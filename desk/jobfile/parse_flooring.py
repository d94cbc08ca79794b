"""The flooring keys that say more than sizes: a gap left open, climate, profiles, subfloor, beading bars, pieces at
hand."""
from __future__ import annotations

from typing import Any

from desk.jobfile.json_reader import Node
from desk.jobfile.job import BeadingEntry, BoardEntry, ClimateEntry, OwnPieceEntry


def more_flooring(node: Node) -> dict[str, Any]:
    """The fields of a FlooringEntry that these keys fill."""
    gap = node.part("gap", _gap)
    stock = node.each("stock", _own_pieces)
    return {"gap_mm": gap if isinstance(gap, float) else None, "gap_auto": gap == "auto",
            "gap_least_mm": node.maybe_length("gap_least", least=0.0, like="8"),
            "gap_most_mm": node.maybe_length("gap_most", least=0.0, like="13"),
            "light": node.part("light", lambda n: n.pair()), "climate": node.part("climate", _climate),
            "longest_mm": node.maybe_length("longest", least=1.0, like="10000"),
            "subfloor": node.part("subfloor", lambda n: n.choice(("mineral", "timber"))) or "",
            "beading": node.part("beading", _beading), "stock": tuple(piece for pieces in stock for piece in pieces)}


def board_of(node: Node) -> BoardEntry:
    """The board as bought. With `lengths` the longest of them stands for a length that is not told."""
    node.mapping()
    lengths = node.each("lengths", _in_a_pack)
    length = (
        node.maybe_length("length", like="1285")
        if node.has("lengths") and node.value["lengths"]
        else node.length("length", like="1285")
    )
    return BoardEntry(length_mm=length or max((length for length, _ in lengths), default=0.0),
                      width_mm=node.length("width", like="192"), thickness_mm=node.maybe_length("thickness", like="8"),
                      lengths=lengths, pack=node.part("pack",
                                                      lambda n: n.whole(
        wanted="the number of boards in a pack, such as 8")), where=node.where)


def _in_a_pack(node: Node) -> tuple[float, int]:
    """A length, and how many boards of it a pack holds."""
    node.mapping()
    wanted = "how many boards of this length a pack holds, such as 2"
    return node.length("length", like="1400"), node.need("count", lambda n: n.whole(wanted=wanted), wanted=wanted)


def _gap(node: Node) -> float | str:
    if node.value == "auto":
        return "auto"
    return node.number(least=0.0, wanted='"auto" or a length in mm, such as 10')


def _climate(node: Node) -> ClimateEntry:
    """Relative humidity in percent."""
    node.mapping()
    low, high = (node.need(key, lambda n: n.number(least=0.0, wanted="a humidity in percent, such as 45"),
                           wanted="a humidity in percent, such as 45") for key in ("low", "high"))
    return ClimateEntry(
        low=low,
        high=high,
        laid=node.part("laid", lambda n: n.number(least=0.0, wanted="a humidity in percent, such as 45")),
    )


def _beading(node: Node) -> BeadingEntry:
    node.mapping()
    return BeadingEntry(bar_mm=node.maybe_length("bar", least=1.0, like="2400"),
                        width_mm=node.maybe_length("width", least=1.0, like="18"))


def _own_pieces(node: Node) -> tuple[OwnPieceEntry, ...]:
    """A piece of board left from earlier work, `count` times."""
    node.mapping()
    keeps = node.need("keeps", _ends, wanted='the factory ends it has, such as ["left"]')
    piece = OwnPieceEntry(length_mm=node.length("length", least=1.0, like="640"), keeps=keeps)
    return (piece,) * (node.part("count", lambda n: n.whole(wanted="how many there are, such as 2")) or 1)


def _ends(node: Node) -> tuple[str, ...]:
    """"left" and "right"; the long edges may be named too, and are taken as whole."""
    if not isinstance(node.value, list):
        raise node.wrong('a list of the ends it has, such as ["left"]')
    sides = tuple(node.child(i).choice(("left", "right", "near", "far")) for i in range(len(node.value)))
    return tuple(side for side in ("left", "right") if side in sides)
