"""A floor laid: what every plan is assembled from, whether a way of laying was tried or rows already lie."""
from __future__ import annotations

from dataclasses import dataclass

from layout.frame import Frame
from layout.planning.mixed_lengths import Mixed
from layout.region.partition import Ground
from layout.region.rows import RunShape, Strip
from layout.search.core.joint_preferences import Bore
from layout.search.core.model import Task, joints_of


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Laid:
    """A floor laid: its rows, its search task (rules eased where they had to be) and the first pieces found.

    The task's spans are the runs, then one for each owned piece (`layout.search.core.owned_stock`). boards, bound: how
    many are to be bought. mixed: the laying of boards of several lengths; there are no first pieces then.
    """

    frame: Frame
    ground: Ground
    bores: tuple[Bore, ...]
    task: Task
    firsts: tuple[float, ...]
    boards: int
    bound: int
    mixed: Mixed | None = None

    @property
    def proven(self) -> bool:
        """Whether these rows need no fewer boards (with several lengths: packs)."""
        return self.boards == self.bound if self.mixed is None else self.mixed.packs == self.mixed.least_packs

    @property
    def joints(self) -> list[list[float]]:
        """The joints of each run, s in mm."""
        if self.mixed is not None:
            return self.mixed.joints
        return [joints_of(span, first, self.task.board_mm) for span, first in zip(self.task.spans[:len(self.runs)],
                                                                                  self.firsts)]

    @property
    def strips(self) -> tuple[Strip, ...]:
        """The strips of the rows."""
        return self.ground.strips

    @property
    def runs(self) -> tuple[RunShape, ...]:
        """The runs of all rows."""
        return self.ground.runs
