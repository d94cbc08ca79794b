"""The click joint in section: a tongue, and a groove with a lower lip that reaches beyond the face.

Frame: the joint line of the faces at x = 0, the face at y = 0, the underside at y = 1; lengths in board thicknesses, so
that a profile is drawn to scale with its board at any enlargement. The shape is a usual one for boards that are angled
in, drawn from memory: makers' profiles differ in detail and some have the lip on the other side.
"""
from __future__ import annotations

from printpack.howto.scene import Ring, mirrored

#: The edge with the groove, from face to underside; the wood lies at its left. The last two thirds are the lower lip.
GROOVE: Ring = ((0.0, 0.0), (0.0, 0.30), (-0.48, 0.35), (-0.56, 0.42), (-0.56, 0.60), (-0.44, 0.71), (0.20, 0.82),
                (0.36, 0.80), (0.46, 0.68), (0.62, 0.66), (0.74, 0.76), (0.74, 1.0))
#: The edge with the tongue, from face to underside; the wood lies at its right.
TONGUE: Ring = ((0.0, 0.0), (0.0, 0.31), (-0.44, 0.37), (-0.51, 0.44), (-0.51, 0.58), (-0.42, 0.68), (0.20, 0.79),
                (0.34, 0.77), (0.44, 0.65), (0.64, 0.62), (0.78, 0.72), (0.78, 1.0))
#: Where the lip's locking edge stands up, which is planed off to push a board in flat.
LOCK: Ring = ((0.20, 0.82), (0.36, 0.80), (0.46, 0.68), (0.62, 0.66), (0.74, 0.76), (0.74, 0.83))
#: The edge with the groove, its locking edge planed off.
PLANED: Ring = (*GROOVE[:7], (0.74, 0.83), (0.74, 1.0))


def board(left: float, right: float, thick: float, top: float, *, tongue_left: bool = True,
          groove_right: bool = True, planed: bool = False) -> Ring:
    """A board in section from joint line to joint line (a plain sawn edge where a side has neither)."""
    start = _at(tuple(reversed(TONGUE)), left, top, thick) if tongue_left else ((left, top + thick), (left, top))
    edge = PLANED if planed else GROOVE
    end = _at(edge, right, top, thick) if groove_right else ((right, top), (right, top + thick))
    return (*start, *end)


def turned_round(left: float, right: float, thick: float, top: float) -> Ring:
    """The same board turned end for end: its lip at the left."""
    return mirrored(board(left, right, thick, top), (left + right) / 2)


def _at(edge: Ring, x: float, top: float, thick: float) -> Ring:
    return tuple((x + thick * px, top + thick * py) for px, py in edge)
