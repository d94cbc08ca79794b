"""How far a floor is: what lies and stays, what wood is on hand, how many boards are used and left.

A row is *held* when it is down, or when a piece of it is: what lies is never moved, and a row once begun is finished on
its joints.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from capture.language.messages import all_of, lazy_gettext, lazy_ngettext
from layout.errors import LayoutError
from layout.replan.events import (
    BoardsLeft, BoardsSpoiled, Event, FloorPushed, Obstacle, OffcutFound, OffcutGone, OffcutShort, PieceCut,
    PlaceMeasured, RowBegun, RowDown, ToFarWall)
from layout.plan import Offcut, Piece, Plan, Run
from layout.room import OwnPiece

#: A piece that came out this near to its planned length is as planned, mm.
SAME_LENGTH_MM = 0.5
#: A whole board may be read so much too long, mm.
SLIP_MM = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Spare:
    """Wood on hand: its label, the board of the plan it comes from (0: another), usable stretch in the board's frame
    (mm), ends it keeps."""

    label: str
    board: int
    from_mm: float
    to_mm: float
    keeps: tuple[str, ...]

    @property
    def length_mm(self) -> float:
        """How much of it can be used."""
        return self.to_mm - self.from_mm

    @property
    def own(self) -> OwnPiece:
        """The same as a piece at hand that no plan has numbered yet."""
        return OwnPiece(label=self.label, length_mm=self.length_mm, keeps=self.keeps,
                        from_mm=None if self.keeps else self.from_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """Where the work stands.

    down: rows that are down; held: those and the row begun, if one is; cut: lengths of pieces that came out otherwise
    or, of a place that was measured, will, by id; places: lengths of those places. spares: offcuts and found pieces on
    hand once the held rows are finished; gone: labels of offcuts that are no more. short: pieces that their offcuts
    were too short for; sawn: pieces whose length was told. spoiled: boards of no use; used: boards taken so far for
    what lies and stays, spoiled ones included; left: whole boards on hand.
    """

    down: int = 0
    held: int = 0
    cut: dict[str, float]
    places: dict[str, float]
    spares: tuple[Spare, ...] = ()
    gone: frozenset[str] = frozenset()
    short: frozenset[str] = frozenset()
    sawn: frozenset[str] = frozenset()
    spoiled: int = 0
    used: int = 0
    left: int

    def off_mm(self, piece: Piece) -> float:
        """By how much a piece came out longer than planned, mm; one without a word came out as planned."""
        planned = piece.to_mm - piece.from_mm
        return self.cut.get(piece.id, planned) - planned

    def place_off_mm(self, piece: Piece) -> float:
        """By how much the place of a piece is longer than planned, mm, as far as it was told."""
        return self.places.get(piece.id, self.cut.get(piece.id, piece.to_mm - piece.from_mm)) - (piece.to_mm
                                                                                                 - piece.from_mm)


def progress_of(plan: Plan, events: Sequence[Event], *, bought: int, unsaid: frozenset[str] = frozenset()) -> Progress:
    """Where the work stands after these events. bought: boards bought for the floor, whole packs. unsaid: labels of
    found pieces whose entry was taken back; the plan may know them still.

    Never refuses: what a later plan no longer knows (`refuse_event` let it in when it did) tells nothing.
    """
    pieces = {piece.id: plan.board_of(piece.board).length_mm for piece in plan.pieces}
    down, begun, sawn, places, gone, short, found, spoiled = 0, 0, {}, {}, set(unsaid), set(), [], 0
    counted: tuple[int, int] | None = None
    for event in events:
        match event:
            case RowDown(row=row):
                down = min(max(down, row), len(plan.rows))
            case RowBegun(row=row):
                begun = min(max(begun, row), len(plan.rows))
            case PieceCut(piece=name, length_mm=length) if name in pieces:
                sawn[name] = length
            case PlaceMeasured(piece=name, length_mm=length) if name in pieces:
                places[name] = length
            case BoardsSpoiled(count=count):
                spoiled += count
            case OffcutGone(label=label):
                gone.add(label)
            case OffcutShort(piece=name) if name in pieces:
                short.add(name)
            case OffcutFound():
                found.append(event)
            case BoardsLeft(count=count):
                counted = count, _taken(plan, _held(down, begun, {*sawn, *places, *short}), spoiled)
    held = _held(down, begun, {*sawn, *places, *short})
    cut = {name: min(length, pieces[name]) for name, length in places.items()} | sawn
    now = Progress(down=down, held=held, cut=cut, places=places, spares=_spares(plan, held, cut, gone, short, found),
                   gone=frozenset(gone), short=frozenset(short), sawn=frozenset(sawn), spoiled=spoiled, left=0)
    used = _taken(plan, held, spoiled) + sum(must_be_remade(piece, now) for piece in held_pieces(plan, held))
    left = bought - used if counted is None else counted[0] - (used - counted[1])
    return replace(now, used=used, left=max(0, left))


def refuse_event(plan: Plan, now: Progress, event: Event) -> None:
    """Raise LayoutError for an event that cannot be as things stand: no-such-row, no-such-piece, no-such-offcut,
    not-down, over-long, through-wall, too-many-boards."""
    match event:
        case RowDown(row=row):
            _row(plan, row)
        case RowBegun(row=row):
            _row(plan, row)
            _lies(row - 1, now.down)
        case ToFarWall(row=row) | Obstacle(row=row):
            _row(plan, row or 1)
            _lies(row, now.down)
        case PieceCut(piece=name, length_mm=length):
            piece = _piece(plan, name)
            _lies(row_of(piece.id) - 1, now.down)
            _of_one_board(plan, length)
        case PlaceMeasured():
            _closes(plan, now, event.piece)
        case OffcutFound(length_mm=length):
            _of_one_board(plan, length)
        case BoardsSpoiled(count=count) if count > now.left + now.used:
            raise LayoutError("too-many-boards", lazy_gettext(
                "{count} boards spoiled are more than there ever were, {left}; count again. If you bought more, say "
                "first how many are left.", count=count, left=now.left + now.used), where="day")
        case FloorPushed(towards_start_mm=push) if push < -plan.rules.narrowest_mm:
            raise LayoutError("through-wall", lazy_gettext(
                "Pushed {push:g} mm away, the rows would leave room for one more at the start wall; type how far "
                "they moved.", push=-push), where="day")
        case FloorPushed(towards_start_mm=push) if push > plan.gap_mm:
            raise LayoutError("through-wall", lazy_gettext(
                "The gap at the start wall is {gap:g} mm, so the rows cannot be pushed {push:g} mm towards it; type "
                "how far they moved.", gap=plan.gap_mm, push=push), where="day")
        case OffcutGone(label=label):
            _on_hand(plan, now, label)
        case OffcutShort():
            _too_short(plan, now, event)


def with_piece(plan: Plan, event: Event, down: int = 0) -> Event:
    """The event, an offcut too short with the piece this plan has for it, a place with the piece that closes the row
    being laid, if only one does. down: rows that are down."""
    match event:
        case OffcutShort(label=label):
            return replace(event, piece=next((piece.id for piece in plan.pieces if piece.takes == label), ""))
        case PlaceMeasured(piece="") if down < len(plan.rows) and len(plan.rows[down].runs) == 1:
            return replace(event, piece=closing_piece(plan, plan.rows[down].runs[0]).id)
    return event


def called(plan: Plan) -> dict[str, str]:
    """What each offcut is called at the floor, by label: the piece it is to become; else what is pencilled on it, as
    long as that is no other's name; else its label."""
    users = {offcut.for_piece for offcut in plan.offcuts}
    return {one.label: one.for_piece or (one.pencilled if one.pencilled not in users else "") or one.label
            for one in plan.offcuts}


def closing_piece(plan: Plan, run: Run) -> Piece:
    """The piece of a run that is laid last."""
    return run.pieces[-1 if plan.lay == "left-to-right" else 0]


def row_of(piece: str) -> int:
    """The row a piece's name begins with."""
    return int(piece.split(".")[0])


def _held(down: int, begun: int, made: set[str]) -> int:
    """Rows that are down or begun. made: pieces of which something is told that binds their row."""
    return max([down, begun, *map(row_of, made)])


def held_pieces(plan: Plan, held: int) -> tuple[Piece, ...]:
    """The pieces of the rows that are held."""
    return tuple(piece for row in plan.rows[:held] for piece in row.pieces)


def must_be_remade(piece: Piece, now: Progress) -> bool:
    """Whether a piece of the row begun was to come from an offcut that is no more, or too short."""
    stays_away = piece.takes in now.gone or (bool(piece.takes) and piece.id in now.short)
    return stays_away and row_of(piece.id) > now.down and piece.id not in now.sawn


def _row(plan: Plan, row: int) -> int:
    if not 1 <= row <= len(plan.rows):
        raise LayoutError("no-such-row", lazy_gettext(
            "Row {row} is not in this plan; it has rows 1 to {rows}.", row=row, rows=len(plan.rows)), where="day")
    return row


def _piece(plan: Plan, name: str) -> Piece:
    for piece in plan.pieces:
        if piece.id == name:
            return piece
    row = name.split(".")[0]
    here = next((row_.pieces for row_ in plan.rows if str(row_.number) == row), ())
    hint = (lazy_gettext("row {row} has pieces {first} to {last}", row=row, first=here[0].id, last=here[-1].id) if here
            else lazy_gettext("pieces are named like {piece}", piece=plan.pieces[0].id))
    raise LayoutError("no-such-piece", lazy_gettext(
        "There is no piece {name} in this plan: {hint}.", name=name, hint=hint), where="day")


def _closes(plan: Plan, now: Progress, name: str) -> None:
    """Refuse a place that is not that of a piece which closes a run of the row being laid."""
    if not name:
        if now.down == len(plan.rows):
            raise LayoutError("no-such-piece", lazy_gettext(
                "All rows are down, so no place is left to close; take an entry back if one is not."), where="day")
        names = [closing_piece(plan, run).id for run in plan.rows[now.down].runs]
        raise LayoutError("no-such-piece", lazy_gettext(
            "Row {row} is closed by {count} pieces, {names}; say which place it is: “place {first} is” and its "
            "length.", row=now.down + 1, count=len(names), names=", ".join(names), first=names[0]), where="day")
    row = plan.rows[row_of(_piece(plan, name).id) - 1]
    closing = [closing_piece(plan, run).id for run in row.runs]
    if name not in closing:
        raise LayoutError("no-such-piece", lazy_ngettext(
            "Piece {name} does not close row {row}; {closing} does, so measure there.",
            "Piece {name} does not close row {row}; {closing} do, so measure there.", len(closing), name=name,
            row=row.number, closing=all_of(closing)), where="day")
    _lies(row.number - 1, now.down)


def _of_one_board(plan: Plan, length_mm: float) -> None:
    if length_mm > plan.board.length_mm + SLIP_MM:
        raise LayoutError("over-long", lazy_gettext(
            "A piece of {length:g} mm is longer than a board, {board:g} mm; measure it again.", length=length_mm,
            board=plan.board.length_mm), where="day")


def _lies(row: int, down: int) -> None:
    if row > down:
        raise LayoutError("not-down", lazy_gettext(
            "Row {row} is not said to be down yet; say “row {row} done” first.", row=row), where="day")


def _on_hand(plan: Plan, now: Progress, label: str) -> None:
    """Refuse an offcut that is not on hand, saying where it is."""
    here = {spare.label for spare in now.spares}
    for piece in plan.pieces:
        row = row_of(piece.id)
        if piece.takes == label and row <= now.down:
            raise LayoutError("no-such-offcut", lazy_gettext(
                "Offcut {label} is in the floor already, as piece {piece}.", label=label, piece=piece.id), where="day")
        if label in piece.leaves and row > now.held:
            raise LayoutError("no-such-offcut", lazy_gettext(
                "Offcut {label} is not sawn yet; piece {piece} will leave it.", label=label, piece=piece.id),
                              where="day")
        here |= {label} if piece.takes == label else set()
    if label not in here:
        listed = ", ".join(sorted(spare.label for spare in now.spares)) or "none"
        raise LayoutError("no-such-offcut", lazy_gettext(
            "No offcut on hand is labelled {label}; on hand: {listed}.", label=label, listed=listed), where="day")


def _too_short(plan: Plan, now: Progress, event: OffcutShort) -> None:
    """Refuse an offcut too short for a piece that is not being made now."""
    row = row_of(event.piece) if event.piece else 0
    # It may have been left by a piece of the same row, which is then begun.
    _on_hand(plan, replace(now, held=max(now.held, row)), event.label)
    if not event.piece:
        raise LayoutError("no-such-offcut", lazy_gettext(
            "No piece is to come from offcut {label}, so it is too short for none; if it is of no use, say “offcut "
            "{label} lost”.", label=event.label), where="day")
    _lies(row - 1, now.down)
    if event.piece in now.sawn:
        raise LayoutError("no-such-offcut", lazy_gettext(
            "Piece {piece} is said to be sawn from offcut {label} already, {cut:g} mm long; take that entry back "
            "first.", piece=event.piece, label=event.label, cut=now.cut[event.piece]), where="day")


def _taken(plan: Plan, held: int, spoiled: int) -> int:
    """New boards cut or laid in the held rows, and spoiled ones."""
    owned = {piece.board for piece in plan.owned if piece.board}
    return len({piece.board for piece in held_pieces(plan, held)} - owned) + spoiled


def _spares(plan: Plan, held: int, cut: dict[str, float], gone: set[str], short: set[str],
            found: Sequence[OffcutFound]) -> tuple[Spare, ...]:
    pieces = {piece.id: piece for piece in held_pieces(plan, held)}
    taken = {piece.takes for piece in pieces.values() if piece.id not in short}
    spares = [_left_by(offcut, pieces[offcut.cut_by], cut, plan.kerf_mm) for offcut in plan.offcuts
              if offcut.cut_by in pieces]
    board = plan.board.length_mm
    owned = {piece.label: piece for piece in plan.owned} | {piece.label: piece for piece in found}
    for piece in owned.values():
        middle = piece.from_mm if isinstance(piece, OwnPiece) else None
        lo = middle if middle is not None else 0.0 if "left" in piece.keeps else board - piece.length_mm
        hi = lo + piece.length_mm
        spares.append(Spare(label=piece.label, board=0, from_mm=lo, to_mm=hi,
                            keeps=tuple(end for end in ("left", "right") if end in piece.keeps)))
    return tuple(spare for spare in spares if spare.label not in taken | gone and spare.length_mm > 1.0)


def _left_by(offcut: Offcut, piece: Piece, cut: dict[str, float], kerf_mm: float) -> Spare:
    """What a piece really left: less than planned where it came out longer. What it left more is not counted on.

    A plan made since then tells the offcut as it came out already, so its end is reckoned from the piece, not from what
    the plan says.
    """
    over = max(0.0, cut.get(piece.id, 0.0) - (piece.to_mm - piece.from_mm))
    ends = tuple(end for end in ("left", "right") if end in offcut.keeps)
    lo, hi = offcut.from_mm, offcut.to_mm
    if over and lo >= piece.to_mm:
        lo = max(lo, piece.to_mm + over + kerf_mm)
    elif over:
        hi = min(hi, piece.from_mm - over - kerf_mm)
    return Spare(label=offcut.label, board=offcut.board, from_mm=lo, to_mm=hi, keeps=ends)
