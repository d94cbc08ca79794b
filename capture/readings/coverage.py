"""Which walls the readings show. Between two corners that nobody saw together, and that no tape went along, something
else may stand: a corner nobody named, a breast, half a room.

The rule is that of the contract of the commands: a wall is seen if one photo shows both its ends, if a click lies on
its floor line, if a tape was laid along it, or if the reader says that it is one straight wall.
"""
from __future__ import annotations

from capture.network import Network

Wall = tuple[str, str]


def unseen_walls(network: Network) -> tuple[Wall, ...]:
    """Walls of the outline that no reading shows, in the order of the outline."""
    told = {frozenset(wall) for wall in network.straight} | {frozenset(line.wall) for line in network.wall_lines}
    together = _marked_together(network)
    walls = zip(network.outline, network.outline[1:] + network.outline[:1])
    return tuple((a, b) for a, b in walls if frozenset((a, b)) not in told
                 and not any({a, b} <= seen for seen in together) and not _is_taped_along(network, a, b))


def _marked_together(network: Network) -> list[set[str]]:
    """The points marked in each photo."""
    seen: dict[str, set[str]] = {}
    for mark in network.marks:
        seen.setdefault(mark.photo, set()).add(mark.point)
    return list(seen.values())


def _is_taped_along(network: Network, a: str, b: str) -> bool:
    """Whether tapes lead from one corner to the other over points that lie on the wall."""
    along = {a, b} | {belief.point for belief in network.on_walls if {a, b} == set(belief.wall)}
    steps = [{tape.a, tape.b} for tape in network.tapes if {tape.a, tape.b} <= along]
    reached = {a}
    while any(len(step & reached) == 1 for step in steps):
        reached |= {point for step in steps if step & reached for point in step}
    return b in reached
