"""What an entry of the day means, in one sentence; where the work stands, for people and for programs."""
from __future__ import annotations

from typing import Any

from capture.floor import Z95
from capture.language.messages import ENGLISH, all_of, gettext, led, ngettext, spoken
from desk.actions.day import Day, Told, boards_to_come
from desk.jobfile.job import Job
from desk.language.day_log import entry_said
from desk.text.reports import paragraph, section
from desk.text.day_events import meaning_of, page_phrases
from desk.text.day_words import between_words, boards_words, last_row_words, length_words
from layout.replan.floor_estimation import middles
from layout.replan.progress import called
from layout.region.gap import LAP_MM
from layout.replan.forecast import LEAST_GAP_MM
from printpack.units import NO_BREAK


def sentence_of(told: Told, show: str) -> str:
    """What the entry means."""
    says = [meaning_of(told, show)]
    if told.changed or len(told.before.plan.rows) != len(told.after.plan.rows):
        says.append(gettext("{rows} changed: lay by revision {letter}.", rows=_rows_words(told.changed),
                            letter=told.after.letter))
        following = told.after.now.held + 1
        if told.after.now.held == told.after.now.down and following in told.changed:
            says.append(gettext("Is row {row} begun already? Then say “undo”, “row {row} begun”, and this again.",
                                row=following))
    if told.trouble:
        trouble = told.trouble[0].lower() + told.trouble[1:] if spoken() is ENGLISH else told.trouble
        says.append(gettext("The plan stays as it is: {trouble}", trouble=trouble))
    return " ".join(says)


def stands_of(day: Day, show: str) -> list[str]:
    """Where the work stands: rows, boards, what to measure, the last row, what puts it right and until when."""
    now, plan = day.now, day.plan
    says = [_down_words(day), boards_words(day)]
    if now.spares:
        spares = ", ".join(f"{name} ({length_words(spare.length_mm, show)})"
                           for name, spare in zip(_pencilled(day), now.spares))
        says.append(gettext("On hand: {spares}.", spares=spares))
    says += [_before_words(day, show)] if not now.down else [_last_prompt(day,
                                                                          show)] if now.down == len(
        plan.rows) - 1 else []
    if now.down < len(plan.rows) - 1:
        says.append(_measure_words(day, show))
    return says + [text for text in (_width_words(day, show), last_row_words(day, show), fix_words(day, show)) if text]


def _down_words(day: Day) -> str:
    down = {"rows": len(day.plan.rows), "letter": day.letter}
    if not day.now.down:
        return gettext("No row is down; the plan in force is revision {letter}.", letter=day.letter)
    return ngettext("Row 1 of {rows} is down; the plan in force is revision {letter}.",
                    "Rows 1 to {count} of {rows} are down; the plan in force is revision {letter}.", day.now.down,
                    **down)


def _before_words(day: Day, show: str) -> str:
    """How row 1 is set out along a wall that is not straight."""
    widest = day.beading_mm - LAP_MM
    return gettext(
        "Set row 1 out dry, straight along a string. Move it until its gap to the start wall is nowhere under {least} "
        "and nowhere over {most}; if it cannot be, rip its boards to the wall. If the gap at its ends is then not "
        "{gap}, tell the difference: “pushed 3 mm to start” or “to far”.", least=length_words(LEAST_GAP_MM, show),
        most=length_words(widest, show), gap=length_words(day.plan.gap_mm, show))


def _last_prompt(day: Day, show: str) -> str:
    return gettext(
        "The last row: at both ends of each board measure from the laid row's edge to the wall, take off {gap}, and "
        "rip along the line between. What is printed is what to expect.", gap=length_words(day.plan.gap_mm, show))


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
    lines = [job.title or gettext("Floor"), ""] + [line for text in says for line in paragraph(text)]
    lines += section(gettext("Where it stands"), stands_of(day, job.show))
    lines += section(gettext("Printed"), files)
    return "\n".join(lines) + "\n"


def day_shown(job: Job, day: Day) -> dict[str, Any]:
    """Where the work stands, for the page: sentences, the row that is next (0: none) with its pieces, the offcuts on
    hand, and the log as the reader's language says it."""
    down, rows = day.now.down, len(day.plan.rows)
    active = {number for number, _ in day.entries}
    log = [{"entry": number, "said": entry_said(entry, job.show, called(day.plan)),
            "gone": entry.event is not None and number not in active} for number, entry in enumerate(job.day, start=1)]
    return {"stands": stands_of(day, job.show), "row": down, "next": down + 1 if down < rows else 0, "rows": rows,
            "letter": day.letter, "log": log, "say": list(page_phrases()), "hand": _on_hand(day, job.show),
            "pieces": [{"id": piece.id, "says": _labelled(piece.id, piece.to_mm - piece.from_mm, job.show)}
                       for row in day.plan.rows if row.number == down + 1 for piece in row.pieces]}


def _on_hand(day: Day, show: str) -> list[dict[str, str]]:
    """Each offcut by what is pencilled on it."""
    return [{"label": spare.label, "says": _labelled(name, spare.length_mm, show)}
            for name, spare in zip(_pencilled(day), day.now.spares)]


def _labelled(name: str, mm: float, show: str) -> str:
    """What stands on a button: a figure and its unit do not part."""
    return led(name, length_words(mm, show).replace(" ", NO_BREAK))


def _pencilled(day: Day) -> list[str]:
    """What each offcut on hand is called on paper: the piece it is to become; what was pencilled on it before, or its
    label, where it becomes none."""
    names = called(day.plan)
    return [names.get(spare.label, spare.label) for spare in day.now.spares]


def _rows_words(rows: tuple[int, ...]) -> str:
    if not rows:
        return gettext("The last rows")
    if len(rows) == 1:
        return gettext("Row {row}", row=rows[0])
    if rows == tuple(range(rows[0], rows[-1] + 1)):
        return gettext("Rows {first} to {last}", first=rows[0], last=rows[-1])
    return gettext("Rows {rows} and {last}", rows=", ".join(map(str, rows[:-1])), last=rows[-1])


def fix_words(day: Day, show: str) -> str:
    """What puts the last row right, and the last row after which that is free."""
    look, breaks = day.outlook, _breaks_words(day, show)
    match look.fix:
        case "first-row":
            width = {"breaks": breaks, "width": length_words(look.fix_mm, show), "mm": float(look.fix_mm)}
            if day.now.down:
                return gettext("{breaks}. Lift row 1 and rip it to {width}: that is free until row 2 goes down. Then "
                               "say “first row {mm:.0f} mm”; the answer tells the boards it takes.", **width)
            return gettext("{breaks}. Rip row 1 to {width}: that is free until row 2 goes down. Then say “first row "
                           "{mm:.0f} mm”; the answer tells the boards it takes.", **width)
        case "push":
            return _push_words(day, breaks, show)
        case "measure":
            return gettext("{breaks}, but too little is known to say which way to push: measure to the far wall again. "
                           "Pushing the laid rows is free until row {row} is down.", breaks=breaks,
                           row=look.free_until)
        case "none":
            return gettext("{breaks}, and nothing free puts that right any more: glue it to the row before, or lift "
                           "the rows and rip row 1 again.", breaks=breaks)
    return ""


def _push_words(day: Day, breaks: str, show: str) -> str:
    far = abs(day.outlook.fix_mm)
    push = {"breaks": breaks, "far": length_words(far, show), "gap": length_words(LEAST_GAP_MM, show),
            "row": day.outlook.free_until, "mm": float(far)}
    if day.outlook.fix_mm > 0:
        return gettext("{breaks}. Push the laid rows {far} towards the start wall, as far as a gap of {gap} stays "
                       "everywhere, and change the spacers there. That is free until row {row} is down; then say "
                       "“pushed {mm:.0f} mm to start”.", **push)
    return gettext("{breaks}. Push the laid rows {far} away from the start wall, as far as a gap of {gap} stays "
                   "everywhere, and change the spacers there. That is free until row {row} is down; then say “pushed "
                   "{mm:.0f} mm to far”.", **push)


def _breaks_words(day: Day, show: str) -> str:
    """That the rule for the last row will not be kept, or may not be."""
    rule = day.plan.rules.narrowest_mm
    ends = day.outlook.ends
    sure = any(end.high_mm < rule for end in ends) or (bool(ends) and all(end.low_mm > rule for end in ends))
    width = length_words(rule, show)
    return (gettext("The last row will break your rule of {width}", width=width) if sure
            else gettext("The last row may break your rule of {width}", width=width))


def _width_words(day: Day, show: str) -> str:
    width, sd = day.drift.cover_width
    if all(verdict.left_out for verdict in day.drift.verdicts) or show == "imperial":
        return ""
    return gettext("The boards cover {width:.2f} ± {spread:.2f} mm each, planned {planned:g}.", width=float(width),
                   spread=float(Z95 * sd), planned=day.plan.board.width_mm)


def _measure_words(day: Day, show: str) -> str:
    """What the next distance to the far wall should be."""
    row = day.now.down
    found = [(side, day.drift.expected(row, s)) for side, s in zip(("left", "right"), middles(day.plan, row))]
    words = [gettext("{width} at the left", width=between_words(*reach, show)) if side == "left"
             else gettext("{width} at the right", width=between_words(*reach, show)) for side, reach in found if reach]
    if not words:
        return ""
    if row:
        return gettext("From row {row}'s far edge to the far wall expect {words}.", row=row, words=all_of(words))
    return gettext("From the start wall to the far wall expect {words}.", words=all_of(words))
