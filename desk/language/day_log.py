"""The entries of a day's log as the reader's language says them, whoever typed them in whichever: each by the sentence
that tells its event."""
from __future__ import annotations

from collections.abc import Callable, Mapping

from capture.tape import format_length
from desk.jobfile.day_entries import DayEntry
from desk.language.day_phrases import shown
from layout.replan.events import (
    BoardsLeft, BoardsSpoiled, Event, FirstRowWidth, FloorPushed, Obstacle, OffcutFound, OffcutGone, OffcutShort,
    PieceCut, PlaceMeasured, RowBegun, RowDown, Sight, ToFarWall)

#: Writes a length.
_Write = Callable[[float], str]
_ENDS = {("left",): "left", ("right",): "right", ("left", "right"): "both", ("right", "left"): "both"}


def entry_said(entry: DayEntry, show: str, pencilled: Mapping[str, str]) -> str:
    """An entry as it would be said in the reader's language, lengths as shown; as it was typed where no sentence tells
    it. pencilled: what stands on an offcut, by its label, where it is not that."""
    if entry.event is None:
        return shown(f"undo {entry.undoes}")
    sentence = english_of(entry.event, lambda mm: _as_typed(mm, show), pencilled)
    return shown(sentence) if sentence else entry.said


def _as_typed(mm: float, show: str) -> str:
    """A length to the tenth that a tape is read to, where it was."""
    return format_length(mm, show=show, decimals=0 if round(mm, 1) == round(mm) else 1)


def english_of(event: Event, length: _Write, pencilled: Mapping[str, str]) -> str:
    """The English sentence that tells an event (`desk.text.day_events` understands it); "" where none can."""
    match event:
        case RowDown(row=row):
            return f"row {row} done"
        case RowBegun(row=row):
            return f"row {row} begun"
        case PieceCut(piece=piece, length_mm=mm):
            return f"piece {piece} came out {length(mm)}"
        case PlaceMeasured(piece=piece, length_mm=mm):
            return f"place {piece} is {length(mm)}" if piece else f"the place is {length(mm)}"
        case OffcutGone(label=label):
            return f"offcut {pencilled.get(label, label)} lost"
        case OffcutShort(label=label):
            return f"offcut {pencilled.get(label, label)} too short"
        case OffcutFound(length_mm=mm, keeps=keeps):
            return f"found {length(mm)} {_ENDS[keeps]}" if keeps in _ENDS else ""
        case FirstRowWidth(width_mm=mm):
            return f"first row {length(mm)}"
        case FloorPushed(towards_start_mm=mm):
            return f"pushed {length(abs(mm))} to {'start' if mm > 0 else 'far'}"
        case BoardsSpoiled(count=count):
            return "board spoiled" if count == 1 else f"{count} boards spoiled"
        case BoardsLeft(count=count):
            return f"{count} boards left" if count else "out of boards"
        case ToFarWall():
            return _to_wall(event, length)
        case Obstacle():
            return _obstacle(event, length)


def _to_wall(event: ToFarWall, length: _Write) -> str:
    if not all(sight.side or sight.at_mm is not None for sight in event.sights):
        return ""
    begin = f"row {event.row}" if event.row else "start wall"
    return f"{begin} to wall {' '.join(_sight(sight, length) for sight in event.sights)}"


def _sight(sight: Sight, length: _Write) -> str:
    if sight.at_mm is not None:
        return f"at {length(sight.at_mm)} is {length(sight.distance_mm)}"
    return f"{sight.side} {length(sight.distance_mm)}"


def _obstacle(event: Obstacle, length: _Write) -> str:
    along, deep = event.size_mm
    what = f"pipe {length(event.diameter_mm)}" if event.diameter_mm else f"box {length(along)} by {length(deep)}"
    row = f"row {event.row}" if event.row else "start wall"
    return f"{what} at left {length(event.left_mm)} {row} ahead {length(event.ahead_mm)}"
