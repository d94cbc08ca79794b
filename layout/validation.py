"""What is refused before any planning: boards, rules and wishes that cannot be meant.

Each refusal is one sentence: what was found with its number, what was needed, what to do. Limits are common practice
(boards as sold run from about 300 to 3000 mm long and 60 to 600 mm wide); no source beyond that.
"""
from __future__ import annotations

import re
from collections import Counter
from math import isfinite

import numpy as np

from capture.language.messages import Message, lazy_gettext
from layout.errors import LayoutError
from layout.room import PIECE_ID, Board, Climate, Door, OwnPiece, Room, Rules, Underlay, Wishes

SHORTEST_BOARD_MM, LONGEST_BOARD_MM = 150.0, 6000.0
NARROWEST_BOARD_MM, WIDEST_BOARD_MM = 40.0, 1000.0
THINNEST_MM, THICKEST_MM = 2.0, 60.0
WIDEST_KERF_MM, WIDEST_GAP_MM = 10.0, 100.0
#: No saw takes less; a cutter that shears the board takes nothing.
LEAST_KERF_MM = 0.3
LEAST_FIRST_ROW_MM = 20.0
#: A door may stick out of its measured wall by this much (both are measured).
DOOR_SLACK_MM = 20.0
DEEPEST_REVEAL_MM, WIDEST_CASING_MM = 1000.0, 400.0
#: Below this a floor is parted into fields nobody lays; above it no leaflet allows a floor in one piece.
SHORTEST_FIELD_MM, LONGEST_FIELD_MM = 2000.0, 100_000.0
SHORTEST_BAR_MM, LONGEST_BAR_MM = 600.0, 10_000.0
THINNEST_BEADING_MM, WIDEST_BEADING_MM = 5.0, 100.0
PATTERNS = ("fewest", "thirds", "halves")
LAYS = ("left-to-right", "right-to-left")
SUBFLOORS = ("", "mineral", "timber")
#: Most pieces at hand that are worth listing.
MOST_OWNED = 200
MOST_IN_A_PACK = 100
#: What a plan calls its pieces and offcuts.
_IN_A_PLAN = re.compile(rf"{PIECE_ID.pattern}|[0-9]+[LMR][0-9]*")


def check_board(board: Board) -> None:
    """Refuse a board nobody sells. Raises LayoutError (slug board-size, board-pack)."""
    for name, what, value, least, most in (
            ("length", lazy_gettext("length"), board.length_mm, SHORTEST_BOARD_MM, LONGEST_BOARD_MM),
            ("width", lazy_gettext("width"), board.width_mm, NARROWEST_BOARD_MM, WIDEST_BOARD_MM),
            ("thickness", lazy_gettext("thickness"), board.thickness_mm, THINNEST_MM, THICKEST_MM)):
        if not isfinite(value) or not least <= value <= most:
            size = {"name": what, "value": value, "least": least, "most": most}
            raise LayoutError("board-size", _board_size(value, least, most).filled(**size),
                              where=f"flooring.board.{name}")
    if board.width_mm > board.length_mm:
        raise LayoutError("board-size", lazy_gettext(
            "The board's width, {width:g} mm, is more than its length, {length:g} mm; swap the two.",
            width=board.width_mm, length=board.length_mm), where="flooring.board")
    if board.pack != int(board.pack) or board.pack < 1:
        raise LayoutError("board-pack", lazy_gettext(
            "A pack is said to hold {pack:g} boards; type a whole number, 1 or more.", pack=board.pack),
                          where="flooring.board.pack")


def _board_size(value: float, least: float, most: float) -> Message:
    """What is said of a size no board has, with what the reader may have typed instead."""
    if 0 < value < least and least <= value * 1000 <= most:
        return lazy_gettext("The board's {name} is given as {value:g} mm, but boards are {least:g} to {most:g} mm - "
                            "did you type metres?; type the {name} in millimetres as printed on the pack.")
    if 0 < value < least and least <= value * 10 <= most:
        return lazy_gettext("The board's {name} is given as {value:g} mm, but boards are {least:g} to {most:g} mm - "
                            "did you type centimetres?; type the {name} in millimetres as printed on the pack.")
    return lazy_gettext("The board's {name} is given as {value:g} mm, but boards are {least:g} to {most:g} mm; type "
                        "the {name} in millimetres as printed on the pack.")


def check_mix(board: Board, wishes: Wishes) -> None:
    """Refuse packs of several lengths that cannot be meant, and wishes that go with one length only.

    Raises LayoutError (slug board-lengths, mixed-wish).
    """
    where, lengths = "flooring.board.lengths", [length for length, _ in board.mix]
    if not lengths:
        return
    for length, count in board.mix:
        if not isfinite(length) or not SHORTEST_BOARD_MM <= length <= LONGEST_BOARD_MM or length < board.width_mm:
            raise LayoutError("board-lengths", lazy_gettext(
                "One of the lengths in a pack is {length:g} mm, but boards are {least:g} to "
                "{most:g} mm long and no shorter than wide; type it in millimetres as printed on the pack.",
                length=length, least=SHORTEST_BOARD_MM, most=LONGEST_BOARD_MM), where=where)
        if count != int(count) or not 1 <= count <= MOST_IN_A_PACK:
            raise LayoutError("board-lengths", lazy_gettext(
                "A pack is said to hold {count:g} boards of {length:g} mm; type a whole number, 1 to "
                "{most}, or leave that length out.", count=count, length=length,
                most=MOST_IN_A_PACK), where=where)
    if len(set(lengths)) != len(lengths):
        twice = next(length for length in lengths if lengths.count(length) > 1)
        raise LayoutError("board-lengths", lazy_gettext(
            "The length {twice:g} mm is listed twice; list each length once, with all its boards.", twice=twice),
                          where=where)
    if min(lengths) < wishes.rules.shortest_mm:
        raise LayoutError("board-lengths", lazy_gettext(
            "The shortest board, {length:g} mm, is shorter than the shortest piece you allow, {shortest:g} mm; "
            "lower that rule or leave the length out.", length=min(lengths),
            shortest=wishes.rules.shortest_mm), where=where)
    if wishes.pattern != "fewest":
        raise LayoutError("mixed-wish", lazy_gettext(
            "A pattern of {pattern} needs boards of one length; choose the pattern 'fewest' for packs of several "
            "lengths.", pattern=wishes.pattern), where="flooring.pattern")


def check_wishes(wishes: Wishes, board: Board) -> None:
    """Refuse rules and wishes no floor can meet.

    Raises LayoutError (slug bad-gap, bad-kerf, bad-rule, bad-first-row, bad-wish, bad-climate, bad-stock; of
    `check_mix` too).
    """
    check_mix(board, wishes)
    if wishes.gap_mm is not None:
        _within("bad-gap", lazy_gettext("gap at the walls"), wishes.gap_mm, 0.0, WIDEST_GAP_MM, lazy_gettext(
            "8 to 15 is usual"), "flooring.gap")
    _check_window(wishes)
    least_kerf = LEAST_KERF_MM if wishes.kerf_mm else 0.0
    _within("bad-kerf", lazy_gettext("width lost to the saw"), wishes.kerf_mm, least_kerf, WIDEST_KERF_MM,
            lazy_gettext("1 to 3.2 is usual, 0 a cutter that takes no wood"), "flooring.kerf")
    check_rules(wishes.rules, board)
    if wishes.first_row_mm is not None:
        _within("bad-first-row", lazy_gettext("width of the first row"), wishes.first_row_mm, LEAST_FIRST_ROW_MM,
                board.width_mm, lazy_gettext("the most is the board's own width"), "flooring.first_row")
    if wishes.direction_rad is not None and not isfinite(wishes.direction_rad):
        raise LayoutError("bad-wish", lazy_gettext(
            "The direction is not a number; type an angle in degrees or choose a wall."), where="flooring.direction")
    for name, value, allowed in (("pattern", wishes.pattern, PATTERNS), ("lay", wishes.lay, LAYS),
                                 ("subfloor", wishes.subfloor, SUBFLOORS)):
        if value not in allowed:
            raise LayoutError("bad-wish", lazy_gettext(
                "'{value}' is not a {name} this planner knows; choose one of {known}.", value=value, name=name,
                known=", ".join(filter(None, allowed))), where=f"flooring.{name}")
    _within("bad-wish", lazy_gettext("longest floor without a profile"), wishes.longest_mm, SHORTEST_FIELD_MM,
            LONGEST_FIELD_MM, lazy_gettext("8 to 13 m is usual"), "flooring.longest")
    _within("bad-wish", lazy_gettext("length of a beading bar"), wishes.beading.bar_mm, SHORTEST_BAR_MM, LONGEST_BAR_MM,
            lazy_gettext("2400 is usual"), "flooring.beading.bar")
    _within("bad-wish", lazy_gettext("width of the beading"), wishes.beading.width_mm, THINNEST_BEADING_MM,
            WIDEST_BEADING_MM, lazy_gettext("15 to 22 is usual"), "flooring.beading.width")
    check_underlay(wishes.underlay)
    check_climate(wishes.climate)
    check_stock(wishes.stock, board)


def check_underlay(underlay: Underlay | None) -> None:
    """Refuse rolls nobody sells. Raises LayoutError (slug bad-wish)."""
    if underlay is not None:
        where = "flooring.underlay"
        _within("bad-wish", lazy_gettext("underlay's thickness"), underlay.thickness_mm, 0.1, 30.0,
                lazy_gettext("2 to 5 is usual"), f"{where}.thickness")
        _within("bad-wish", lazy_gettext("length of an underlay roll"), underlay.roll_length_mm, 200.0, 200_000.0,
                lazy_gettext("10000 is usual"), f"{where}.roll.length")
        _within("bad-wish", lazy_gettext("width of an underlay roll"), underlay.roll_width_mm, 200.0, 10_000.0,
                lazy_gettext("1000 is usual"), f"{where}.roll.width")


def check_climate(climate: Climate | None) -> None:
    """Refuse humidities that cannot be. Raises LayoutError (slug bad-climate)."""
    if climate is None:
        return
    laid = climate.low if climate.laid is None else climate.laid
    if not all(map(isfinite, (climate.low, climate.high, laid))) or not 0 <= climate.low <= laid <= climate.high <= 100:
        raise LayoutError("bad-climate", lazy_gettext(
            "The room's humidity is given as {low:g} to {high:g} % and {laid:g} % on the day of laying; the day "
            "must lie between the two, and all between 0 and 100, such as 35, 65 and 45.", low=climate.low,
            high=climate.high, laid=laid), where="flooring.climate")


def check_stock(stock: tuple[OwnPiece, ...], board: Board) -> None:
    """Refuse pieces at hand that cannot be of this board. Raises LayoutError (slug bad-stock)."""
    if len(stock) > MOST_OWNED:
        raise LayoutError("bad-stock", lazy_gettext(
            "{count} pieces at hand are listed, but at most {most} are worth it; leave out the shortest.",
            count=len(stock), most=MOST_OWNED), where="flooring.stock")
    for number, piece in enumerate(stock, start=1):
        where, whole = f"flooring.stock[{number - 1}]", len(piece.keeps) == 2
        if (
            not isfinite(piece.length_mm)
            or not 0 < piece.length_mm <= board.length_mm
            or (whole and piece.length_mm < board.length_mm)
        ):
            said = (lazy_gettext("{length:g} mm long and to keep both ends", length=piece.length_mm) if whole
                    else lazy_gettext("{length:g} mm long", length=piece.length_mm))
            raise LayoutError("bad-stock", lazy_gettext(
                "Piece S{number} at hand is said to be {said}; a board is {length:g} mm long and only a whole one "
                "keeps both: measure it again or leave it out.", number=number, said=said,
                length=board.length_mm), where=where)
        if not piece.keeps or not set(piece.keeps) <= {"left", "right"} or len(set(piece.keeps)) != len(piece.keeps):
            raise LayoutError("bad-stock", lazy_gettext(
                "Piece S{number} at hand must keep its left or its right factory end to click into a row; say "
                "which, or leave it out.", number=number), where=f"{where}.keeps")
    labels = Counter(piece.label for piece in stock if piece.label)
    for number, piece in enumerate(stock):
        if labels[piece.label] > 1 or _IN_A_PLAN.fullmatch(piece.label):
            raise LayoutError("bad-stock", lazy_gettext(
                "The label {label} of a piece at hand is taken: another piece has it, or the plan calls its own "
                "pieces and offcuts so; give it another.", label=piece.label), where=f"flooring.stock[{number}].label")


def check_rules(rules: Rules, board: Board) -> None:
    """Refuse rules that no board can keep. Raises LayoutError (slug bad-rule)."""
    for name, rule, value in rules.each():
        limit = rule.most_mm(board.length_mm, board.width_mm)
        if not isfinite(value) or value <= 0 or value > limit:
            raise LayoutError("bad-rule", lazy_gettext(
                "The rule '{name}' is {value:g} mm; it must be more than 0 and at most {share}, {limit:g} mm.",
                name=name, value=value, share=Message(rule.most[1]), limit=limit), where=f"flooring.rules.{name}")


def check_pipes(room: Room) -> None:
    """Refuse pipes that cannot be meant. Raises LayoutError (slug bad-pipe)."""
    for pipe in room.pipes:
        if not isfinite(pipe.diameter_mm) or not 0 < pipe.diameter_mm <= 500:
            raise LayoutError("bad-pipe", lazy_gettext(
                "Pipe {name} is said to be {diameter:g} mm thick; type its outside diameter in millimetres, between "
                "1 and 500.", name=pipe.name, diameter=pipe.diameter_mm), where=f"pipes.{pipe.name}")


def check_doors(room: Room) -> None:
    """Refuse doors that do not lie in their wall. Raises LayoutError (slug bad-door)."""
    walls = {frozenset((name, room.names[(i + 1) % len(room.names)])): i for i, name in enumerate(room.names)}
    for door in room.doors:
        i = walls.get(frozenset(door.wall))
        if i is None:
            raise LayoutError("bad-door", lazy_gettext(
                "Door {name} is said to be in wall {wall}, which is not a wall of this floor; name the two corners "
                "of its wall.", name=door.name, wall="-".join(door.wall)), where=f"doors.{door.name}")
        length = float(np.hypot(*(room.outline_mm[(i + 1) % len(room.names)] - room.outline_mm[i])))
        _check_opening(door)
        if not (door.width_mm > 0 and door.from_mm >= -DOOR_SLACK_MM and door.from_mm + door.width_mm <= length
                + DOOR_SLACK_MM):
            reach = lazy_gettext("{a:g} to {b:g} mm", a=door.from_mm, b=door.from_mm + door.width_mm)
            raise LayoutError("bad-door", lazy_gettext(
                "Door {name} reaches from {reach} of a wall {length:.0f} mm long; check where it begins and how "
                "wide it is.", name=door.name, reach=reach, length=length), where=f"doors.{door.name}")
    _check_apart(room)


def _check_apart(room: Room) -> None:
    """Refuse two doors that share more of a wall than measuring explains."""
    for k, door in enumerate(room.doors):
        for other in room.doors[:k]:
            common = _common_mm(room, door, other) if set(door.wall) == set(other.wall) else 0.0
            if common > DOOR_SLACK_MM:
                raise LayoutError("bad-door", lazy_gettext(
                    "Doors {other} and {name} lie in the same {common:.0f} mm of wall {wall}; check where each "
                    "begins, and from which corner.", other=other.name, name=door.name, common=common,
                    wall="-".join(door.wall)), where=f"doors.{door.name}")


def _common_mm(room: Room, door: Door, other: Door) -> float:
    """How much of their wall two doors share."""
    i, j = (room.names.index(name) for name in door.wall)
    length = float(np.hypot(*(room.outline_mm[j] - room.outline_mm[i])))
    start = other.from_mm if other.wall == door.wall else length - other.from_mm - other.width_mm
    return min(door.from_mm + door.width_mm, start + other.width_mm) - max(door.from_mm, start)


def _check_opening(door: Door) -> None:
    """Refuse depths and casings that no opening has."""
    if not isfinite(door.reveal_mm) or not 0 <= door.reveal_mm <= DEEPEST_REVEAL_MM:
        raise LayoutError("bad-door", lazy_gettext(
            "The opening of door {name} is said to be {reveal:g} mm deep; measure it from the wall line to where "
            "the closed leaf stands, 0 to {most:g} mm.", name=door.name, reveal=door.reveal_mm,
            most=DEEPEST_REVEAL_MM), where=f"doors.{door.name}")
    casing = door.casing
    if casing is not None and not all(isfinite(size) and 0 <= size <= WIDEST_CASING_MM
                                      for size in (casing.width_mm, casing.thickness_mm)):
        raise LayoutError("bad-door", lazy_gettext(
            "The casing of door {name} is said to be {width:g} by {thickness:g} mm; type its width along the wall "
            "and its thickness in millimetres.", name=door.name, width=casing.width_mm,
            thickness=casing.thickness_mm), where=f"doors.{door.name}")


def _within(slug: str, what: Message, value: float, least: float, most: float, hint: Message, where: str) -> None:
    if not isfinite(value) or not least <= value <= most:
        raise LayoutError(slug, lazy_gettext(
            "The {what} is given as {value:g} mm; it must be {least:g} to {most:g} mm ({hint}).", what=what,
            value=value, least=least, most=most, hint=hint), where=where)


def _check_window(wishes: Wishes) -> None:
    """Refuse an edge window that does not hold the gap."""
    gap = wishes.gap_mm
    least, most = wishes.gap_least_mm, wishes.gap_most_mm
    for what, value, key in ((lazy_gettext("least gap at the walls"), least, "gap_least"),
                             (lazy_gettext("greatest gap at the walls"), most, "gap_most")):
        if value is not None:
            _within("bad-gap", what, value, 0.0, WIDEST_GAP_MM,
                lazy_gettext("8 and 13 are usual"), f"flooring.{key}")
    if least is not None and gap is not None and least > gap:
        raise LayoutError("bad-gap", lazy_gettext(
            "The least gap at the walls, {least:g} mm, is more than the gap, {gap:g} mm; make it {gap:g} mm or "
            "less.", least=least, gap=gap), where="flooring.gap_least")
    if most is not None and ((gap is not None and most < gap) or (least is not None and most < least)):
        raise LayoutError("bad-gap", lazy_gettext(
            "The greatest gap at the walls, {most:g} mm, is less than the gap; make it {least:g} mm or more.",
            most=most, least=max(gap or 0.0, least or 0.0)), where="flooring.gap_most")
