"""Cuts as JSON-ready data and back, in the words of the contract; cuts as plans from before the edge window told them
are read too.

`at` of a square cut is one number, of a tapered one a pair: (near, far) or (left, right). A notch's `span` counts from
the board's left end, or its near edge; `shape` (an addition) is the wood it takes from what the straight cuts left.
`points` of a line go round the wood it takes out. `mitre` (an addition, told and not read) is what the saw is set to,
in degrees from square: `at` then holds the short and the long point.
"""
from __future__ import annotations

from layout.planfile.schema import HoleCutShape, LineShape, NotchShape, StraightCutShape
from layout.plan import Cut
from layout.planfile.reader import Reader, damaged

CutShape = StraightCutShape | NotchShape | LineShape | HoleCutShape


def cut_out(cut: Cut, width_mm: float) -> CutShape:
    """A cut of a board so wide as data."""
    if cut.kind == "hole":
        return {"kind": "hole", "x": cut.centre[0], "y": cut.centre[1], "diameter": cut.diameter, "to": cut.kept,
                "pipe": cut.pipe}
    if cut.kind == "line":
        return {"kind": "line", "points": [list(p) for p in cut.shape]}
    if cut.kind == "notch":
        return {"kind": "notch", "edge": cut.kept, "span": list(cut.at), "deep": cut.deep,
                "shape": [list(p) for p in cut.shape]}
    at = cut.at[0] if cut.at[0] == cut.at[1] else list(cut.at)
    straight: StraightCutShape = {"kind": "rip" if cut.kind == "rip" else "cross", "from": cut.kept, "at": at}
    if mitre := cut.mitre_deg(width_mm):
        straight["mitre"] = round(mitre, 1)
    return straight


def cut_in(r: Reader) -> Cut:
    """A cut of data. Raises LayoutError (slug damaged-plan)."""
    kind = r.text("kind")
    if kind == "hole":
        old = "centre" in r.data
        centre = r.point("centre") if old else (r.number("x"), r.number("y"))
        return Cut(kind=kind, pipe=r.text("pipe"), centre=centre, diameter=r.number("diameter"),
                   kept="" if old else r.text("to"))
    if kind == "line":
        return Cut(kind=kind, shape=r.ring("points"))
    if kind == "notch":
        if not r.data.keys() & {"edge", "span", "deep"}:
            return Cut(kind=kind, shape=r.ring("shape"))
        return Cut(kind=kind, kept=r.text("edge"), at=r.point("span"), deep=r.number("deep"), shape=r.ring("shape"))
    if kind in ("cross", "rip"):
        at = r.point("at") if isinstance(r.raw("at"), (list, tuple)) else (r.number("at"), r.number("at"))
        return Cut(kind=kind, kept=r.text("kept" if "kept" in r.data else "from"), at=at)
    raise damaged(f"{r.where}.kind", f"is '{kind}', which is no kind of cut")
