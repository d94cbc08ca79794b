"""What an entry of the day means, in one sentence; where the work stands, for people and for programs."""
from __future__ import annotations

from typing import Any

from capture.floor import Z95
from capture.tape import format_length
from desk.actions.day import Day, Told, boards_to_come
from desk.jobfile.job import Job
from desk.text.reports import paragraph, section
from layout.replan.floor_estimation import Verdict, middles
from layout.region.gap import LAP_MM
from layout.replan.events import (
    BoardsLeft, BoardsSpoiled, FirstRowWidth, FloorPushed, Obstacle, OffcutFound, OffcutGone, OffcutShort, PieceCut,
    RowBegun, RowDown, ToFarWall)
from layout.replan.forecast import LEAST_GAP_MM, LastRow


def sentence_of(told: Told, show: str) -> str:
    """What the entry means."""
    says = _meaning(told, show)
    if told.changed or len(told.before.plan.rows) != len(told.after.plan.rows):
        says += f" {_rows_words(told.changed)} changed: lay by revision {told.after.letter}."
        following = told.after.now.held + 1
        if told.after.now.held == told.after.now.down and following in told.changed:
            says += f" Is row {following} begun already? Then say “undo”, “row {following} begun”, and this again."
    if told.trouble:
        says += f" The plan stays as it is: {told.trouble[0].lower()}{told.trouble[1:]}"
    return says


def stands_of(day: Day, show: str) -> list[str]:
    """Where the work stands: rows, boards, what to measure, the last row, what puts it right and until when."""
    now, plan = day.now, day.plan
    which = (
        f"Rows 1 to {now.down} of {len(plan.rows)} are"
        if now.down > 1
        else f"Row 1 of {len(plan.rows)} is"
        if now.down
        else "No row is"
    )
    lasts = boards_to_come(day)
    says = [f"{which} down; the plan in force is revision {day.letter}.", _boards_words(day, lasts)]
    if now.spares:
        says.append("On hand: " + ", ".join(f"{spare.label} ({_length(spare.length_mm, show)})" for spare in now.spares)
                    + ".")
    says += [_before_words(day, show)] if not now.down else [_last_prompt(day,
                                                                          show)] if now.down == len(
        plan.rows) - 1 else []
    if now.down < len(plan.rows) - 1:
        says.append(_measure_words(day, show))
    return says + [text for text in (_width_words(day, show), last_row_words(day, show), fix_words(day, show)) if text]


def _before_words(day: Day, show: str) -> str:
    """How row 1 is set out along a wall that is not straight."""
    widest = day.beading_mm - LAP_MM
    return ("Set row 1 out dry, straight along a string. Move it until its gap to the start wall is nowhere under "
            f"{_length(LEAST_GAP_MM, show)} "
            f"and nowhere over {_length(widest, show)}; if it cannot be, rip its boards to the wall. If the gap at its "
            "ends is then not "
            f"{_length(day.plan.gap_mm, show)}, tell the difference: “pushed 3 mm to start” or “to far”.")


def _last_prompt(day: Day, show: str) -> str:
    return ("The last row: at both ends of each board measure from the laid row's edge to the wall, take off "
            f"{_length(day.plan.gap_mm, show)}, and rip along the line between. What is printed is what to expect.")


def day_answer(day: Day, told: Told | None, says: list[str], files: list[str], show: str) -> dict[str, Any]:
    """The `day --json` object; `says` holds what the screen says. Lengths mm, angles degrees."""
    width, sd = day.drift.cover_width
    turn = day.drift.turn_rad()
    return {"format": "tapegroove-day", "version": 1, "revision": day.letter, "entry": told.number if told else 0,
            "says": [*says, *stands_of(day, show)], "rows_down": day.now.down, "rows": len(day.plan.rows),
            "changed_rows": list(told.changed) if told else [], "files": files,
            "boards": {"bought": day.bought, "used": day.now.used, "spoiled": day.now.spoiled, "left": day.now.left,
                       "to_come": boards_to_come(day)}, "on_hand": [{"label": spare.label, "length": spare.length_mm,
                                                                     "keeps": list(spare.keeps)}
                                                                    for spare in day.now.spares],
            "cover_width": {"planned": day.plan.board.width_mm, "mm": width, "pm95": Z95 * sd},
            "turn": None if turn is None else {"deg": turn[0] * 57.29577951308232,
                                               "pm95": Z95 * turn[1] * 57.29577951308232},
            "last_row": [{"side": end.side, "planned": end.planned_mm, "mm": end.mean_mm, "pm95": end.pm95_mm}
                         for end in day.outlook.ends], "fix": {"kind": day.outlook.fix or "none-needed",
                                                               "mm": day.outlook.fix_mm,
                                                               "free_until_row": day.outlook.free_until},
            "log": [{"entry": number, "what": type(event).__name__} for number, event in day.entries],}


def say_day(job: Job, day: Day, says: list[str], files: list[str]) -> str:
    """The entry's sentence, then where the work stands."""
    lines = [job.title or "Floor", ""] + [line for text in says for line in paragraph(text)]
    lines += section("Where it stands", stands_of(day, job.show))
    lines += section("Printed", files)
    return "\n".join(lines) + "\n"


def day_shown(job: Job, day: Day) -> dict[str, Any]:
    """Where the work stands, for the page: sentences, the row that is next (0: none), and the log in the words it
    was told in."""
    down, rows = day.now.down, len(day.plan.rows)
    active = {number for number, _ in day.entries}
    log = [{"entry": number, "said": entry.said, "gone": entry.event is not None and number not in active}
           for number, entry in enumerate(job.day, start=1)]
    return {"stands": stands_of(day, job.show), "row": down, "next": down + 1 if down < rows else 0, "rows": rows,
            "letter": day.letter, "log": log}


def _meaning(told: Told, show: str) -> str:
    day = told.after
    match told.event:
        case None:
            said = told.job.day[_undone(told) - 1].said
            return f"Entry {_undone(told)} is taken back{f': “{said}”' if said else ''}."
        case RowDown(row=row):
            return f"Row {row} is down. {_boards_words(day, boards_to_come(day))}"
        case RowBegun(row=row):
            return (f"Row {row} is begun: it will be finished on its joints, whatever happens. If its last place is "
                    "longer than the piece you have, "
                    "slide the row until the gaps at its two ends are alike; if that is not enough, say “offcut” with "
                    "its label and “too short”.")
        case PieceCut():
            return _piece_words(told, show)
        case BoardsSpoiled(count=count):
            return f"{_count(count, 'board')} set aside. {_boards_words(day, boards_to_come(day))}"
        case OffcutGone(label=label):
            user = next((offcut.used_by for offcut in told.before.plan.offcuts if offcut.label == label), "")
            return f"Offcut {label} is off the list." + (f" Piece {user} was to come from it."
                                                         if user else " Nothing was to come from it.")
        case OffcutShort(label=label, piece=piece):
            return (f"Cut piece {piece} from a new board; its row is finished on its joints. Offcut {label} stays on "
                    "hand.")
        case OffcutFound(label=label, length_mm=length):
            use = next((piece.id for piece in day.plan.pieces if piece.takes == label), "")
            return f"Pencil {label} on it: {_length(length, show)}" + (f", and use it for piece {use}."
                                                                       if use else "; it saves no board yet.")
        case ToFarWall():
            return _sights_words(told, show)
        case Obstacle(name=name):
            return f"{name} is in the plan; the boards go round it."
        case BoardsLeft(count=count):
            return f"{_count(count, 'board')} counted. {_boards_words(day, boards_to_come(day))}"
        case FirstRowWidth(width_mm=width):
            return " ".join(filter(None, (f"Row 1 is to be {_length(width, show)} wide.", last_row_words(day, show),
                                          _boards_words(day, boards_to_come(day)))))
        case FloorPushed(towards_start_mm=towards):
            way = "towards" if towards > 0 else "away from"
            return (f"The laid rows stand {_length(abs(towards), show)} further {way} the start wall. "
                    f"{last_row_words(day, show)}").strip()
    return ""


def _undone(told: Told) -> int:
    return told.job.day[told.number - 1].undoes


def _count(number: int, what: str) -> str:
    return f"{number or 'No'} {what}{'' if number == 1 else 's'}"


def _rows_words(rows: tuple[int, ...]) -> str:
    if not rows:
        return "The last rows"
    if len(rows) == 1:
        return f"Row {rows[0]}"
    stretch = rows == tuple(range(rows[0], rows[-1] + 1))
    return f"Rows {rows[0]} to {rows[-1]}" if stretch else "Rows " + ", ".join(map(str, rows[:-1])) + f" and {rows[-1]}"


def _boards_words(day: Day, to_come: int) -> str:
    left = day.now.left
    if to_come <= left:
        return f"{_count(left, 'board')} left, {to_come} needed."
    short = to_come - left
    packs = -(-short // day.plan.board.pack)
    return (f"{_count(max(left, 0), 'board')} left, but {to_come} needed: {short} short. "
            f"Buy {'a pack' if packs == 1 else f'{packs} packs'} before row {_runs_out(day, left)}.")


def _runs_out(day: Day, left: int) -> int:
    """The row in which the boards on hand come to an end."""
    begun = {piece.board for row in day.plan.rows[: day.now.held] for piece in row.pieces} | {
        piece.board for piece in day.plan.owned if piece.board
    }
    for row in day.plan.rows[day.now.held:]:
        begun_here = {piece.board for piece in row.pieces} - begun
        left -= len(begun_here)
        begun |= begun_here
        if left < 0:
            return row.number
    return len(day.plan.rows)


def _piece_words(told: Told, show: str) -> str:
    event, plan = told.event, told.before.plan
    assert isinstance(event, PieceCut)
    piece = next(piece for piece in plan.pieces if piece.id == event.piece)
    off = event.length_mm - (piece.to_mm - piece.from_mm)
    if abs(off) < 1.0:
        return f"Piece {piece.id} is as planned."
    left = "".join(f" Offcut {offcut.label} is then {_length(abs(off), show)} {'shorter' if off > 0 else 'longer'}."
                   for offcut in plan.offcuts if offcut.cut_by == piece.id)
    return f"Piece {piece.id} is {_length(abs(off), show)} {'longer' if off > 0 else 'shorter'} than planned.{left}"


def _sights_words(told: Told, show: str) -> str:
    mine = [verdict for verdict in told.after.drift.verdicts if verdict.reading.entry == told.number]
    doubted = [verdict for verdict in mine if verdict.left_out]
    if doubted:
        return " ".join(_doubt_words(verdict, show) for verdict in doubted)
    if not mine:
        return "No wall faces the rows there, so this tells nothing."
    return last_row_words(told.after, show) or f"As expected{_last_words(told.after, show)}."


def _doubt_words(verdict: Verdict, show: str) -> str:
    return (f"{_length(verdict.reading.distance_mm, show)} is far from what was expected, "
            f"{_between(verdict.expected_mm, verdict.pm95_mm, show)}: "
            "measure again. It is not used until another reading agrees with it.")


def last_row_words(day: Day, show: str) -> str:
    """How wide the last row comes out, where that is not as planned."""
    if not day.outlook.matters or day.now.down >= len(day.plan.rows):
        return ""
    ends = day.outlook.ends
    same = len({(round(end.planned_mm), round(end.mean_mm)) for end in ends}) == 1
    shown = ends[:1] if same else ends
    board = day.plan.board.width_mm
    words = " and ".join(f"{_wide(end, show)}{'' if same else f' at its {end.side}'} {_instead_words(end, board, show)}"
                         for end in shown)
    return f"Row {len(day.plan.rows)}, the last, will be {words}."


def _instead_words(end: LastRow, board_mm: float, show: str) -> str:
    """What was planned there: another number of rows may be the last now."""
    if end.planned_mm <= 0:
        return "where no row was planned"
    return (
        "instead of a whole board" if end.planned_mm > board_mm + 1.0 else f"instead of {_length(end.planned_mm, show)}"
    )


def _last_words(day: Day, show: str) -> str:
    words = " and ".join(_wide(end, show) + f" at its {end.side}" for end in day.outlook.ends)
    return f": the last row will be {words}" if words else ""


def fix_words(day: Day, show: str) -> str:
    """What puts the last row right, and the last row after which that is free."""
    look = day.outlook
    if look.fix == "first-row":
        lift = "Lift row 1 and rip it" if day.now.down else "Rip row 1"
        return (f"{_breaks_words(day, show)}. {lift} to {_length(look.fix_mm, show)}: "
                f"that is free until row 2 goes down. Then say “first row {look.fix_mm:.0f} mm”; the answer tells the "
                "boards it takes.")
    if look.fix == "push":
        way = "towards" if look.fix_mm > 0 else "away from"
        far = abs(look.fix_mm)
        return (f"{_breaks_words(day, show)}. Push the laid rows {_length(far, show)} {way} the start wall, as far as "
                "a gap of "
                f"{_length(LEAST_GAP_MM, show)} stays everywhere, and change the spacers there. That is free until row "
                f"{look.free_until} is down; "
                f"then say “pushed {far:.0f} mm to {'start' if look.fix_mm > 0 else 'far'}”.")
    if look.fix == "measure":
        return (f"{_breaks_words(day, show)}, but too little is known to say which way to push: measure to the far "
                "wall again. "
                f"Pushing the laid rows is free until row {look.free_until} is down.")
    if look.fix == "none":
        return (f"{_breaks_words(day, show)}, and nothing free puts that right any more: glue it to the row before, or "
                "lift the rows and rip "
                "row 1 again.")
    return ""


def _breaks_words(day: Day, show: str) -> str:
    """That the rule for the last row will not be kept, or may not be."""
    rule = day.plan.rules.narrowest_mm
    ends = day.outlook.ends
    sure = any(end.high_mm < rule for end in ends) or (bool(ends) and all(end.low_mm > rule for end in ends))
    return f"The last row {'will' if sure else 'may'} break your rule of {_length(rule, show)}"


def _width_words(day: Day, show: str) -> str:
    width, sd = day.drift.cover_width
    if not day.drift.verdicts or show == "imperial":
        return ""
    return f"The boards cover {width:.2f} ± {Z95 * sd:.2f} mm each, planned {day.plan.board.width_mm:g}."


def _measure_words(day: Day, show: str) -> str:
    """What the next distance to the far wall should be."""
    row = day.now.down
    found = [(side, day.drift.expected(row, s)) for side, s in zip(("left", "right"), middles(day.plan, row))]
    words = [f"{_between(*reach, show)} at the {side}" for side, reach in found if reach]
    where = f"From row {row}'s far edge" if row else "From the start wall"
    return f"{where} to the far wall expect {' and '.join(words)}." if words else ""


def _wide(end: LastRow, show: str) -> str:
    """How wide the last row will be: nothing is narrower than 0 mm."""
    low, high = max(end.low_mm, 0.0), max(end.high_mm, 0.0)
    return _between((low + high) / 2, (high - low) / 2, show)


def _between(mm: float, pm95_mm: float, show: str) -> str:
    low, high = mm - pm95_mm, mm + pm95_mm
    if show == "imperial":
        return f"{format_length(low, show=show)} to {format_length(high, show=show)}"
    return f"{low:.0f} to {high:.0f} mm"


def _length(mm: float, show: str) -> str:
    return format_length(mm, show=show)

