"""What a fitter says at the command line, to what happened. Lengths in any of the usual ways (`capture.tape`).

Words are few and may stand in the order people say them; what is not understood is answered with the sentences that
are.
"""
from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from capture.errors import CaptureError
from capture.tape import parse_length
from desk.problem import JobFileError, file_error
from layout.replan.events import (
    BoardsLeft, BoardsSpoiled, Event, FirstRowWidth, FloorPushed, Obstacle, OffcutFound, OffcutGone, OffcutShort,
    PieceCut, RowBegun, RowDown, Sight, ToFarWall)

#: What can be said, as shown in help and refusals.
PHRASES = ("row 4 done", "row 5 begun", "row 4 to wall left 1803 mm right 1799 mm",
           "start wall to wall left 3196 mm right 3190 mm", "piece 4.5 came out 412 mm", "board spoiled",
           "2 boards spoiled", "offcut 7.4 lost", "offcut 7.4 too short", "found 640 mm left", "7 boards left",
           "out of boards", "pipe 22 mm at left 1204 mm row 5 ahead 356 mm",
           "box 300 mm by 200 mm at left 1204 mm row 5 ahead 356 mm", "first row 130 mm", "pushed 4 mm to start",
           "undo", "undo 3",)
#: Words that tell nothing of what happened: they stand in several of the phrases, or in none.
_SMALL_WORDS = {"at", "to", "mm", "cm", "m", "by", "x", "is", "are", "the", "a", "left", "right", "ahead", "wall",
                "start", "out", "of"}
_Parts = dict[str, str]
_Length = Callable[[str], float]
_LABEL = r"(?P<label>[A-Za-z0-9]+(?:\.[0-9]+)?)"
_PLACE = r"at left (?P<left>.+?),? (?:row (?P<row>\d+)|(?P<start>start wall)) ahead (?P<ahead>.+)"


def read_words(words: Sequence[str], *, show: str, found: int = 0, obstacles: int = 0) -> Event | int:
    """What happened, or the number of the entry to take back (0: the last one).

    show: "metric" or "imperial", for bare numbers. found, obstacles: how many the log has already, for their names.
    Raises JobFileError (slug unknown-words, and those of lengths) with a sentence that shows what can be said.
    """
    said = " ".join(" ".join(words).split())
    text = said.strip(" .!")
    unit = "in" if show == "imperial" else "mm"

    def length(written: str) -> float:
        try:
            return parse_length(written.strip(" ,"), unit=unit)
        except CaptureError as error:
            raise file_error("unread-length", f"{str(error)[:1].upper()}{str(error)[1:]}.", where="day") from error

    for pattern, make in _SENTENCES:
        match = re.fullmatch(pattern, text, re.IGNORECASE)
        if match:
            return make(match.groupdict(), length, (found, obstacles))
    raise _not_understood(said)


def _not_understood(said: str) -> JobFileError:
    alike = [phrase for phrase in PHRASES if _telling(phrase)[:1] and _telling(phrase)[0] in _telling(said)]
    shown = "; ".join(f"“{phrase}”" for phrase in alike or PHRASES)
    return file_error("unknown-words", f"“{said[:80]}” is not understood. Say it like one of these: {shown}.",
                      where="day")


def _telling(said: str) -> list[str]:
    """The words that say what happened, one form each."""
    words = re.findall(r"[a-z]+", said.lower())
    return [word.rstrip("s") for word in words if word not in _SMALL_WORDS]


def _row_down(part: _Parts, _: _Length, __: tuple[int, int]) -> RowDown:
    if part["first"] and int(part["first"]) > int(part["row"]):
        raise _not_understood(f"rows {part['first']} to {part['row']} done")
    return RowDown(row=int(part["row"]))


def _to_wall(part: _Parts, length: _Length, _: tuple[int, int]) -> ToFarWall:
    row = int(part["row"]) if part["row"] else 0
    sights = []
    for found in re.finditer(r"(left|right|at) (.+?)(?=,? (?:left|right|at) |$)", part["sights"], re.IGNORECASE):
        word, rest = found[1].lower(), found[2]
        if word == "at":
            place, _is, distance = rest.partition(" is ")
            sights.append(Sight(distance_mm=length(distance), at_mm=length(place)))
        else:
            sights.append(Sight(distance_mm=length(rest), side=word))
    if not sights:
        raise _not_understood(part["sights"])
    return ToFarWall(row=row, sights=tuple(sights))


def _found(part: _Parts, length: _Length, counts: tuple[int, int]) -> OffcutFound:
    ends = tuple(end for end in ("left", "right") if end in part["ends"].lower() or "both" in part["ends"].lower())
    return OffcutFound(label=f"F{counts[0] + 1}", length_mm=length(part["length"]), keeps=ends)


def _obstacle(part: _Parts, length: _Length, counts: tuple[int, int]) -> Obstacle:
    diameter = length(part["diameter"]) if part.get("diameter") else 0.0
    size = (0.0, 0.0) if diameter else (length(part["along"]), length(part["across"]))
    return Obstacle(name=f"N{counts[1] + 1}", row=int(part["row"] or 0), left_mm=length(part["left"]),
                    ahead_mm=length(part["ahead"]), diameter_mm=diameter, size_mm=size)


_SENTENCES: tuple[tuple[str, Callable[[_Parts, _Length, tuple[int, int]], Event | int]],
                  ...] = ((r"rows? (?:(?P<first>\d+) (?:to|-) )?(?P<row>\d+) (?:is |are )?(?:done|down|laid)",
                           _row_down), (r"row (?P<row>\d+) (?:is )?(?:begun|started)", lambda p,
                                        *_: RowBegun(row=int(p["row"]))),
                          (r"(?:row (?P<row>\d+)|start wall) to (?:far )?wall (?P<sights>(?:left|right|at) .+)",
                           _to_wall), (r"piece (?P<piece>\d+\.\d+) (?:came out|is|measures) (?P<length>.+)", lambda p,
                                       length, _: PieceCut(piece=p["piece"], length_mm=length(p["length"]))),
                          (r"(?:(?P<count>[1-9]\d{0,3}|a|one) )?boards? (?:is |are )?(?:spoiled|damaged|broken)",
                           lambda p, *_: BoardsSpoiled(count=_number(p["count"]))),
                          (rf"offcut {_LABEL} (?:is )?(?:lost|gone|broken|spoiled|used)", lambda p,
                           *_: OffcutGone(label=p["label"].upper())),
                          (rf"offcut (?!too short){_LABEL} (?:is )?(?:too )?short", lambda p,
                           *_: OffcutShort(label=p["label"].upper())),
                          (r"found (?P<length>.+?),? (?:keeps )?(?P<ends>left|right|both|left and right)(?: ends?)?",
                           _found), (r"(?P<count>\d{1,4}) boards? left", lambda p,
                                     *_: BoardsLeft(count=int(p["count"]))),
                          (r"(?:i am )?out of boards", lambda *_: BoardsLeft(count=0)),
                          (rf"(?:new )?pipe (?P<diameter>.+?) {_PLACE}", _obstacle),
                          (rf"(?:new )?box (?P<along>.+?) ?(?:by|x|×) ?(?P<across>.+?) {_PLACE}", _obstacle),
                          (r"first row (?:is )?(?P<width>.+?)(?: wide)?", lambda p, length,
                           _: FirstRowWidth(width_mm=length(p["width"]))),
                          (r"(?:floor )?pushed (?P<length>.+?) (?:to|towards) (?:the )?(?P<way>start|far)(?: wall)?",
                           lambda p, length, _: FloorPushed(towards_start_mm=length(p["length"])
                                                            * (1.0 if p["way"].lower() == "start" else -1.0))),
                          (r"undo(?: (?:entry )?(?P<entry>\d+))?", lambda p, *_: int(p["entry"] or 0)),)


def _number(word: str | None) -> int:
    return int(word) if word and word.isdigit() else 1
