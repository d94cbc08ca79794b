"""The judge of a flat finds what is planted: offcuts used twice, before they exist, in the wrong order; wrong sums."""
from __future__ import annotations

from dataclasses import replace

import pytest

from layout.flat_plan import FlatPlan
from layout.judge.flat import find_flat_faults
from tests.support.flats import planned_flat


@pytest.fixture(scope="module")
def flat() -> FlatPlan:
    """A drawn flat with offcuts that go from room to room."""
    flat = planned_flat(2).flat
    assert len(flat.travels) > 1 and find_flat_faults(flat) == ()
    return flat


def slugs(flat: FlatPlan) -> set[str]:
    return {fault.slug for fault in find_flat_faults(flat)}


def with_travel(flat: FlatPlan, **other) -> FlatPlan:
    return replace(flat, travels=(replace(flat.travels[0], **other), *flat.travels[1:]))


def test_an_offcut_taken_before_it_is_left_is_found(flat):
    assert "flat-order" in slugs(replace(flat, floors=flat.floors[::-1]))


def test_an_offcut_used_twice_is_found(flat):
    first, second = flat.travels[:2]
    assert slugs(replace(flat, travels=(first, replace(second, from_floor=first.from_floor, cut_by=first.cut_by),
                                        *flat.travels[2:]))) & {"flat-twice", "flat-travel"}
    assert "flat-travel" in slugs(replace(flat, travels=(*flat.travels, first)))


def test_an_offcut_that_nobody_leaves_or_takes_is_found(flat):
    travel = flat.travels[0]
    assert "flat-travel" in slugs(with_travel(flat, length_mm=travel.length_mm + 1.0))
    assert "flat-travel" in slugs(with_travel(flat, cut_by="99.1"))
    assert "flat-travel" in slugs(with_travel(flat, used_by="99.1"))
    assert "flat-travel" in slugs(with_travel(flat, to_floor="attic"))
    # Left out altogether: the piece at hand comes from nowhere.
    assert "flat-travel" in slugs(replace(flat, travels=flat.travels[1:]))


def test_pieces_of_one_board_that_overlap_in_two_rooms_are_found(flat):
    """The piece cut from an offcut is told 50 mm longer than its wood, into what the first room cut."""
    travel = flat.travels[0]

    def longer(piece):
        if piece.takes != travel.label:
            return piece
        return replace(piece, from_mm=piece.from_mm - 2000.0, to_mm=piece.to_mm + 2000.0)

    floors = tuple(floor if floor.name != travel.to_floor else replace(floor, plan=replace(
        floor.plan, rows=tuple(replace(row, runs=tuple(replace(run, pieces=tuple(map(longer, run.pieces)))
                                                       for run in row.runs)) for row in floor.plan.rows)))
        for floor in flat.floors)
    assert "flat-wood" in slugs(replace(flat, floors=floors))


def test_wrong_sums_are_found(flat):
    kind = flat.kinds[0]
    for slug, other in (("flat-boards", replace(kind, boards=kind.boards - 1)),
                        ("flat-boards", replace(kind, bound=kind.boards + 1)),
                        ("flat-boards", replace(kind, alone=kind.boards - 1)),
                        ("flat-packs", replace(kind, packs=kind.packs + 1))):
        assert slug in slugs(replace(flat, kinds=(other,)))
    assert "flat-list" in slugs(replace(flat, shopping=flat.shopping[1:]))
    (bars,) = flat.bars
    assert "flat-bars" in slugs(replace(flat, bars=(replace(bars, bars=bars.bars[1:]),)))
    assert "flat-bars" in slugs(replace(flat, bars=(replace(bars, bar_mm=100.0),)))
