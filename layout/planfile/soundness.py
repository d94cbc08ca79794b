"""A plan that came from a file, before the judge is asked: what no plan can hold, whoever wrote it.

The judge (`layout.judge.check`) reckons with shapes; a value that is no length, a direction that is none or a shape
without an inside would stop it half way. Each refusal names the key, what stands there and the way out. Figures a plan
can only have counted wrong are told by `layout.planning.recount`.
"""
from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Iterator, Mapping
from math import hypot

import shapely
from shapely.geometry import Polygon

from layout.validation import (LAYS, LONGEST_BAR_MM, LONGEST_BOARD_MM, LONGEST_FIELD_MM, MOST_IN_A_PACK, PATTERNS,
                               THICKEST_MM, WIDEST_BEADING_MM, WIDEST_BOARD_MM, WIDEST_GAP_MM, WIDEST_KERF_MM)
from layout.plan import UNPARTED_MM, Cut, Piece, Plan, Ring
from layout.planfile.reader import damaged, shown
from layout.room import LONGEST_FLOOR, LONGEST_LABEL, PIECE_ID, Elsewhere
from layout.rules import GIVES

#: No number of a plan is larger: 10 km.
LARGEST = 1e7
#: A sentence, a name or a place of a plan is no longer.
LONGEST_TEXT = 2000
MOST_PIECES, MOST_ROWS, MOST_CORNERS, MOST_IN_A_BOARD = 60_000, 5_000, 5_000, 60
#: How far u may be from one long and v from a quarter turn of it; a plan written with six decimals still passes.
TURNED = 1e-6
SIDES = ("left", "right", "near", "far")
#: Sides a cut may count from; a notch of an older plan names none, nor does a half hole.
_KEPT = {"cross": ("left", "right"), "rip": ("near", "far"), "notch": ("", *SIDES), "line": ("",), "hole": ("", *SIDES)}
_SIDE_KEY = {"cross": "from", "rip": "from", "notch": "edge", "line": "points", "hole": "to"}
#: (place, what stands there, whether it may, what is needed)
_Check = tuple[str, object, bool, str]


def refuse_wild(data: object, where: str) -> None:
    """Raise LayoutError (damaged-plan) for numbers far outside any floor and for texts no plan says, anywhere under
    `data`."""
    if isinstance(data, Mapping):
        for key, value in data.items():
            refuse_wild(value, f"{where}.{key}")
    elif isinstance(data, (list, tuple)):
        for place, value in enumerate(data):
            refuse_wild(value, f"{where}[{place}]")
    elif isinstance(data, str):
        if len(data) > LONGEST_TEXT or any(unicodedata.category(letter).startswith("C") for letter in data):
            raise damaged(where, f"is {shown(data)}, no text of up to {LONGEST_TEXT} letters on one line")
    elif isinstance(data, (int, float)) and not abs(data) <= LARGEST:
        raise damaged(where, f"is {shown(data)}, far outside any floor")


def refuse_unsound(plan: Plan) -> None:
    """Raise LayoutError (damaged-plan) for the first thing in a plan that no floor and no board can have."""
    for checks in (_sizes, _labels, _rows, _wood, _shapes):
        for where, value, sound, wanted in checks(plan):
            if not sound:
                raise damaged(f"plan.{where}", f"is {shown(value)}, but it must be {wanted}")


def _sizes(plan: Plan) -> Iterator[_Check]:
    """The frame, the board and the wishes."""
    yield "u", plan.u, abs(hypot(*plan.u) - 1.0) <= TURNED, "a direction one long"
    off = hypot(plan.v[0] - plan.u[1], plan.v[1] + plan.u[0])
    yield "v", plan.v, off <= TURNED, f"a quarter turn clockwise of u, {shown((plan.u[1], -plan.u[0]))}"
    board = plan.board
    for key, size, most in (("board.length", board.length_mm, LONGEST_BOARD_MM),
                            ("board.width", board.width_mm, WIDEST_BOARD_MM),
                            ("board.thickness", board.thickness_mm, THICKEST_MM)):
        yield key, size, 0.0 < size <= most, f"above 0 and up to {most:g} mm"
    most_in_a_pack = MOST_IN_A_PACK * max(1, len(board.mix))
    yield "board.pack", board.pack, 1 <= board.pack <= most_in_a_pack, f"1 to {most_in_a_pack}"
    for k, (length, count) in enumerate(board.mix):
        yield (
            f"board.lengths[{k}]",
            (length, count),
            0.0 < length <= board.length_mm and 1 <= count <= MOST_IN_A_PACK,
            "a length and how many",
        )
    for key, size, most in (("kerf", plan.kerf_mm, WIDEST_KERF_MM), ("gap", plan.gap_mm, WIDEST_GAP_MM),
                            ("gap_least", plan.gap_least_mm, plan.gap_mm),
                            ("gap_most", plan.gap_most_mm, WIDEST_GAP_MM),
                            *((f"rules.{name}", asked, rule.most_mm(LONGEST_BOARD_MM, WIDEST_BOARD_MM))
                              for name, rule, asked in plan.rules.each())):
        yield key, size, 0.0 <= size <= most, f"0 to {most:g} mm"
    for k, gave in enumerate(plan.relaxed):
        yield f"relaxed[{k}].rule", gave.rule, gave.rule in GIVES, f"one of {', '.join(GIVES)}"
    yield "gap_most", plan.gap_most_mm, plan.gap_most_mm >= plan.gap_mm, f"the gap of {plan.gap_mm:g} mm or more"
    yield "longest", plan.longest_mm, 0.0 < plan.longest_mm <= max(LONGEST_FIELD_MM,
                                                                   UNPARTED_MM), "a length of floor in mm"
    yield "lay", plan.lay, plan.lay in LAYS, " or ".join(LAYS)
    yield "pattern", plan.pattern, plan.pattern in PATTERNS, " or ".join(PATTERNS)
    for key, count in (("boards", plan.boards), ("packs", plan.packs), ("bound", plan.bound)):
        yield key, count, 1 <= count <= MOST_PIECES, f"1 to {MOST_PIECES}"


def _labels(plan: Plan) -> Iterator[_Check]:
    """Names of offcuts, own pieces, pipes and doors: short, on one line."""
    named = [(f"offcuts[{k}].label", offcut.label) for k, offcut in enumerate(plan.offcuts)]
    named += [(f"offcuts[{k}].pencilled", offcut.pencilled) for k, offcut in enumerate(plan.offcuts)
              if offcut.pencilled]
    named += [(f"owned[{k}].label", piece.label) for k, piece in enumerate(plan.owned)]
    named += [(f"cutouts[{k}].pipe", hole.pipe) for k, hole in enumerate(plan.holes)]
    named += [(f"doorways[{k}].door", way.door) for k, way in enumerate(plan.doorways)]
    for where, label in named:
        yield where, label, 0 < len(label) <= LONGEST_LABEL, f"a name of 1 to {LONGEST_LABEL} letters"
    places = [(f"offcuts[{k}].goes_to", offcut.goes_to) for k, offcut in enumerate(plan.offcuts)]
    places += [(f"owned[{k}].came_from", piece.came_from) for k, piece in enumerate(plan.owned)]
    for where, place in places:
        if place is not None:
            yield from _elsewhere(where, place, at_hand=where.startswith("owned"))
    for k, piece in enumerate(plan.owned):
        yield f"owned[{k}].length", piece.length_mm, 0.0 < piece.length_mm <= plan.board.length_mm, ("no longer than a "
                                                                                                     "board")
        begins = 0.0 if piece.from_mm is None else piece.from_mm
        yield f"owned[{k}].from", begins, 0.0 <= begins <= plan.board.length_mm - piece.length_mm + 1e-6, (
            "where it lay in its board")
        yield f"owned[{k}].keeps", piece.keeps, set(piece.keeps) <= set(SIDES), f"any of {', '.join(SIDES)}"


def _elsewhere(where: str, place: Elsewhere, *, at_hand: bool) -> Iterator[_Check]:
    yield f"{where}.floor", place.floor, 0 < len(place.floor.strip()) <= LONGEST_FLOOR, (
        f"a name of 1 to {LONGEST_FLOOR} letters")
    yield f"{where}.piece", place.piece, bool(PIECE_ID.fullmatch(place.piece)) or (at_hand and not place.piece), (
        'a piece, such as "4.2"')


def _rows(plan: Plan) -> Iterator[_Check]:
    """Rows numbered from 1; pieces "row.number", so that no name can be anything else (a path, say)."""
    yield "rows", len(plan.rows), 1 <= len(plan.rows) <= MOST_ROWS, f"a list of 1 to {MOST_ROWS} rows"
    yield "rows", len(plan.pieces), len(plan.pieces) <= MOST_PIECES, f"rows of no more than {MOST_PIECES} pieces"
    for k, row in enumerate(plan.rows):
        yield f"rows[{k}].row", row.number, row.number == k + 1, str(k + 1)
        yield f"rows[{k}].near", row.near_mm, row.near_mm < row.far_mm, f"less than far, {row.far_mm:g}"
        yield (
            f"rows[{k}].runs",
            len(row.runs),
            bool(row.runs) and all(run.pieces for run in row.runs),
            "runs of one piece or more each",
        )
    for number, (where, row_number, piece) in _numbered(plan):
        yield f"{where}.id", piece.id, piece.id == f"{row_number}.{number}", (f'"{row_number}.{number}", its row and '
                                                                              'its place in it')


def _numbered(plan: Plan) -> Iterator[tuple[int, tuple[str, int, Piece]]]:
    """(place in its row from 1, (place in the file, row, piece)) of every piece."""
    for k, row in enumerate(plan.rows):
        yield from enumerate(((f"rows[{k}].runs[{i}].pieces[{j}]", row.number, piece)
                              for i, run in enumerate(row.runs) for j, piece in enumerate(run.pieces)), start=1)


def _wood(plan: Plan) -> Iterator[_Check]:
    """Boards, factory sides and cuts."""
    uses = Counter(piece.board for piece in plan.pieces)
    for _, (where, _, piece) in _numbered(plan):
        yield f"{where}.board", piece.board, 1 <= piece.board <= MOST_PIECES and uses[
            piece.board] <= MOST_IN_A_BOARD, "the number of a board"
        yield f"{where}.to", piece.to_mm, piece.from_mm < piece.to_mm, f"more than from, {piece.from_mm:g}"
        yield f"{where}.far", piece.far_mm, piece.near_mm < piece.far_mm, f"more than near, {piece.near_mm:g}"
        yield f"{where}.keeps", piece.keeps, set(piece.keeps) <= set(SIDES), f"any of {', '.join(SIDES)}"
        for k, cut in enumerate(piece.cuts):
            yield from _cut(f"{where}.cuts[{k}]", cut)
    wide = plan.board.width_mm
    for k, offcut in enumerate(plan.offcuts):
        across, ends = (offcut.near_mm, offcut.far_mm), set(offcut.keeps)
        yield f"offcuts[{k}].near", across[0], abs(across[0]) <= TURNED, "0, as an offcut is as wide as its board"
        yield f"offcuts[{k}].far", across[1], abs(across[1] - wide) <= TURNED, f"{wide:g}, the width of the board"
        yield f"offcuts[{k}].keeps", offcut.keeps, {"near", "far"} <= ends <= set(SIDES), "near, far and its ends"
    bars = plan.bars
    if bars is not None:
        yield "beading.bars.length", bars.bar_mm, 0.0 < bars.bar_mm <= LONGEST_BAR_MM, ("above 0 and up to "
                                                                                        f"{LONGEST_BAR_MM:g} mm")
        yield "beading.bars.kerf", bars.kerf_mm, 0.0 <= bars.kerf_mm <= WIDEST_KERF_MM, f"0 to {WIDEST_KERF_MM:g} mm"
        yield (
            "beading.bars.width",
            bars.width_mm,
            0.0 <= bars.width_mm <= WIDEST_BEADING_MM,
            f"0 to {WIDEST_BEADING_MM:g} mm",
        )
    for k, stretch in enumerate(plan.beading):
        for key, angle in (("start_deg", stretch.start_deg), ("end_deg", stretch.end_deg)):
            yield f"beading.pieces[{k}].{key}", angle, 0.0 <= angle <= 90.0, "an angle of 0 to 90 degrees"


def _cut(where: str, cut: Cut) -> Iterator[_Check]:
    sides = _KEPT[cut.kind]
    yield f"{where}.{_SIDE_KEY[cut.kind]}", cut.kept, cut.kept in sides, f"one of {', '.join(filter(None, sides))}"
    yield (
        f"{where}.diameter",
        cut.diameter,
        cut.kind != "hole" or 0.0 < cut.diameter <= WIDEST_BOARD_MM,
        f"above 0 and up to {WIDEST_BOARD_MM:g} mm",
    )
    if cut.kind == "notch" and cut.kept:
        yield f"{where}.span", cut.at, cut.at[0] < cut.at[1], "two places, the first before the second"
        yield (f"{where}.deep", cut.deep, 0.0 < cut.deep <= LONGEST_BOARD_MM,
               f"above 0 and up to {LONGEST_BOARD_MM:g} mm")
    yield f"{where}.shape", cut.shape, cut.kind not in ("notch", "line") or _has_inside(cut.shape), _SHAPE


_SHAPE = "three or more corners round an area, without crossing itself"


def _shapes(plan: Plan) -> Iterator[_Check]:
    """Everything drawn has an inside."""
    rings = [("floor.outline", plan.floor.outline),
             *((f"floor.holes[{k}]", hole) for k, hole in enumerate(plan.floor.holes))]
    for k, part in enumerate(plan.cover):
        rings += [(f"cover.polygons[{k}].outline", part.outline),
                  *((f"cover.polygons[{k}].holes[{i}]", hole) for i, hole in enumerate(part.holes))]
    for _, (where, _, piece) in _numbered(plan):
        rings += [(f"{where}.outline", piece.outline_mm),
                  *((f"{where}.holes[{i}]", hole) for i, hole in enumerate(piece.holes_mm))]
    rings += [(f"doorways[{k}].outline", way.outline) for k, way in enumerate(plan.doorways)]
    rings += [(f"left_out[{k}].outline", strip.outline) for k, strip in enumerate(plan.left_out)]
    yield "cover.polygons", len(plan.cover), bool(plan.cover), "one part of the floor or more"
    for where, ring in rings:
        yield where, ring, _has_inside(ring), _SHAPE
    for k, profile in enumerate(plan.profiles):
        yield f"profiles[{k}].ends", profile.ends, profile.ends[0] != profile.ends[1], "two different places"
        yield (
            f"profiles[{k}].clear",
            profile.clear_mm,
            0.0 <= profile.clear_mm <= WIDEST_GAP_MM,
            f"0 to {WIDEST_GAP_MM:g} mm",
        )


def _has_inside(ring: Ring) -> bool:
    if not 3 <= len(ring) <= MOST_CORNERS:
        return False
    shape = Polygon(ring)
    return bool(shapely.is_valid(shape)) and shape.area > 0.0


