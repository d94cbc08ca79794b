"""The paper is enough: boards sawn as it says and laid where it says cover the floor, in the room as surveyed and in
the real one.

Readers that know only cuts.csv and the board's size, or only the pictures of the rows (`tests.support.strip_fitter`),
saw simulated boards with shapely. Nothing of the planner or of the pack is used to read it back. Two hundred rooms:
`tests.bench.printpack.run_pictures`.
"""
from __future__ import annotations

import pytest
from shapely import affinity
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from layout.planning.planner import EFFORTS, plan_floor
from layout.room import Board, Room, Wishes
from printpack.outputs.cuts_csv import cuts_csv
from printpack.drawing.frames import in_rows
from tests.support.fitter import number, read_cuts, sawn
from tests.bench.printpack.run_pictures import draw_case, held, pictures_of, whole_floor_faults
from tests.support.plans import BOARD, BREAST, SLANTED, floor_of, plan_of

BAY = ((0, 0), (3600, 0), (3600, 3200), (2700, 3205), (2400, 3600), (1200, 3610), (900, 3200), (0, 3190))
ALCOVES = ((0, 0), (3900, 12), (3890, 3400), (3300, 3390), (3310, 3050), (1200, 3040), (1195, 3380), (0, 3370))


def planned(ring, board=BOARD):
    """How few boards are found says nothing of the paper, so they are searched for shortly."""
    floor = floor_of(ring)
    return plan_floor(Room(names=floor.outline, outline_mm=floor.points_mm), board, Wishes(), moves=EFFORTS["preview"])


PLANS = {"by hand": lambda: plan_of(BREAST, first_mm=150.0), "breast": lambda: planned(BREAST),
         "slanted": lambda: planned(SLANTED), "bay": lambda: planned(BAY),
         "alcoves": lambda: planned(ALCOVES, Board(length_mm=1219.2, width_mm=177.8, thickness_mm=12.0, pack=6))}


@pytest.fixture(scope="module", params=PLANS)
def read(request):
    """(plan, [(lines of a piece, its shape in the board, its shape in the room's row frame)])."""
    plan = PLANS[request.param]()
    pieces = []
    for mine in read_cuts(cuts_csv(plan, {})).values():
        shape = sawn(mine, (plan.board.length_mm, plan.board.width_mm))
        left, top = (
            number(mine[0], "left_mm") - number(mine[0], "from_mm"),
            number(mine[0], "top_mm") - number(mine[0], "near_mm"),
        )
        pieces.append((mine, shape, affinity.translate(shape, left, top)))
    return plan, pieces


def test_the_pieces_cover_the_floor_and_none_overlap(read):
    plan, pieces = read
    cover = unary_union([Polygon(in_rows(plan, part.outline)) for part in plan.cover])
    laid = unary_union([place.buffer(0.01, join_style="mitre") for _, _, place in pieces])
    assert cover.difference(laid).area < 100.0
    assert sum(place.area for _, _, place in pieces) == pytest.approx(cover.area, abs=100.0)


def test_pieces_of_one_board_lie_apart_by_the_saw_cut(read):
    plan, pieces = read
    boards: dict[str, list] = {}
    for mine, shape, _ in pieces:
        boards.setdefault(mine[0]["board"], []).append(shape)
    for shapes in boards.values():
        assert all(box(0, 0, plan.board.length_mm, plan.board.width_mm).buffer(1e-3).contains(shape)
                   for shape in shapes)
        for i, one in enumerate(shapes):
            assert all(one.distance(other) >= plan.kerf_mm - 0.01 for other in shapes[i + 1:])


def test_an_offcut_is_made_before_it_is_taken(read):
    _, pieces = read
    made: set[str] = set()
    for mine, _, _ in pieces:
        assert not mine[0]["takes"] or mine[0]["takes"] in made
        made |= set(mine[0]["leaves"].split())


def test_the_named_sides_are_factory_sides(read):
    plan, pieces = read
    for mine, shape, _ in pieces:
        left, near, right, far = shape.bounds
        keeps = set(mine[0]["keeps"].split())
        for side, off in (("left", left), ("right", plan.board.length_mm - right), ("near", near),
                          ("far", plan.board.width_mm - far)):
            assert side not in keeps or abs(off) < 0.01


@pytest.fixture(scope="module", params=[3, 4, 7], ids=["bay", "breast, laid from the right", "bay with a triangle"])
def case(request):
    """A drawn room and the pictures of its rows, as read from what a phone shows."""
    drawn = draw_case(request.param)
    return request.param, drawn, pictures_of(drawn)


def test_a_reader_of_lines_and_figures_lays_the_whole_floor(case):
    """Nothing bare, nothing over anything else, no piece missing, to what rounding to a millimetre leaves; no word is
    read."""
    assert not whole_floor_faults(*case[1:])


def test_measuring_in_place_keeps_the_gaps_in_a_room_that_differs_from_its_survey(case):
    """A room drawn from the survey's own covariance, 1 mm a saw mark: 99 % of the walls have a gap from 5 mm to what
    the beading covers."""
    seed, drawn, pictures = case
    good, count, work = held(drawn, pictures, seed, measures=True)
    assert good >= 0.99 * count and work.laid.measured >= 5


def test_what_is_read_off_the_pictures_are_the_plans_own_cuts(case):
    """Every crosscut and every rip of the plan, rounded to the millimetre, stands in a card of its piece."""
    _, drawn, pictures = case
    cards = [card for picture in pictures for card in picture.cards]
    for piece in drawn.job.plan.pieces:
        figures = {arrow.figure for card in cards if piece.id in card.names for arrow in card.arrows}
        for cut in piece.cuts:
            if cut.kind == "cross":
                wanted = {round(sum(cut.at) / 2)} if abs(cut.at[0] - cut.at[1]) < 1.0 else set(map(round, cut.at))
                assert all(min(abs(mm - figure) for figure in figures) <= 1.0 for mm in wanted), piece.id
