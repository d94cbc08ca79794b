"""How much searching a solve may do: counted in rough floors, not in seconds, so that the same readings always get the
same answer."""
from __future__ import annotations

from dataclasses import dataclass

#: Marks and points of all rough floors that a wider search may draw: some two seconds of an ordinary machine.
USUAL_WORK = 250


@dataclass(slots=True)
class Work:
    """What is left of it."""

    left: float

    def share(self, cost: float) -> float:
        """The share, up to 1, of some work that is still within the limit; it is then counted as done."""
        if cost <= 0:
            return 1.0
        share = min(1.0, self.left / cost)
        self.left -= share * cost
        return share
