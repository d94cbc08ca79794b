"""A virtual fitter lays 500 rooms that are not quite as surveyed: by the booklet and the day's prompts, by the first
plan only, by a tape.

Usage: python -m tests.bench.desk.run_day [rooms] [first seed]

Rooms: rectangles, skewed rooms and Ls, 2.4 to 5.5 m a side; every corner off its survey by 3 mm (one sd a coordinate),
every wall bowed by up to 10 mm either way, cover width off by up to 0.1 mm, boards up to 0.5 mm long or short (EN
13329), cuts and readings to 1 mm (sd), 3 % of new boards spoiled. Counted: how much of the wall length has a gap from 5
mm to what the beading covers (18 mm); last rows under the rule of 60 mm that some first row would have avoided in that
very room; boards beyond the plan, less spoiled ones.

A room in which the day takes more than one board beyond is planned anew as it truly is, every wall and width known:
*needed* is how many boards more than the survey's plan that takes, which no way of laying could have known of.

- day: row 1 by a string as asked, distances before row 1, after rows 1, half way and three before the end, first row
  and pushes as told, pieces that came out otherwise and offcuts that do not do told, boards along walls measured in
  place.
- plan: the same plan without the day: row 1 on spacers against the wall, rips along walls as printed, row ends measured
  in place.
- tape: no plan. A full first row unless the tape (one reading, left) leaves less than 60 mm, then balanced; thirds;
  boards along the far wall measured in place; row 1 on spacers. Boards: the planner's own count for thirds, offcuts
  shared, so in the tape's favour.
"""
from __future__ import annotations

import random
import sys
from collections import Counter, defaultdict
from dataclasses import dataclass, field, replace
from time import process_time

import numpy as np

from tests.support.day_logs import DAY, kept_job, tree_of
from tests.support.day_fitter import (
    CUT_SD, LEAST_GAP, LENGTH_OFF, SPACER_SD, SPOILED, TAPE_SD, Site, could_be_wide, draw_truth, rip_along, set_out)

from desk.convert import to_board, to_room, to_wishes
from desk.actions.day import day_of, tell
from desk.jobfile.job import Job
from desk.actions.pipeline import survey_job
from layout.replan.floor_estimation import middles
from layout.errors import LayoutError
from layout.replan.events import (
    BoardsSpoiled, Event, FirstRowWidth, FloorPushed, OffcutShort, PieceCut, RowBegun, RowDown, Sight, ToFarWall)
from layout.plan import Plan
from layout.planning.planner import plan_floor

NARROWEST, COVER = 60.0, 18.0
#: How much shorter than its place a row's last piece may be before the fitter takes another board, mm: where the row is
#: slid until both gaps are alike, and where all of it shows at one end.
SLID_SLACK, END_SLACK = 11.0, 6.0
TELL_MM = 3.0
#: Straight parts a bowed wall is taken in where the true room is planned.
WALL_PARTS = 7


@dataclass(slots=True)
class Tally:
    """What one way of working came to, summed over rooms."""

    rooms: int = 0
    wall_mm: float = 0.0
    good_mm: float = 0.0
    narrow: int = 0
    narrow_avoidable: int = 0
    boards: int = 0
    spoiled: int = 0
    beyond: list[int] = field(default_factory=list)
    wide_mm: float = 0.0
    revisions: list[int] = field(default_factory=list)
    changed: list[float] = field(default_factory=list)
    causes: Counter[str] = field(default_factory=Counter)

    def add_gaps(self, gaps: list[tuple[float, float]]) -> None:
        """Wall length by whether its gap is as it should be."""
        self.wall_mm += sum(length for length, _ in gaps)
        self.good_mm += sum(length for length, gap in gaps if LEAST_GAP <= gap <= COVER)
        self.wide_mm += sum(length for length, gap in gaps if gap > COVER)


def draw_tree(rng: random.Random) -> dict:
    """A surveyed room as a job."""
    w, d = rng.uniform(2400, 5500), rng.uniform(2400, 5000)
    kind = rng.choice(("rectangle", "skew", "ell"))
    ring = (
        [(0, 0), (w, 0), (w, d * 0.55), (w * 0.55, d * 0.55), (w * 0.55, d), (0, d)]
        if kind == "ell"
        else [(0, 0), (w, 0), (w, d), (0, d)]
    )
    off = {"rectangle": 5.0, "skew": 40.0, "ell": 8.0}[kind]
    ring = [[round(x + rng.uniform(-off, off), 1), round(y + rng.uniform(-off, off), 1)] for x, y in ring]
    tree = tree_of(ring, board=rng.choice([(1285.0, 192.0), (1200.0, 190.0), (1380.0, 193.0)]))
    tree["flooring"]["direction"], tree["flooring"]["start"] = ["A", "B"], ["A", "B"]
    return tree


class Day_:
    """The fitter who tells what happens and does what is answered."""

    def __init__(self, job: Job, site: Site, rng: random.Random) -> None:
        self.job, self.site, self.rng, self.day = job, site, rng, day_of(job)
        self.spoiled = self.left_gap = 0
        self.offcuts: dict[str, float] = {}
        self.revisions: list[tuple[str, int, int]] = []

    def say(self, event: Event) -> None:
        """Tell one thing; a revision is kept with what led to it, the rows printed anew and those not yet down."""
        told = tell(self.job, event, "", on=DAY)
        if told.after.letter != told.before.letter:
            self.revisions.append((type(event).__name__, len(told.changed),
                                   len(told.after.plan.rows) - told.before.now.down))
        self.job, self.day = told.job, told.after

    def measure(self, row: int) -> None:
        """Distances to the far wall at both ends, misread by a millimetre or so; a doubted one is read again."""
        for _ in range(2):
            plan, sights = self.day.plan, []
            for side, s in zip(("left", "right"), middles(plan, row)):
                edge = self.site.edge(row) if row else float(np.interp(s, *_start_line(self.site)))
                t = self.site.t_at(s, edge + 20.0)
                if t is not None:
                    sights.append(Sight(distance_mm=round(t - edge + self.rng.gauss(0, TAPE_SD)), side=side))
            if sights:
                self.say(ToFarWall(row=row, sights=tuple(sights)))
            if not any(verdict.left_out for verdict in self.day.drift.verdicts[-len(sights):]):
                return

    def correct(self) -> None:
        """What the day asks for, if it is free."""
        look = self.day.outlook
        if look.fix == "first-row" and not self.day.now.held:
            self.say(FirstRowWidth(width_mm=look.fix_mm))
            self.site.plan = self.day.plan
        elif look.fix == "push":
            spare = min(gap for _, gap in self.site.gaps[:len(self.site.walls[self.site.start])]) - LEAST_GAP
            push = min(look.fix_mm, float(int(spare)))
            if abs(push) >= 1.0:
                self.say(FloorPushed(towards_start_mm=push))
                move(self.site, push)

    def lay_row(self, row: int) -> None:
        """One row by the plan in force: new boards may be spoiled, offcuts too short, last pieces are measured in
        place."""
        self.say(RowBegun(row=row))
        for run in range(len(self.day.plan.rows[row - 1].runs)):
            self._lay_run(row, run)
        self.say(RowDown(row=row))

    def _lay_run(self, row: int, number: int) -> None:
        run = self.day.plan.rows[row - 1].runs[number]
        rest = self.site.place(row, run) - 2 * self.day.plan.gap_mm
        board = self.day.plan.board.length_mm
        wide = self.site.room.width_mm
        self.left_gap = len(self.site.gaps)
        self.site.gaps.append((wide, self.day.plan.gap_mm + self.rng.gauss(0, SPACER_SD)))
        for piece in run.pieces[:-1]:
            piece = self._fresh(row, piece.id)
            asked = piece.to_mm - piece.from_mm
            if piece.takes and asked > self.offcuts.get(piece.takes, asked):
                asked = self.offcuts[piece.takes]
            cut = (
                asked + self.rng.gauss(0, CUT_SD)
                if asked < board - 1e-6
                else board + self.rng.uniform(-LENGTH_OFF, LENGTH_OFF)
            )
            rest -= cut
            self._cut(piece.id, asked, cut, tell_it=asked < board - 1e-6)
        self._close(row, run.pieces[-1].id, rest)

    def _close(self, row: int, name: str, rest: float) -> None:
        """The piece that closes a run, measured in its place."""
        piece = self._fresh(row, name)
        if piece.takes and rest > self.offcuts.get(piece.takes, 1e9) + SLID_SLACK:
            self.say(OffcutShort(label=piece.takes))
            piece = self._fresh(row, name)
        have = self.offcuts.get(piece.takes, 1e9) if piece.takes else self.day.plan.board.length_mm
        cut = min(rest + self.rng.gauss(0, CUT_SD), have)
        right, (wide, left) = self.day.plan.gap_mm + rest - cut, self.site.gaps[self.left_gap]
        if right - left > TELL_MM:
            # Asked for: a row that is short slides until both its gaps are alike.
            self.site.gaps[self.left_gap] = (wide, (left + right) / 2)
            right = (left + right) / 2
        self.site.gaps.append((self.site.room.width_mm, right))
        self._cut(piece.id, piece.to_mm - piece.from_mm, cut, tell_it=True)

    def _fresh(self, row: int, name: str):
        """The piece by the plan in force, a board for it spoiled now and then."""
        piece = next(piece for piece in self.day.plan.rows[row - 1].pieces if piece.id == name)
        while not piece.takes and self.rng.random() < SPOILED:
            self.spoiled += 1
            self.say(BoardsSpoiled(count=1))
            piece = next(piece for piece in self.day.plan.rows[row - 1].pieces if piece.id == name)
        return piece

    def _cut(self, name: str, asked: float, cut: float, *, tell_it: bool) -> None:
        """What a cut leaves, and a word about it where it came out otherwise."""
        piece = next(piece for piece in self.day.plan.pieces if piece.id == name)
        for offcut in self.day.plan.offcuts:
            if offcut.cut_by == name:
                self.offcuts[offcut.label] = offcut.to_mm - offcut.from_mm - (cut - (piece.to_mm - piece.from_mm))
        if tell_it and abs(cut - (piece.to_mm - piece.from_mm)) > TELL_MM:
            self.say(PieceCut(piece=name, length_mm=cut))


def move(site: Site, towards_start: float) -> None:
    """The laid rows pushed: every wall stands further off, the gaps at the start wall change."""
    step = len(site.walls[site.start]) if site.gaps else 0
    site.gaps[:step] = [(length, gap - towards_start) for length, gap in site.gaps[:step]]
    site.walls = [wall + np.array([0.0, towards_start]) for wall in site.walls]


def _start_line(site: Site) -> tuple[np.ndarray, np.ndarray]:
    wall = site.walls[site.start]
    return (wall[:, 0], wall[:, 1]) if wall[-1, 0] > wall[0, 0] else (wall[::-1, 0], wall[::-1, 1])


def by_day(job: Job, truth, rng: random.Random) -> tuple[Site, float, Day_]:
    """(the site laid, its least width along a far wall, the fitter when all is down)."""
    plan = day_of(job).plan
    site, pushed = set_out(plan, truth, rng, by_string=True)
    fitter = Day_(job, site, rng)
    fitter.say(FloorPushed(towards_start_mm=round(pushed, 1)))
    fitter.measure(0)
    fitter.correct()
    row = 0
    while row < len(fitter.day.plan.rows):
        row += 1
        fitter.lay_row(row)
        count = len(fitter.day.plan.rows)
        if row in {1, count // 2, count - 3} and row < count:
            fitter.measure(row)
            fitter.correct()
    site.plan = fitter.day.plan
    least, _ = rip_along(site, rng, plan.gap_mm, in_place=True, planned=fitter.day.plan)
    return site, least, fitter


def by_plan(plan: Plan, truth, rng: random.Random, *, in_place: bool) -> tuple[Site, float, int]:
    """(the site laid by a plan that does not follow, least width, extra boards): row ends measured in place, offcuts
    cannot be stretched."""
    site, _ = set_out(plan, truth, rng, by_string=False)
    extra, offcuts = 0, {}
    for row in plan.rows:
        for run in row.runs:
            rest = site.place(row.number, run) - 2 * plan.gap_mm
            if rest <= 0:
                continue
            site.gaps.append((truth.width_mm, plan.gap_mm + rng.gauss(0, SPACER_SD)))
            for piece in run.pieces:
                asked, closing = piece.to_mm - piece.from_mm, piece is run.pieces[-1]
                have = offcuts.get(piece.takes, asked) if piece.takes else plan.board.length_mm
                if closing and rest > have + END_SLACK and piece.takes:
                    extra, have = extra + 1, plan.board.length_mm
                cut = min(rest + rng.gauss(0, CUT_SD), have) if closing else min(asked, have) + rng.gauss(0, CUT_SD)
                for offcut in (offcut for offcut in plan.offcuts if offcut.cut_by == piece.id):
                    offcuts[offcut.label] = offcut.to_mm - offcut.from_mm - (cut - asked)
                if closing:
                    site.gaps.append((truth.width_mm, plan.gap_mm + rest - cut))
                rest -= cut
    least, _ = rip_along(site, rng, plan.gap_mm, in_place=in_place, planned=plan)
    return site, least, extra


def tape_plan(job: Job, truth, rng: random.Random) -> Plan:
    """What a tape and the rule of thirds come to: the first row from one reading across the room at its left."""
    room, board, wishes = to_room(job, survey_job(job, {})), to_board(job), to_wishes(job)
    depth = float(np.linalg.norm(truth.corners[-1] - truth.corners[0])) + rng.gauss(0, TAPE_SD) - 2 * 10.0
    rest = depth % board.width_mm
    first = board.width_mm if rest >= NARROWEST else (board.width_mm + rest) / 2
    return plan_floor(room, board, replace(wishes, pattern="thirds", first_row_mm=first), moves=60)


def boards_of_truth(job: Job, truth, plan: Plan) -> int:
    """Boards the planner takes for the room as it truly is, rows along the same wall: nothing misread, nothing
    spoiled."""
    room, board, wishes = to_room(job, survey_job(job, {})), to_board(job), to_wishes(job)
    outline = truth.outline(WALL_PARTS)
    names = tuple(f"{name}{part}" for name in room.names for part in range(WALL_PARTS))
    start = names[WALL_PARTS * room.names.index("A") + WALL_PARTS // 2:][:2]
    along = float(np.arctan2(plan.u[1], plan.u[0]))
    return plan_floor(replace(room, names=names, outline_mm=outline), replace(board, width_mm=truth.width_mm),
                      replace(wishes, along=None, direction_rad=along, start=start)).boards


def run_room(seed: int, tallies: dict[str, Tally]) -> None:
    """One room, three ways, with the same truth and each its own luck."""
    rng = random.Random(seed)
    job = kept_job(draw_tree(rng), effort="preview")
    plan = day_of(job).plan
    truth = draw_truth(rng, np.array(job.floor.outline_mm), 3.0, plan.board.width_mm)
    luck = random.Random(seed + 1_000_000)
    new = sum(not piece.takes for piece in plan.pieces)
    for way in ("day", "plan", "tape"):
        tally, own = tallies[way], random.Random(seed + 7)
        if way == "day":
            site, least, fitter = by_day(job, truth, own)
            used, spoiled = fitter.day.now.used, fitter.spoiled
            tally.revisions.append(len(fitter.revisions))
            tally.changed += [changed / left for _, changed, left in fitter.revisions]
            tally.causes.update(what for what, *_ in fitter.revisions)
        else:
            laid = plan if way == "plan" else tape_plan(job, truth, own)
            site, least, extra = by_plan(laid, truth, own, in_place=way == "tape")
            spoiled = sum(luck.random() < SPOILED for _ in range(new))
            used = laid.boards + extra + spoiled
        tally.rooms += 1
        tally.add_gaps(site.gaps)
        tally.boards += used
        tally.spoiled += spoiled
        beyond = used - plan.boards - spoiled
        tally.beyond.append(beyond)
        if way == "day" and beyond > 1:
            print(
                f"  seed {seed} day: {beyond} boards beyond, needed {boards_of_truth(job, truth, plan) - plan.boards}",
                flush=True)
        if least < NARROWEST - 1.0:
            tally.narrow += 1
            tally.narrow_avoidable += could_be_wide(site, NARROWEST, plan.gap_mm)
            print(f"  seed {seed} {way}: a row {least:.0f} mm wide")


def main() -> None:
    """Run the rooms and print the table."""
    rooms, first = (int(word) for word in (sys.argv[1:] + ["500", "0"][len(sys.argv) - 1:]))
    tallies: dict[str, Tally] = defaultdict(Tally)
    begun = process_time()
    for seed in range(first, first + rooms):
        try:
            run_room(seed, tallies)
        except LayoutError as error:
            print(f"  seed {seed} LOST {error.slug}: {error}")
        if (seed - first + 1) % 50 == 0:
            show(tallies)
    show(tallies)
    print(f"{process_time() - begun:.0f} s CPU")


def show(tallies: dict[str, Tally]) -> None:
    """The table so far."""
    print("way    rooms  gap 5-18 mm  too wide   rows < 60   avoidable   boards   spoiled   boards beyond plan and "
          "spoiled: mean, worst, share > 1")
    for way, t in tallies.items():
        beyond = np.array(t.beyond)
        print(f"{way:6s} {t.rooms:5d} {t.good_mm / t.wall_mm:11.2%} {t.wide_mm / t.wall_mm:9.2%} {t.narrow:10d} "
              f"{t.narrow_avoidable:11d} "
              f"{t.boards:9d} {t.spoiled:8d}   {beyond.mean():6.2f} {beyond.max():6d} {(beyond > 1).mean():8.1%}",
              flush=True)
        if t.revisions:
            print(f"       revisions a room: median {np.median(t.revisions):g}, mean {np.mean(t.revisions):.2f}, most "
                  f"{max(t.revisions)}; rows changed of those not down: median {np.median(t.changed or [0]):.0%}, over "
                  f"half in {np.mean(np.array(t.changed or [0]) > 0.5):.0%}; after {dict(t.causes.most_common())}")


if __name__ == "__main__":
    main()
