"""One page on doors, before the first row: leaf, undercut, profile, taking the door off, and each door's figures."""
from __future__ import annotations

from collections.abc import Sequence

from capture.language.messages import gettext, marked, worded
from layout.region.doorways import TUCK_MM
from printpack.howto.cells import beside, cell, cell_width
from printpack.drawing.page_layout import Block, Page, column_width, pages_of, paragraph, stacked, table
from printpack.howto.door_scenes import Layer, Undercut, under_leaf, undercut
from printpack.howto.from_above import doorway
from printpack.howto.scene import Scene
from printpack.job import PackJob
from printpack.paper import Paper
from printpack.words.doors import (
    FIRE_DOORS, before_rows, depth_words, door_facts, fire_gap, profile_words, stack_of, stops_words,
    undercut_deep_mm, undercut_words)

DOORS_TITLE = marked("Doors, before the first row")
#: What lies under a leaf.
_UNDERLAY, _BOARD = marked("underlay {thickness}"), marked("board {thickness}")
_PROFILE, _AIR = marked("profile {thickness}"), marked("air {thickness}")
#: Columns of the table of doors: name, wall, opening, floor reaches to, casing, profile.
_SHARES = (0.09, 0.10, 0.14, 0.20, 0.15, 0.32)


def door_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """One page, a second one for very many doors; none if the room has none."""
    return doors_of([job], paper) if job.room.doors else ()


def doors_of(jobs: Sequence[PackJob], paper: Paper) -> tuple[Page, ...]:
    """The same for the doors of rooms whose floors are built up alike, the first of which has one."""
    width, job = column_width(paper), jobs[0]
    wide, (measure, take_off, saw, profile) = cell_width(width), before_rows(job)
    blocks = [beside([cell(measure[0], _leaf(job), (measure[1],), wide),
                      cell(saw[0], _undercut(job), (saw[1],), wide)], width),
              beside([cell(profile[0], doorway(), (profile[1],), wide),
                      stacked((cell(take_off[0], None, (take_off[1],), wide),
                               paragraph(worded(FIRE_DOORS), wide, bold=True),
                               paragraph(fire_gap(job.show), wide)))], width),
              *_doors(jobs, width)]
    return pages_of(blocks, paper, bookmark=gettext("Doors"), title=worded(DOORS_TITLE))


def door_scenes(job: PackJob) -> tuple[tuple[str, Scene], ...]:
    """(what it shows, the drawing): the leaf's clearance, the undercut, the profile."""
    measure, _, saw, profile = before_rows(job)
    return (measure[0], _leaf(job)), (saw[0], _undercut(job)), (profile[0], doorway())


def _leaf(job: PackJob) -> Scene:
    stack, units = stack_of(job), job.units
    layers = (("under", stack.underlay_mm, _UNDERLAY), ("board", stack.board_mm, _BOARD),
              ("profile", stack.profile_mm, _PROFILE), ("air", stack.air_mm, _AIR))
    return under_leaf(tuple(Layer(kind=kind, thick_mm=thick, words=worded(words, thickness=units.fine(thick)))
                            for kind, thick, words in layers if thick > 0), units.at_least(stack.leaf_mm))


def _undercut(job: PackJob) -> Scene:
    stack, units, deep = stack_of(job), job.units, undercut_deep_mm(job)
    cut = Undercut(underlay_mm=stack.underlay_mm, board_mm=stack.board_mm, high_mm=stack.undercut_mm, deep_mm=deep,
                   tuck_mm=TUCK_MM)
    return undercut(cut, units.at_least(stack.undercut_mm), gettext("{depth} deep", depth=units.at_least(deep)),
                    units.terms.lining, units.terms.stop)


def _doors(jobs: Sequence[PackJob], width: float) -> list[Block]:
    job, units, doors = jobs[0], jobs[0].units, tuple(facts for job in jobs for facts in door_facts(job))
    rows = [(facts.door.name, f"{facts.door.wall[0]}–{facts.door.wall[1]}", units.length(facts.door.width_mm),
             depth_words(facts, units), undercut_words(facts, units), profile_words(facts, units)) for facts in doors]
    head = (gettext("door"), gettext("wall"), gettext("opening"), gettext("profile’s middle"), gettext("undercut"),
            gettext("profile"))
    measured = gettext(
        "The profile’s middle is told from the wall line of this room; the boards stop {gap} short of it. Measure to "
        "where the closed leaf stands before you saw.", gap=units.length(job.plan.gap_mm))
    return [*table(head, rows, tuple((width - 8.0) * share for share in _SHARES), ticks=True),
            paragraph(f"{measured} {stops_words(doors)}", width)]
