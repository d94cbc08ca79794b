"""The rules a floor is laid by: each is one entry here, with its usual value, its limits and all that is said of it."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, fields
from typing import Any, Literal

from capture.language.messages import marked

#: So wide a piece must be to be sawn and clicked, mm (common practice, no source).
LEAST_WIDTH_MM = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule of laying.

    label, help: its name on the page, and why it is there; "" for one that nobody sets. side: what of a board it is
    measured by. most: which share of that it may be at most, and the same in words. usual_share: which share of a short
    or narrow board (`usual_side`) its usual value does not exceed. gave: what is said where it gave way, with the
    places {row}, {before} (the row before), {second} (two rows before), {where}, {had} and {asked}; alone: of a piece
    alone in its run; little: below so many mm, what is said then; nothing: where less than a millimetre was had. All
    are English and still to be worded.
    """

    gave: str
    alone: str = ""
    little: tuple[float, str] = (0.0, "")
    nothing: str = ""
    label: str = ""
    help: str = ""
    side: Literal["length", "width"] = "length"
    most: tuple[float, str] = (1.0, "")
    usual_share: float = 0.5
    usual_side: Literal["length", "width", "shortest"] = "length"

    def most_mm(self, length_mm: float, width_mm: float) -> float:
        """The most a board of this size can keep."""
        return self.most[0] * (length_mm if self.side == "length" else width_mm)


def _entry(usual_mm: float, rule: Rule) -> Any:
    return field(default=usual_mm, metadata={"rule": rule})


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """What is asked of a plan, mm: least distance of end joints in neighbouring rows, least length of a piece, least
    width of a row."""

    stagger_mm: float = _entry(300.0, Rule(
        label=marked("Joints apart by"), help=marked(
            "End joints of neighbouring rows, so that the floor holds together."),
        most=(0.5, marked("half the board's length")),
        gave=marked(
            "Joints of rows {before} and {row} are {had} apart instead of {asked}: with these boards and this width "
            "no place keeps every rule.")))
    shortest_mm: float = _entry(300.0, Rule(
        label=marked("Shortest piece"), help=marked("Shorter ones lie loose."),
        most=(1.0, marked("the board's length")),
        usual_side="shortest", usual_share=1.0, gave=marked(
            "Piece {where} is {had} long instead of at least {asked}."),
        alone=marked(
            "Piece {where} is {had} long instead of at least {asked}: it stands alone in its stretch of the row, "
            "which is no longer.")))
    narrowest_mm: float = _entry(60.0, Rule(
        label=marked("Narrowest row"), help=marked(
            "A sliver at the wall breaks and looks poor."), side="width", usual_side="width",
        most=(1.0, marked("the board's width")),
        gave=marked("Row {row} is only {had} wide at its narrowest instead of at least {asked}."),
        little=(LEAST_WIDTH_MM, marked(
            "Row {row} is only {had} wide at its narrowest, too little to click: glue it, or cover the strip with "
            "wider beading and leave it out.")),
        nothing=marked("Row {row} runs out to a point where a wall crosses it at a flat angle.")))

    def each(self) -> Iterator[tuple[str, Rule, float]]:
        """(name, rule, what is asked, mm) of every rule."""
        for name, rule in RULES.items():
            yield name, rule, getattr(self, f"{name}_mm")


#: Every rule the reader can set, by its name in job, plan and answers.
RULES: dict[str, Rule] = {each.name.removesuffix("_mm"): each.metadata["rule"] for each in fields(Rules)}
#: Everything that can give way: those, and what is as it is.
GIVES: dict[str, Rule] = RULES | {
    "pipe-joint": Rule(gave=marked(
        "An end joint of row {row} lies {had} from a pipe's hole instead of on its middle or {asked} clear: glue "
        "it.")),
    "notch-joint": Rule(gave=marked(
        "An end joint of row {row} lies {had} from the inner corner of a cut-out instead of {asked}: no better "
        "place was found that keeps the boards as few. Handle the thin tongue with care.")),
    "sliver": Rule(gave=marked(
        "Only {had} comes off piece {where} along one side, which a saw can hardly hold: clamp a batten beside the "
        "line, or plane it down.")),
    "alike": Rule(gave=marked(
        "Joints of rows {second} and {row} are {had} apart instead of {asked}: no better place was found that keeps "
        "the boards as few.")),
}
