"""The day: a kept plan, a log that only grows, and the plan that follows. Pure: jobs in, jobs out; the command reads
and writes.

What stands under `plan` is the plan in force; a revision adds `day` to it: its letter, the boards bought, the room as
it was known. Everything else is worked out afresh from the log each time, so an entry taken back leaves no trace but
itself.
"""
from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass


from capture.adjustment.survey import Survey
from capture.language.messages import gettext, lazy_gettext
from desk.actions.foreign_plan import believed
from desk.convert import to_room, to_wishes
from desk.jobfile.files import with_entry
from desk.jobfile.job import Job
from desk.actions.kept_plan import KeptPlan, kept_plan, with_plan
from desk.problem import JobProblems, Problem
from desk.actions.room_now import read_revision, revision_tree
from layout.planning import planner
from layout.replan.diff import SAWN_ALIKE_MM, changed_rows, is_due, saves_boards, sawn_along_a_wall
from layout.replan.floor_estimation import Drift, Push, Reading, estimate, middles
from layout.errors import LayoutError
from layout.replan.offcut_slack import wants_wood, without_small_changes
from layout.replan.replan import follow
from layout.replan.events import (
    BoardsLeft, BoardsSpoiled, Event, FirstRowWidth, FloorPushed, Obstacle, OffcutFound, PieceCut, PlaceMeasured,
    RowBegun, RowDown, ToFarWall)
from layout.replan.updated_room import corrected, refuse_obstacle, with_obstacles, without_obstacles
from layout.replan.forecast import MATTERS_MM, Outlook, outlook_of
from layout.plan import Plan
from layout.replan.progress import Progress, held_pieces, progress_of, refuse_event, with_piece
from layout.replan.remaining_rows import AFRESH, MOVES, SLACK_MM
from layout.room import Room

@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Day:
    """Where the work stands: the plan in force and its letter, the log without what was taken back, and what follows
    from it.

    surveyed, room: the room as surveyed, and as the plan in force knows it. planned: the estimate before any reading.
    entries: (number, event).
    """

    kept: KeptPlan
    plan: Plan
    letter: str
    survey: Survey
    surveyed: Room
    room: Room
    bought: int
    entries: tuple[tuple[int, Event], ...]
    now: Progress
    drift: Drift
    planned: Drift
    outlook: Outlook
    beading_mm: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Told:
    """What an entry led to: the job with it, its number, the day before and after, rows whose page changed, and why
    the plan could not follow."""

    job: Job
    number: int
    event: Event | None
    before: Day
    after: Day
    changed: tuple[int, ...] = ()
    trouble: str = ""


def day_of(job: Job, survey: Survey | None = None) -> Day:
    """Where the work stands. survey: for a kept plan that does not hold its own.

    Raises JobProblems (no-kept-plan), LayoutError for a log that the plan knows nothing of.
    """
    kept = kept_plan(job)
    survey = (kept.survey if kept else None) or survey
    if kept is None or survey is None:
        raise JobProblems([Problem(slug="no-kept-plan", where="plan", stage="plan", says=gettext(
            "No plan is kept in this job, so there is nothing to follow; keep the one you lay by with: tapegroove "
            "plan JOB --keep."))])
    surveyed = to_room(job, survey)
    now = read_revision(job.data["plan"], surveyed)
    kept = believed(job, kept, survey)
    bought = kept.plan.packs * kept.plan.board.pack if now.bought is None else now.bought
    return _day(kept, survey, (surveyed, now.room), now.letter, bought, job, to_wishes(job).beading.width_mm)


def active_entries(job: Job) -> tuple[tuple[int, Event], ...]:
    """The log's entries, oldest first with their numbers, without those that were taken back."""
    gone = {entry.undoes for entry in job.day if entry.event is None}
    return tuple((number, entry.event) for number, entry in enumerate(job.day, start=1) if entry.event is not None
                 and number not in gone)


def tell(job: Job, what: Event | int, said: str, *, on: datetime.date, survey: Survey | None = None) -> Told:
    """The job with one entry more, and with the plan that follows from it. what: an event, or the number of the entry
    to take back (0: the last).

    Raises JobProblems (no-kept-plan, nothing-to-undo), LayoutError for an event that cannot be; nothing is then
    entered.
    """
    before = day_of(job, survey)
    if not isinstance(what, int):
        what = with_piece(before.plan, what, before.now.down)
        refuse_event(before.plan, before.now, what)
    if isinstance(what, Obstacle):
        refuse_obstacle(before.plan, before.room, what)
    longer = with_entry(job, what if not isinstance(what, int) else _undone(job, what), said, on)
    event = None if isinstance(what, int) else what
    after = _day(before.kept, before.survey, (before.surveyed, before.room), before.letter, before.bought, longer,
                 before.beading_mm)
    number = len(longer.day)
    why = event if event is not None else _takes_back(job, longer.day[-1].undoes)
    if not _may_change(after, why):
        return Told(job=longer, number=number, event=event, before=before, after=after)
    try:
        plan, room = _followed(longer, after, event)
    except LayoutError as error:
        # An obstacle or a first row that cannot be is refused; anything else happened, whether or not the plan can
        # follow.
        if isinstance(event, (Obstacle, FirstRowWidth)):
            raise
        return Told(job=longer, number=number, event=event, before=before, after=after, trouble=str(error))
    # A wall that comes out as expected is no reason for new pages: whatever ends at it is measured in place.
    alike = MATTERS_MM if isinstance(why, (ToFarWall, FloorPushed, RowDown)) else SAWN_ALIKE_MM
    changed = changed_rows(after.plan, plan, alike_mm=alike)
    if not (changed or len(plan.rows) != len(after.plan.rows)) or not _is_due(after, plan, changed, why, alike):
        return Told(job=longer, number=number, event=event, before=before, after=after)
    letter = next_letter(after.letter)
    kept = _with_revision(longer, after, plan, room, letter, on)
    return Told(job=kept, number=number, event=event, before=before, after=day_of(kept, survey), changed=changed)


def boards_to_come(day: Day) -> int:
    """New boards the plan in force still takes."""
    begun = {piece.board for piece in held_pieces(day.plan, day.now.held)}
    owned = {piece.board for piece in day.plan.owned if piece.board}
    return len({piece.board for row in day.plan.rows[day.now.held:] for piece in row.pieces} - begun - owned)


def _may_change(day: Day, event: Event | None) -> bool:
    """Whether the plan may have to follow: not for a row begun, one laid where nothing is known of the wall that the
    next is sawn along, boards that still suffice, or a piece whose offcut nobody waits for."""
    match event:
        case RowBegun():
            return False
        case RowDown():
            return bool(day.drift.verdicts) and sawn_along_a_wall(day.plan, day.now.down + 1)
        case BoardsSpoiled() | BoardsLeft():
            return boards_to_come(day) > day.now.left
        case PieceCut(piece=name) | PlaceMeasured(piece=name):
            piece = next(piece for piece in day.plan.pieces if piece.id == name)
            return abs(day.now.off_mm(piece)) > SLACK_MM or wants_wood(day.plan, day.now, piece)
    return True


def _takes_back(job: Job, number: int) -> Event | None:
    """The entry taken back, where what is said of its kind tells whether pages must follow; None for one that may have
    changed pieces."""
    event = job.day[number - 1].event
    moves_no_piece = (RowDown, RowBegun, BoardsLeft, BoardsSpoiled, ToFarWall, FloorPushed)
    return event if isinstance(event, moves_no_piece) else None


def _is_due(day: Day, plan: Plan, changed: tuple[int, ...], event: Event | None, alike_mm: float) -> bool:
    """Whether the plan that follows is worth new pages now. What advice can still put right, and what is sawn along a
    wall some rows further on, waits; boards that no plan saves change none, nor does a piece that saves none."""
    match event:
        case BoardsSpoiled() | BoardsLeft() | OffcutFound():
            return saves_boards(day.plan, plan)
        case ToFarWall() | FloorPushed() | RowDown():
            return is_due(day.plan, plan, changed, day.now.down, advised=day.outlook.fix in ("first-row", "push"),
                          alike_mm=alike_mm)
    return True


def next_letter(letter: str) -> str:
    """B after A, AA after Z."""
    head, last = letter[:-1], letter[-1]
    return head + chr(ord(last) + 1) if last < "Z" else (next_letter(head) if head else "A") + "A"


def _day(kept: KeptPlan, survey: Survey, rooms: tuple[Room, Room], letter: str, bought: int, job: Job,
         beading_mm: float) -> Day:
    plan, (surveyed, room), entries = kept.plan, rooms, active_entries(job)
    events = [event for _, event in entries]
    unsaid = _found_in(entry.event for entry in job.day) - _found_in(events)
    now = progress_of(plan, events, bought=bought, unsaid=unsaid)
    readings = _readings(plan, entries)
    planned, drift = estimate(plan, survey.floor, ()), estimate(plan, survey.floor, readings)
    seen = corrected(plan, room, drift, now.held)
    pushed = sum(event.towards_start_mm for event in events if isinstance(event, FloorPushed))
    outlook = outlook_of(drift, planned, now.down, (surveyed, seen), pushed)
    return Day(kept=kept, plan=plan, letter=letter, survey=survey, surveyed=surveyed, room=room, bought=bought,
               entries=entries, now=now, drift=drift, planned=planned, outlook=outlook, beading_mm=beading_mm)


def _found_in(events: Iterable[Event | None]) -> frozenset[str]:
    """Labels of the pieces that turned up."""
    return frozenset(event.label for event in events if isinstance(event, OffcutFound))


def _readings(plan: Plan, entries: Sequence[tuple[int, Event]]) -> list[Reading | Push]:
    found: list[Reading | Push] = []
    for number, event in entries:
        match event:
            case FloorPushed(towards_start_mm=towards):
                found.append(Push(towards_start_mm=towards))
            case ToFarWall(row=row, sights=sights):
                if row > len(plan.rows):
                    continue
                left, right = middles(plan, row)
                start = min(plan.to_row_frame(point)[0] for piece in plan.rows[max(row, 1) - 1].pieces
                            for point in piece.outline_mm)
                places = {"left": left, "right": right}
                found += [Reading(row=row, s_mm=places.get(sight.side, start + (sight.at_mm or 0.0)),
                                  distance_mm=sight.distance_mm, entry=number) for sight in sights]
    return found


def _followed(job: Job, day: Day, event: Event | None) -> tuple[Plan, Room]:
    """The plan that follows from all that is known, and the room it was made for."""
    first = _first_row(day, event)
    told = {entry.event.name for entry in job.day if isinstance(entry.event, Obstacle)}
    room = corrected(day.plan, without_obstacles(day.plan, day.room, told, day.now.held), day.drift, day.now.held)
    room = with_obstacles(day.plan, room, [event for _, event in day.entries if isinstance(event, Obstacle)],
                          day.now.held)
    # Before anything lies a plan sought afresh is looked for as long as a first one.
    moves = MOVES if day.now.held else planner.MOVES // AFRESH
    now = without_small_changes(day.plan, day.now)
    return follow(day.plan, room, to_wishes(job), now, first_row_mm=first, moves=moves), room


def _first_row(day: Day, event: Event | None) -> float | None:
    if not isinstance(event, FirstRowWidth):
        return None
    if day.now.held:
        raise LayoutError("row-lies", lazy_gettext(
            "Row {row} lies already, so row 1 cannot become another width; lift the rows and take back their entries "
            "first.", row=day.now.held), where="day")
    board = day.plan.board.width_mm
    if not day.plan.rules.narrowest_mm <= event.width_mm <= board:
        raise LayoutError("bad-first-row", lazy_gettext(
            "Row 1 can be {least:g} to {most:g} mm wide, not {width:g}.", least=day.plan.rules.narrowest_mm, most=board,
            width=event.width_mm), where="day")
    return event.width_mm


def _undone(job: Job, number: int) -> int:
    """The number of the entry to take back, the last one's for 0."""
    numbers = [number for number, _ in active_entries(job)]
    number = number or (numbers[-1] if numbers else 0)
    if number not in numbers:
        says = (gettext("Entry {number} is not there to take back; the log has {entries} entries.", number=number,
                        entries=len(job.day)) if number else
                gettext("There is no entry to take back; the log has {entries} entries.", entries=len(job.day)))
        raise JobProblems([Problem(slug="nothing-to-undo", where="day", stage="plan", says=says)])
    return number


def _with_revision(job: Job, day: Day, plan: Plan, room: Room, letter: str, on: datetime.date) -> Job:
    """The job with the plan that follows in force, and the room it was made for."""
    return with_plan(job, day.survey, plan, on=on, day=revision_tree(letter, day.bought, room))
