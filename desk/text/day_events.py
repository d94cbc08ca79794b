"""What can happen while a floor is laid, one entry an event: what a person may say of it, and what it means to them.

What an event is stands in `layout.replan.events`, what it does to the work in `layout.replan.progress`, how it is kept
in the job's file format. Words are few and may stand in the order people say them.
"""
from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from capture.language.messages import all_of, gettext, marked
from desk.actions.day import Told
from desk.language.day_log import entry_said
from desk.language.day_phrases import shown
from desk.text.day_words import (
    between_words, boards_counted, boards_words, last_row_words, last_widths, length_words)
from desk.text.place_words import place_words
from layout.replan.events import (
    BoardsLeft, BoardsSpoiled, Event, FirstRowWidth, FloorPushed, Obstacle, OffcutFound, OffcutGone, OffcutShort,
    PieceCut, PlaceMeasured, RowBegun, RowDown, Sight, ToFarWall)
from layout.plan import Offcut
from layout.replan.floor_estimation import Verdict
from layout.replan.progress import called


class NotUnderstood(Exception):
    """Words that fit a sentence and cannot be meant; its text is what was read."""


@dataclass(frozen=True, slots=True)
class Parts:
    """The parts of a sentence, how a length in it is read, and how many found pieces and obstacles the log has."""

    said: dict[str, str]
    length: Callable[[str], float]
    found: int
    obstacles: int

    def __getitem__(self, name: str) -> str:
        return self.said[name]

    def get(self, name: str) -> str | None:
        """A part that need not be said."""
        return self.said.get(name)

    def mm(self, name: str) -> float:
        """A length."""
        return self.length(self.said[name])

    def whole(self, name: str, otherwise: int = 0) -> int:
        """A whole number."""
        word = self.said[name]
        return int(word) if word and word.isdigit() else otherwise


@dataclass(frozen=True, slots=True)
class Happening:
    """An event: its type (None: another entry is taken back); phrases that show how to say it, and those of them the
    page offers; the sentences understood, each a pattern and what is made of its parts (the number of an entry to take
    back, 0 the last); what it means, from what it led to, itself and the unit shown; other ways people say it, each a
    pattern and the sentence it stands for; what they say that leaves out what is needed, and which of ASKS it takes."""

    kind: type | None
    phrases: tuple[str, ...]
    sentences: tuple[tuple[str, Callable[[Parts], Event | int]], ...]
    means: Callable[[Told, Any, str], str]
    on_page: tuple[str, ...] = ()
    sayings: tuple[tuple[str, str], ...] = ()
    lacking: tuple[tuple[str, str], ...] = ()


def meaning_of(told: Told, show: str) -> str:
    """What an entry means. Raises StopIteration for an event that has no entry here."""
    return next(each.means(told, told.event, show) for each in HAPPENINGS
                if each.kind is (None if told.event is None else type(told.event)))


def phrases() -> tuple[str, ...]:
    """What can be said, as shown in help and refusals."""
    return tuple(phrase for each in HAPPENINGS for phrase in each.phrases)


def page_phrases() -> tuple[str, ...]:
    """What the page offers to be said, in the reader's language."""
    return tuple(shown(phrase) for each in HAPPENINGS for phrase in each.on_page)


def _undone(told: Told, _: None, show: str) -> str:
    number = told.job.day[told.number - 1].undoes
    said = entry_said(told.job.day[number - 1], show, called(told.before.plan))
    return gettext("Entry {number} is taken back: “{said}”.", number=number, said=said)


def _row_down(part: Parts) -> RowDown:
    if part["first"] and part.whole("first") > part.whole("row"):
        raise NotUnderstood(f"rows {part['first']} to {part['row']} done")
    return RowDown(row=part.whole("row"))


def _begun_words(_: Told, event: RowBegun, show: str) -> str:
    return gettext(
        "Row {row} is begun: it will be finished on its joints, whatever happens. If its last place is longer than the "
        "piece you have, slide the row until the gaps at its two ends are alike; if that is not enough, say “offcut” "
        "with its label and “too short”.", row=event.row)


def _piece_words(told: Told, event: PieceCut, show: str) -> str:
    plan = told.before.plan
    piece = next(piece for piece in plan.pieces if piece.id == event.piece)
    off = event.length_mm - (piece.to_mm - piece.from_mm)
    if abs(off) < 1.0:
        return gettext("Piece {piece} is as planned.", piece=piece.id)
    by = length_words(abs(off), show)
    says = (gettext("Piece {piece} is {by} longer than planned.", piece=piece.id, by=by) if off > 0
            else gettext("Piece {piece} is {by} shorter than planned.", piece=piece.id, by=by))
    return " ".join([says, *(_left_words(told, offcut, off, by) for offcut in plan.offcuts
                             if offcut.cut_by == piece.id)])


def _left_words(told: Told, offcut: Offcut, off_mm: float, by: str) -> str:
    """What becomes of the offcut, and what still comes from one that is shorter, where no page changes for it."""
    if off_mm <= 0:
        return gettext("Offcut {label} is then {by} longer.", label=offcut.label, by=by)
    if offcut.used_by and told.after.letter == told.before.letter and not told.trouble:
        return gettext("Offcut {label} is then {by} shorter and still does for piece {piece}.", label=offcut.label,
                       by=by, piece=offcut.used_by)
    return gettext("Offcut {label} is then {by} shorter.", label=offcut.label, by=by)


def _gone_words(told: Told, event: OffcutGone, show: str) -> str:
    user = next((offcut.used_by for offcut in told.before.plan.offcuts if offcut.label == event.label), "")
    if user:
        return gettext("Offcut {label} is off the list. Piece {piece} was to come from it.", label=event.label,
                       piece=user)
    return gettext("Offcut {label} is off the list. Nothing was to come from it.", label=event.label)


def _found(part: Parts) -> OffcutFound:
    said = part["ends"].lower()
    ends = tuple(end for end in ("left", "right") if end in said or "both" in said)
    return OffcutFound(label=f"F{part.found + 1}", length_mm=part.mm("length"), keeps=ends)


def _found_words(told: Told, event: OffcutFound, show: str) -> str:
    use = next((piece.id for piece in told.after.plan.pieces if piece.takes == event.label), "")
    length = length_words(event.length_mm, show)
    if use:
        return gettext("Pencil {label} on it: {length}, and use it for piece {piece}.", label=event.label,
                       length=length, piece=use)
    return gettext("Pencil {label} on it: {length}; it saves no board yet.", label=event.label, length=length)


def _to_wall(part: Parts) -> ToFarWall:
    sights = []
    for found in re.finditer(r"(left|right|at) (.+?)(?=,? (?:left|right|at) |$)", part["sights"], re.IGNORECASE):
        word, rest = found[1].lower(), found[2]
        if word == "at":
            place, _is, distance = rest.partition(" is ")
            sights.append(Sight(distance_mm=part.length(distance), at_mm=part.length(place)))
        else:
            sights.append(Sight(distance_mm=part.length(rest), side=word))
    if not sights:
        raise NotUnderstood(part["sights"])
    return ToFarWall(row=part.whole("row"), sights=tuple(sights))


def _sights_words(told: Told, _: ToFarWall, show: str) -> str:
    mine = [verdict for verdict in told.after.drift.verdicts if verdict.reading.entry == told.number]
    doubted = [verdict for verdict in mine if verdict.left_out]
    if doubted:
        return _doubt_words(doubted[0], show) if len(doubted) == 1 else _doubts_words(doubted, show)
    if not mine:
        return gettext("No wall faces the rows there, so this tells nothing.")
    if says := last_row_words(told.after, show):
        return says
    widths = last_widths(told.after, show)
    return gettext("As expected: the last row will be {widths}.", widths=widths) if widths else gettext("As expected.")


def _doubt_words(verdict: Verdict, show: str) -> str:
    return gettext(
        "{distance} is far from what was expected, {expected}: measure again. It is not used until another reading "
        "agrees with it.", distance=length_words(verdict.reading.distance_mm, show),
        expected=between_words(verdict.expected_mm, verdict.pm95_mm, show))


def _doubts_words(verdicts: list[Verdict], show: str) -> str:
    readings = all_of([gettext("{distance} (expected: {expected})",
                               distance=length_words(verdict.reading.distance_mm, show),
                               expected=between_words(verdict.expected_mm, verdict.pm95_mm, show))
                       for verdict in verdicts])
    return gettext("Measure again: {readings} are far from what was expected. They are not used until another reading "
                   "agrees with them.", readings=readings)


def _obstacle(part: Parts) -> Obstacle:
    diameter = part.mm("diameter") if part.get("diameter") else 0.0
    size = (0.0, 0.0) if diameter else (part.mm("along"), part.mm("across"))
    return Obstacle(name=f"N{part.obstacles + 1}", row=part.whole("row"), left_mm=part.mm("left"),
                    ahead_mm=part.mm("ahead"), diameter_mm=diameter, size_mm=size)


def _first_row_words(told: Told, event: FirstRowWidth, show: str) -> str:
    wide = gettext("Row 1 is to be {width} wide.", width=length_words(event.width_mm, show))
    return " ".join(filter(None, (wide, last_row_words(told.after, show), boards_words(told.after))))


def _pushed_words(told: Told, event: FloorPushed, show: str) -> str:
    far = length_words(abs(event.towards_start_mm), show)
    pushed = (gettext("The laid rows stand {far} further towards the start wall.", far=far)
              if event.towards_start_mm > 0
              else gettext("The laid rows stand {far} further away from the start wall.", far=far))
    return f"{pushed} {last_row_words(told.after, show)}".strip()


def _set_aside(told: Told, event: BoardsSpoiled, show: str) -> str:
    says = gettext("{boards} set aside.", boards=boards_counted(event.count))
    return f"{says} {boards_words(told.after)}"


def _counted(told: Told, event: BoardsLeft, show: str) -> str:
    says = gettext("{boards} counted.", boards=boards_counted(event.count))
    return f"{says} {boards_words(told.after)}"


def _down_words(told: Told, event: RowDown, show: str) -> str:
    says = gettext("Row {row} is down.", row=event.row)
    return f"{says} {boards_words(told.after)}"


_I = r"(?:(?:i|we)(?:['’]ve)? )?(?:have )?(?:just )?"
_COUNT = r"(?P<count>\d{1,4}|an?|another|one|two|three|four|five|six|seven|eight|nine|ten)"
_BOARDS = r"(?:boards?|planks?)"
_BE = r"(?:is |are |was |were |has |have |got )?"
_OTHER = r"(?:narrower|wider|shorter|longer|smaller|larger)"
_BEGUN_ROW = r"(?:started|begun|began|begin|starting) (?:with )?row (?P<row>\d+)"
_SPOILED = r"(?:spoiled|spoilt|broken?|ruined|damaged|miscut|cracked|chipped|wrecked|dropped|split)"
#: What is asked where a number is left out.
ASKS = {
    "wall": marked("How far is the wall now? Measure from the far edge of the last row that lies, left and right, and "
                   "say it like “row 4 to wall left 1803 mm right 1799 mm”."),
    "piece": marked("Which piece is it, and how long is it now? Say it like “piece 4.5 came out 412 mm”; if its board "
                    "is of no more use, “board spoiled”."),
    "lost": marked("Which offcut? Say it with the label pencilled on it, like “offcut 7.4 lost”."),
    "short": marked("Which offcut? Say it with the label pencilled on it, like “offcut 7.4 too short”."),
    "where": marked("Where is it, and how thick? Say it like “pipe 22 mm at left 1204 mm row 5 ahead 356 mm”: from "
                    "the left end of the last row that lies, and ahead of that row's far edge.")}
_LABEL = r"(?P<label>[A-Za-z0-9]+(?:\.[0-9]+)?)"
_PLACE = r"at left (?P<left>.+?),? (?:row (?P<row>\d+)|(?P<start>start wall)) ahead (?P<ahead>.+)"

#: In the order they are shown; sentences are tried in this order too.
HAPPENINGS: tuple[Happening, ...] = (
    Happening(RowDown, ("row 4 done",),
              ((r"rows? (?:(?P<first>\d+) (?:to|-) )?(?P<row>\d+) (?:is |are )?(?:done|down|laid)", _row_down),),
              _down_words,
              sayings=((rf"{_I}(?:laid|finished|done|completed) (?:with )?row (?P<row>\d+)", "row {row} done"),
                       (r"row (?P<row>\d+) (?:is )?(?:finished|complete|completed|in)", "row {row} done"))),
    Happening(RowBegun, ("row 5 begun",),
              ((r"row (?P<row>\d+) (?:is )?(?:begun|started)", lambda part: RowBegun(row=part.whole("row"))),),
              _begun_words,
              sayings=((rf"{_I}{_BEGUN_ROW}", "row {row} begun"),)),
    Happening(ToFarWall,
              ("row 4 to wall left 1803 mm right 1799 mm", "start wall to wall left 3196 mm right 3190 mm"),
              ((r"(?:row (?P<row>\d+)|start wall) to (?:far )?wall (?P<sights>(?:left|right|at) .+)", _to_wall),),
              _sights_words,
              lacking=((r"(?:the )?(?:far |other )?wall (?:is|was|comes|came|runs|stands) .+", "wall"),
                       (rf"(?:the )?(?:room|floor) is (?:\w+ ){{0,3}}{_OTHER}(?: .+)?", "wall"))),
    Happening(PieceCut, ("piece 4.5 came out 412 mm",),
              ((r"piece (?P<piece>\d+\.\d+) (?:came out|is|measures) (?P<length>.+)",
                lambda part: PieceCut(piece=part["piece"], length_mm=part.mm("length"))),),
              _piece_words, on_page=("piece 4.5 came out 412 mm",),
              sayings=((rf"{_I}(?:cut|sawed|sawn) (?:piece )?(?P<piece>\d+\.\d+) (?:to|at) (?P<length>.+)",
                        "piece {piece} came out {length}"),
                       (r"(?P<piece>\d+\.\d+) (?:came out|is|measures) (?P<length>.*\d.*)",
                        "piece {piece} came out {length}")),
              lacking=((rf"{_I}(?:cut|sawed|sawn) (?:.+ )?(?:too|wrong|wrongly)(?: short| long)?", "piece"),)),
    Happening(PlaceMeasured, ("place 4.5 is 1306 mm", "the place is 1306 mm"),
              ((r"(?:the )?place(?: (?:of |for )?(?:piece )?(?P<piece>\d+\.\d+))? (?:is|measures) (?P<length>.+)",
                lambda part: PlaceMeasured(piece=part.get("piece") or "", length_mm=part.mm("length"))),),
              place_words),
    Happening(BoardsSpoiled, ("board spoiled", "2 boards spoiled"),
              ((r"(?:(?P<count>[1-9]\d{0,3}|a|one) )?boards? (?:is |are )?(?:spoiled|damaged|broken)",
                lambda part: BoardsSpoiled(count=part.whole("count", 1))),),
              _set_aside,
              on_page=("board spoiled",),
              sayings=((rf"{_I}{_SPOILED} {_COUNT} {_BOARDS}", "{count} boards spoiled"),
                       (rf"{_COUNT} (?:{_SPOILED} {_BOARDS}|{_BOARDS} {_BE}{_SPOILED})", "{count} boards spoiled"),
                       (rf"(?:the )?(?:{_SPOILED} {_BOARDS}|{_BOARDS} {_BE}{_SPOILED})", "1 boards spoiled"))),
    Happening(OffcutGone, ("offcut 7.4 lost",),
              ((rf"offcut {_LABEL} (?:is )?(?:lost|gone|broken|spoiled|used)",
                lambda part: OffcutGone(label=part["label"].upper())),),
              _gone_words, on_page=("offcut 7.4 lost",),
              sayings=((rf"{_I}(?:lost|mislaid|threw away|thrown away|used up|can(?:no|')t find) (?:the )?(?:offcut )?"
                        rf"(?P<label>(?!offcut)\S*\d\S*)", "offcut {label} lost"),
                       (r"(?:offcut )?(?P<label>\S*\d\S*) is (?:missing|nowhere|not there)", "offcut {label} lost")),
              lacking=((rf"{_I}(?:lost|mislaid|can(?:no|')t find) (?:an?|the|one) (?:offcut|piece|rest)",
                        "lost"),)),
    Happening(OffcutShort, ("offcut 7.4 too short",),
              ((rf"offcut (?!too short){_LABEL} (?:is )?(?:too )?short",
                lambda part: OffcutShort(label=part["label"].upper())),),
              lambda _, event, __: gettext(
                  "Cut piece {piece} from a new board; its row is finished on its joints. Offcut {label} stays on "
                  "hand.", piece=event.piece, label=event.label),
              on_page=("offcut 7.4 too short",),
              sayings=((r"(?:offcut )?(?P<label>\S*\d\S*) (?:is (?:too )?short|does(?: no|n')t reach)",
                        "offcut {label} too short"),),
              lacking=((r"(?:the |an )?(?:offcut|rest) (?:is too short|does(?: no|n')t reach)",
                        "short"),)),
    Happening(OffcutFound, ("found 640 mm left",),
              ((r"found (?P<length>.+?),? (?:keeps )?(?P<ends>left|right|both|left and right)(?: ends?)?", _found),),
              _found_words, on_page=("found 640 mm left",)),
    Happening(BoardsLeft, ("7 boards left", "out of boards"),
              ((r"(?P<count>\d{1,4}) boards? left", lambda part: BoardsLeft(count=part.whole("count"))),
               (r"(?:i am )?out of boards", lambda _: BoardsLeft(count=0))),
              _counted,
              on_page=("7 boards left", "out of boards"),
              sayings=((rf"(?:{_I}|there (?:is|are) )(?:only )?(?:have |got )?{_COUNT} {_BOARDS} left",
                        "{count} boards left"),
                       (rf"{_I}(?:run|ran) out of {_BOARDS}|no(?: more)? {_BOARDS}(?: left)?", "out of boards"))),
    Happening(Obstacle, ("pipe 22 mm at left 1204 mm row 5 ahead 356 mm",
                         "box 300 mm by 200 mm at left 1204 mm row 5 ahead 356 mm"),
              ((rf"(?:new )?pipe (?P<diameter>.+?) {_PLACE}", _obstacle),
               (rf"(?:new )?box (?P<along>.+?) ?(?:by|x|×) ?(?P<across>.+?) {_PLACE}", _obstacle)),
              lambda _, event, __: gettext("{name} is in the plan; the boards go round it.", name=event.name),
              lacking=((r"(?:there(?:'s| is) |i found )?(?:an?(?:other)? )?(?:new )?(?:pipe|box|post|duct)(?: .*)?",
                        "where"),)),
    Happening(FirstRowWidth, ("first row 130 mm",),
              ((r"first row (?:is )?(?P<width>.+?)(?: wide)?", lambda part: FirstRowWidth(width_mm=part.mm("width"))),),
              _first_row_words,
              sayings=((r"make (?:the )?(?:first row|row 1) (?P<width>.+?)(?: wide)?", "first row {width}"),)),
    Happening(FloorPushed, ("pushed 4 mm to start",),
              ((r"(?:floor )?pushed (?P<length>.+?) (?:to|towards) (?:the )?(?P<way>start|far)(?: wall)?",
                lambda part: FloorPushed(towards_start_mm=part.mm("length")
                                         * (1.0 if part["way"].lower() == "start" else -1.0))),),
              _pushed_words),
    Happening(None, ("undo", "undo 3"),
              ((r"undo(?: (?:entry )?(?P<entry>\d+))?", lambda part: part.whole("entry")),), _undone,
              sayings=((r"(?:take (?:that|it|the last) back|that was wrong|scrap that)", "undo"),)),
)
