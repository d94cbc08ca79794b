"""What is refused before any planning: boards, rules and wishes that cannot be meant.

Each refusal is one sentence: what was found with its number, what was needed, what to do. Limits are common practice
(boards as sold run from about 300 to 3000 mm long and 60 to 600 mm wide); no source beyond that.
"""
from __future__ import annotations

from math import isfinite

import numpy as np

from layout.errors import LayoutError
from layout.room import Board, Room, Rules, Wishes

SHORTEST_BOARD_MM, LONGEST_BOARD_MM = 150.0, 6000.0
NARROWEST_BOARD_MM, WIDEST_BOARD_MM = 40.0, 1000.0
THINNEST_MM, THICKEST_MM = 2.0, 60.0
WIDEST_KERF_MM, WIDEST_GAP_MM = 10.0, 100.0
LEAST_FIRST_ROW_MM = 20.0
#: A door may stick out of its measured wall by this much (both are measured).
DOOR_SLACK_MM = 20.0
PATTERNS = ("fewest", "thirds", "halves")
LAYS = ("left-to-right", "right-to-left")


def check_board(board: Board) -> None:
    """Refuse a board nobody sells. Raises LayoutError (slug board-size, board-pack)."""
    for name, value, least, most in (
            ("length", board.length_mm, SHORTEST_BOARD_MM, LONGEST_BOARD_MM),
            ("width", board.width_mm, NARROWEST_BOARD_MM, WIDEST_BOARD_MM),
            ("thickness", board.thickness_mm, THINNEST_MM, THICKEST_MM)):
        if not isfinite(value) or not least <= value <= most:
            hint = " - did you type metres?" if 0 < value < least and least <= value * 1000 <= most else ""
            hint = hint or " - did you type centimetres?" * (0 < value < least and least <= value * 10 <= most)
            raise LayoutError("board-size", f"The board's {name} is given as {value:g} mm, but boards are {least:g} to {most:g} mm"
                              f"{hint}; type the {name} in millimetres as printed on the pack.", where=f"flooring.board.{name}")
    if board.width_mm > board.length_mm:
        raise LayoutError("board-size", f"The board's width, {board.width_mm:g} mm, is more than its length, {board.length_mm:g} mm; "
                          "swap the two.", where="flooring.board")
    if board.pack != int(board.pack) or board.pack < 1:
        raise LayoutError("board-pack", f"A pack is said to hold {board.pack:g} boards; type a whole number, 1 or more.",
                          where="flooring.board.pack")


def check_wishes(wishes: Wishes, board: Board) -> None:
    """Refuse rules and wishes no floor can meet. Raises LayoutError (slug bad-gap, bad-kerf, bad-rule, bad-first-row, bad-wish)."""
    _within("bad-gap", "gap at the walls", wishes.gap_mm, 0.0, WIDEST_GAP_MM, "8 to 15 is usual", "flooring.gap")
    _within("bad-kerf", "width lost to the saw", wishes.kerf_mm, 0.0, WIDEST_KERF_MM, "1 to 3.2 is usual", "flooring.kerf")
    check_rules(wishes.rules, board)
    if wishes.first_row_mm is not None:
        _within("bad-first-row", "width of the first row", wishes.first_row_mm, LEAST_FIRST_ROW_MM, board.width_mm,
                "the most is the board's own width", "flooring.first_row")
    if wishes.direction_rad is not None and not isfinite(wishes.direction_rad):
        raise LayoutError("bad-wish", "The direction is not a number; type an angle in degrees or choose a wall.",
                          where="flooring.direction")
    for name, value, allowed in (("pattern", wishes.pattern, PATTERNS), ("lay", wishes.lay, LAYS)):
        if value not in allowed:
            raise LayoutError("bad-wish", f"'{value}' is not a {name} this planner knows; choose one of {', '.join(allowed)}.",
                              where=f"flooring.{name}")


def check_rules(rules: Rules, board: Board) -> None:
    """Refuse rules that no board can keep. Raises LayoutError (slug bad-rule)."""
    for name, value, limit, what in (
            ("stagger", rules.stagger_mm, board.length_mm / 2, "half the board's length"),
            ("shortest", rules.shortest_mm, board.length_mm, "the board's length"),
            ("narrowest", rules.narrowest_mm, board.width_mm, "the board's width")):
        if not isfinite(value) or value <= 0 or value > limit:
            raise LayoutError("bad-rule", f"The rule '{name}' is {value:g} mm; it must be more than 0 and at most {what}, "
                              f"{limit:g} mm.", where=f"flooring.rules.{name}")


def check_pipes(room: Room) -> None:
    """Refuse pipes that cannot be meant. Raises LayoutError (slug bad-pipe)."""
    for pipe in room.pipes:
        if not isfinite(pipe.diameter_mm) or not 0 < pipe.diameter_mm <= 500:
            raise LayoutError("bad-pipe", f"Pipe {pipe.name} is said to be {pipe.diameter_mm:g} mm thick; type its outside "
                              "diameter in millimetres, between 1 and 500.", where=f"pipes.{pipe.name}")


def check_doors(room: Room) -> None:
    """Refuse doors that do not lie in their wall. Raises LayoutError (slug bad-door)."""
    walls = {frozenset((name, room.names[(i + 1) % len(room.names)])): i for i, name in enumerate(room.names)}
    for door in room.doors:
        i = walls.get(frozenset(door.wall))
        if i is None:
            raise LayoutError("bad-door", f"Door {door.name} is said to be in wall {'-'.join(door.wall)}, which is not a wall of this floor; name the two "
                              "corners of its wall.", where=f"doors.{door.name}")
        length = float(np.hypot(*(room.outline_mm[(i + 1) % len(room.names)] - room.outline_mm[i])))
        if not (door.width_mm > 0 and door.from_mm >= -DOOR_SLACK_MM and door.from_mm + door.width_mm <= length + DOOR_SLACK_MM):
            raise LayoutError("bad-door", f"Door {door.name} reaches from {door.from_mm:g} to {door.from_mm + door.width_mm:g} mm of a wall {length:.0f} mm long; "
                              "check where it begins and how wide it is.", where=f"doors.{door.name}")


def _within(slug: str, what: str, value: float, least: float, most: float, hint: str, where: str) -> None:
    if not isfinite(value) or not least <= value <= most:
        raise LayoutError(slug, f"The {what} is given as {value:g} mm; it must be {least:g} to {most:g} mm ({hint}).", where=where)
