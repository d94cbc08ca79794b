"""A plan as JSON-ready data and back, exactly.

Lengths mm, angles degrees where a name says so. Keys of the contract keep their meaning; `lay`, `pattern`, `gap`,
`start`, `bound_says`, `says`, `choices`, `offcuts`, `cutouts` (pipe holes), `takes`, `leaves`, `longest`, `doorways`,
`profiles`, `left_out`, `owned` and the beading's `bars` are additions; a plan without the last six is read as one that
has none, one without `gap_least` and `gap_most` as one whose boards all keep the gap exactly. With boards of several
lengths there are also the board's `lengths`, `board_lengths` (of each board by its number), `least_packs` and a
choice's `packs`.
"""
from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from layout.planfile.cuts import cut_in, cut_out
from layout.planfile.schema import (
    BarsShape, BeadingPieceShape, BeadingShape, BoardShape, ChoiceShape, OffcutShape, PieceShape, PlanShape,
    PolygonShape, RowShape, RunShape)
from layout.errors import LayoutError
from layout.plan import (
    UNPARTED_MM, BarPiece, Bars, BeadingPiece, ChalkLine, Choice, Doorway, Hole, Item, LeftOut, Offcut, OnWall, Owned,
    Piece, Plan, Polygon, Profile, Relaxed, Row, Run)
from layout.planfile.reader import Reader, damaged, members_in
from layout.room import Board, Rules

FORMAT: Final = "tapegroove-plan"
VERSION: Final = 1


def to_answer(plan: Plan) -> PlanShape:
    """The plan as plain dicts, lists, strings and numbers."""
    answer: PlanShape = {"format": FORMAT, "version": VERSION, "floor": _polygon_out(plan.floor),
                         "cover": {"polygons": [_polygon_out(part) for part in plan.cover]},
                         "board": _board_out(plan.board), "kerf": plan.kerf_mm, "gap": plan.gap_mm,
                         "gap_least": plan.gap_least_mm, "gap_most": plan.gap_most_mm,
                         "rules": {"stagger": plan.rules.stagger_mm, "shortest": plan.rules.shortest_mm,
                                   "narrowest": plan.rules.narrowest_mm}, "u": list(plan.u), "v": list(plan.v),
                         "start": list(plan.start_mm), "lay": plan.lay, "pattern": plan.pattern, "boards": plan.boards,
                         "bound": plan.bound, "bound_says": plan.bound_says, "proven": plan.proven, "packs": plan.packs,
                         "waste_percent": plan.waste_percent,
                         "rows": [_row_out(row, plan.board.width_mm) for row in plan.rows],
                         "offcuts": [_offcut_out(offcut) for offcut in plan.offcuts],
                         "cutouts": [{"pipe": hole.pipe, "centre": list(hole.centre_mm), "pipe_diameter": hole.pipe_mm,
                                      "diameter": hole.diameter_mm, "pieces": list(hole.pieces)}
                                     for hole in plan.holes], "says": list(plan.says),
                         "choices": [_choice_out(choice) for choice in plan.choices],
                         "shopping": {"items": [{"what": i.what, "quantity": i.quantity, "unit": i.unit, "why": i.why}
                                                for i in plan.shopping]}, "beading": _beading_out(plan),
                         "longest": plan.longest_mm, "doorways": [{"door": d.door,
                                                                   "outline": [list(p) for p in d.outline],
                                                                   "depth": d.depth_mm, "under": d.under_mm,
                                                                   "undercut": d.undercut_mm,
                                                                   "undercut_deep": d.undercut_deep_mm}
                                                                  for d in plan.doorways],
                         "profiles": [{"ends": [list(p) for p in profile.ends], "clear": profile.clear_mm,
                                       "says": profile.says} for profile in plan.profiles],
                         "left_out": [{"outline": [list(p) for p in strip.outline], "width": strip.width_mm}
                                      for strip in plan.left_out],
                         "owned": [{"label": o.label, "length": o.length_mm, "keeps": list(o.keeps), "board": o.board}
                                   for o in plan.owned], "cautions": list(plan.cautions),
                         "warnings": list(plan.warnings), "relaxed": [{"rule": r.rule, "where": r.where,
                                                                       "asked": r.asked_mm, "had": r.had_mm,
                                                                       "says": r.says} for r in plan.relaxed],}
    if plan.chalk is not None:
        answer["chalk_line"] = {"row": plan.chalk.row, "ends": [{"wall": list(end.wall), "from": end.from_mm}
                                                                for end in plan.chalk.ends]}
    if plan.board.mix:
        answer["board_lengths"], answer["least_packs"] = list(plan.lengths_mm), plan.least_packs
    return answer


def from_answer(data: object) -> Plan:
    """The plan an answer was made of. Raises LayoutError (slug damaged-plan, newer-plan) naming the first key that
    is amiss."""
    if not isinstance(data, Mapping) or data.get("format") != FORMAT:
        raise LayoutError("damaged-plan", "This is not a plan: its 'format' is not 'tapegroove-plan'.",
                          where="plan.format")
    if not isinstance(data.get("version"), int) or data["version"] > VERSION:
        raise LayoutError("newer-plan", f"The plan is of version {data.get('version')}, and this program reads "
                                        f"versions up to {VERSION}; "
                          "use a newer program or plan again.", where="plan.version")
    return _read_plan(Reader(data, "plan"))


def _read_plan(r: Reader) -> Plan:
    board, rules, beading = r.inner("board"), r.inner("rules"), r.inner("beading")
    return Plan(
        floor=_polygon_in(r.inner("floor")),
        cover=r.inner("cover").each("polygons", _polygon_in),
        board=Board(
            length_mm=board.number("length"),
            width_mm=board.number("width"),
            thickness_mm=board.number("thickness"),
            pack=board.whole("pack"),
            mix=board.each_or_none("lengths", lambda one: (one.number("length"), one.whole("count"))),
        ),
        rules=Rules(
            stagger_mm=rules.number("stagger"),
            shortest_mm=rules.number("shortest"),
            narrowest_mm=rules.number("narrowest"),
        ),
        kerf_mm=r.number("kerf"),
        gap_mm=r.number("gap"),
        gap_least_mm=r.number_or("gap_least", r.number("gap")),
        gap_most_mm=r.number_or("gap_most", r.number("gap")),
        u=r.point("u"),
        v=r.point("v"),
        start_mm=r.point("start"),
        lay=r.text("lay"),
        pattern=r.text("pattern"),
        rows=r.each("rows", _row_in),
        offcuts=r.each("offcuts", _offcut_in),
        holes=r.each("cutouts", _hole_in),
        boards=r.whole("boards"),
        bound=r.whole("bound"),
        bound_says=r.text("bound_says"),
        proven=r.truth("proven"),
        packs=r.whole("packs"),
        waste_percent=r.number("waste_percent"),
        says=r.texts("says"),
        choices=r.each("choices", _choice_in),
        shopping=r.inner("shopping").each("items", _item_in),
        beading=beading.each("pieces", _beading_in),
        cautions=r.texts("cautions"),
        warnings=r.texts("warnings"),
        relaxed=r.each("relaxed", _relaxed_in),
        # What later versions added, as far as the plan has it.
        longest_mm=r.number_or("longest", UNPARTED_MM),
        doorways=r.each_or_none("doorways", _doorway_in),
        profiles=r.each_or_none("profiles", _profile_in),
        left_out=r.each_or_none("left_out", _left_out_in),
        owned=r.each_or_none("owned", _owned_in),
        bars=_bars_in(beading.inner("bars")) if "bars" in beading.data else None,
        lengths_mm=r.numbers_or_none("board_lengths"),
        least_packs=r.whole("least_packs") if "least_packs" in r.data else 0,
        chalk=_chalk_in(r.inner("chalk_line")) if "chalk_line" in r.data else None,
    )


def _board_out(board: Board) -> BoardShape:
    out: BoardShape = {"length": board.length_mm, "width": board.width_mm, "thickness": board.thickness_mm,
                       "pack": board.pack}
    if board.mix:
        out["lengths"] = [{"length": length, "count": count} for length, count in board.mix]
    return out


def _choice_out(choice: Choice) -> ChoiceShape:
    out: ChoiceShape = {"u_deg": choice.u_deg, "first_row": choice.first_row_mm, "last_row": choice.last_row_mm,
                        "boards": choice.boards, "cuts": choice.cuts, "narrowest": choice.narrowest_mm,
                        "says": choice.says}
    if choice.packs is not None:
        out["packs"] = choice.packs
    return out


def _polygon_out(polygon: Polygon) -> PolygonShape:
    return {"outline": [list(p) for p in polygon.outline], "holes": [[list(p) for p in hole] for hole in polygon.holes]}


def _polygon_in(r: Reader) -> Polygon:
    return Polygon(outline=r.ring("outline"), holes=r.rings("holes"))


def _row_out(row: Row, width_mm: float) -> RowShape:
    out: RowShape = {"row": row.number, "near": row.near_mm, "far": row.far_mm,
                     "runs": [_run_out(run, width_mm) for run in row.runs]}
    if row.joined_by:
        out["joined_by"] = row.joined_by
    return out


def _run_out(run: Run, width_mm: float) -> RunShape:
    out: RunShape = {"pieces": [_piece_out(p, width_mm) for p in run.pieces]}
    if run.gaps_mm:
        out["gaps"] = list(run.gaps_mm)
    return out


def _row_in(r: Reader) -> Row:
    return Row(number=r.whole("row"), near_mm=r.number("near"), far_mm=r.number("far"),
               runs=r.each("runs", lambda run: Run(pieces=run.each("pieces", _piece_in),
                                                   gaps_mm=run.numbers_or_none("gaps"))),
               joined_by=r.whole("joined_by") if "joined_by" in r.data else 0)


def _piece_out(piece: Piece, width_mm: float) -> PieceShape:
    out: PieceShape = {"id": piece.id, "board": piece.board, "takes": piece.takes,
                       "outline": [list(p) for p in piece.outline_mm],
                       "holes": [[list(p) for p in hole] for hole in piece.holes_mm], "from": piece.from_mm,
                       "to": piece.to_mm, "near": piece.near_mm, "far": piece.far_mm, "keeps": list(piece.keeps),
                       "cuts": [cut_out(cut, width_mm) for cut in piece.cuts], "leaves": list(piece.leaves)}
    if piece.flat:
        out["lay"], out["why"] = "flat", piece.flat
    return out


def _piece_in(r: Reader) -> Piece:
    return Piece(id=r.text("id"), board=r.whole("board"), takes=r.text("takes"), outline_mm=r.ring("outline"),
                 holes_mm=r.rings("holes"), from_mm=r.number("from"), to_mm=r.number("to"), near_mm=r.number("near"),
                 far_mm=r.number("far"), keeps=r.texts("keeps"), cuts=r.each("cuts", cut_in), leaves=r.texts("leaves"),
                 flat=r.text("why") if "lay" in r.data else "")


def _offcut_out(offcut: Offcut) -> OffcutShape:
    return {"label": offcut.label, "board": offcut.board, "from": offcut.from_mm, "to": offcut.to_mm,
            "near": offcut.near_mm, "far": offcut.far_mm, "keeps": list(offcut.keeps), "cut_by": offcut.cut_by,
            "used_by": offcut.used_by}


def _offcut_in(r: Reader) -> Offcut:
    return Offcut(label=r.text("label"), board=r.whole("board"), from_mm=r.number("from"), to_mm=r.number("to"),
                  near_mm=r.number("near"), far_mm=r.number("far"), keeps=r.texts("keeps"), cut_by=r.text("cut_by"),
                  used_by=r.text("used_by"))


def _hole_in(r: Reader) -> Hole:
    return Hole(pipe=r.text("pipe"), centre_mm=r.point("centre"), pipe_mm=r.number("pipe_diameter"),
                diameter_mm=r.number("diameter"), pieces=r.texts("pieces"))


def _choice_in(r: Reader) -> Choice:
    return Choice(u_deg=r.number("u_deg"), first_row_mm=r.number("first_row"), last_row_mm=r.number("last_row"),
                  boards=r.whole("boards"), cuts=r.whole("cuts"), narrowest_mm=r.number("narrowest"),
                  says=r.text("says"), packs=r.whole("packs") if "packs" in r.data else None)


def _item_in(r: Reader) -> Item:
    return Item(what=r.text("what"), quantity=r.number("quantity"), unit=r.text("unit"), why=r.text("why"))


def _beading_in(r: Reader) -> BeadingPiece:
    return BeadingPiece(where=r.text("where"), length_mm=r.number("length"), start_deg=r.number("start_deg"),
                        end_deg=r.number("end_deg"))


def _bar_piece_out(piece: BeadingPiece | BarPiece) -> BeadingPieceShape:
    return {"where": piece.where, "length": piece.length_mm, "start_deg": piece.start_deg, "end_deg": piece.end_deg}


def _beading_out(plan: Plan) -> BeadingShape:
    pieces = [_bar_piece_out(piece) for piece in plan.beading]
    return {"pieces": pieces} if plan.bars is None else {"pieces": pieces, "bars": _bars_out(plan.bars)}


def _bars_out(bars: Bars) -> BarsShape:
    return {"length": bars.bar_mm, "kerf": bars.kerf_mm, "width": bars.width_mm, "bound": bars.bound,
            "cut": [[_bar_piece_out(piece) for piece in bar] for bar in bars.bars]}


def _bars_in(r: Reader) -> Bars:
    cut = tuple(tuple(_bar_piece_in(Reader(piece, place)) for piece, place in members_in(bar, where))
                for bar, where in r.items("cut"))
    return Bars(bar_mm=r.number("length"), kerf_mm=r.number("kerf"), width_mm=r.number("width"), bound=r.whole("bound"),
                bars=cut)


def _bar_piece_in(r: Reader) -> BarPiece:
    return BarPiece(where=r.text("where"), length_mm=r.number("length"), start_deg=r.number("start_deg"),
                    end_deg=r.number("end_deg"))


def _doorway_in(r: Reader) -> Doorway:
    return Doorway(door=r.text("door"), outline=r.ring("outline"), depth_mm=r.number("depth"),
                   under_mm=r.number("under"), undercut_mm=r.number("undercut"),
                   undercut_deep_mm=r.number("undercut_deep"))


def _profile_in(r: Reader) -> Profile:
    ends = r.ring("ends")
    if len(ends) != 2:
        raise damaged(f"{r.where}.ends", "is not a pair of points")
    return Profile(ends=(ends[0], ends[1]), clear_mm=r.number("clear"), says=r.text("says"))


def _left_out_in(r: Reader) -> LeftOut:
    return LeftOut(outline=r.ring("outline"), width_mm=r.number("width"))


def _owned_in(r: Reader) -> Owned:
    return Owned(label=r.text("label"), length_mm=r.number("length"), keeps=r.texts("keeps"), board=r.whole("board"))


def _chalk_in(r: Reader) -> ChalkLine:
    ends = r.each("ends", _on_wall_in)
    if len(ends) != 2:
        raise damaged(f"{r.where}.ends", "is not a pair of places")
    return ChalkLine(row=r.whole("row"), ends=(ends[0], ends[1]))


def _on_wall_in(r: Reader) -> OnWall:
    wall = r.texts("wall")
    if len(wall) != 2:
        raise damaged(f"{r.where}.wall", "is not a pair of corners")
    return OnWall(wall=(wall[0], wall[1]), from_mm=r.number("from"))


def _relaxed_in(r: Reader) -> Relaxed:
    return Relaxed(rule=r.text("rule"), where=r.text("where"), asked_mm=r.number("asked"), had_mm=r.number("had"),
                   says=r.text("says"))
