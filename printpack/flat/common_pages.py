"""What holds for all rooms of a flat alike, told once before their parts: preparation, doors, how to lay, what to do
when a check fails, and which offcuts go from room to room. What a room has of its own stays in its part
(`printpack.flat.part_pages`).
"""
from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from capture.language.messages import worded
from printpack.booklet.check_page import check_points
from printpack.booklet.day_page import check_blocks, summary_points
from printpack.booklet.safety import BEFORE_TITLE, Point, preparation_of, preparation_points, safety_points
from printpack.drawing.page_layout import Page, column_width, point
from printpack.flat.flat_job import FlatFloor, FlatPack
from printpack.flat.flat_pages import carried_blocks, carried_title
from printpack.flat.sections import flowing
from printpack.howto.door_page import DOORS_TITLE, doors_of
from printpack.howto.how_to_page import HOW_TITLE, needs_of_job, steps_pages
from printpack.howto.steps import Needs, steps_for
from printpack.job import PackJob
from printpack.paper import Paper
from printpack.words.doors import stack_of
from printpack.words.row_words import CHECK_PAGE

_Any = TypeVar("_Any")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Common:
    """What is told once. pages: by their titles, in the order they are bound; points: those that every room shares;
    doors, steps: folders of the floors whose doors and steps stand there."""

    pages: tuple[tuple[str, tuple[Page, ...]], ...]
    points: frozenset[Point]
    rules: frozenset[str]
    doors: frozenset[str]
    steps: frozenset[str]


def common_of(flat: FlatPack, paper: Paper) -> Common:
    """What the rooms of a flat share; where they differ in how they are built up, what most of them do."""
    jobs = [floor.job for floor in flat.floors]
    safety, ready, checks = (_shared([points(job) for job in jobs])
                             for points in (safety_points, preparation_points, check_points))
    rules = _shared([summary_points(job) for job in jobs])
    with_doors = _alike([floor for floor in flat.floors if floor.job.room.doors], _built)
    alike = _alike(flat.floors, lambda job: (job.plan.gap_mm, job.show))
    width, title, first = column_width(paper), worded(CHECK_PAGE), alike[0].job
    pages = [(worded(BEFORE_TITLE), preparation_of(safety, ready, paper))]
    if with_doors:
        pages.append((worded(DOORS_TITLE), doors_of([floor.job for floor in with_doors], paper)))
    pages.append((worded(HOW_TITLE), steps_pages(steps_for(first.plan, _needs(alike), first.units), paper)))
    carried = carried_blocks(flat, paper)
    pages.append((title, flowing([(title, [*(point(rule, width) for rule in rules), *check_blocks(checks, width)]),
                                  *([(carried_title(), carried)] if carried else [])], paper)))
    return Common(pages=tuple(pages), points=frozenset((*safety, *ready, *checks)), rules=frozenset(rules),
                  doors=frozenset(floor.folder for floor in with_doors),
                  steps=frozenset(floor.folder for floor in alike))


def _shared(every: Sequence[Sequence[_Any]]) -> list[_Any]:
    """What stands in each of these, in the order of the first."""
    return [one for one in every[0] if all(one in other for other in every[1:])]


def _alike(floors: Sequence[FlatFloor], key: Callable[[PackJob], object]) -> list[FlatFloor]:
    """The floors that are alike in this, as many as there are; the first such of several kinds."""
    keys = [key(floor.job) for floor in floors]
    most = max(keys, key=keys.count, default=None)
    return [floor for floor, own in zip(floors, keys) if own == most]


def _built(job: PackJob) -> object:
    """What the figures on the page of doors come from."""
    return stack_of(job), job.plan.gap_mm, job.show


def _needs(floors: Sequence[FlatFloor]) -> Needs:
    """What any of these floors asks for."""
    needs = [needs_of_job(floor.job) for floor in floors]
    return Needs(pipes=any(one.pipes for one in needs), casings=any(one.casings for one in needs),
                 broken=any(one.broken for one in needs))
