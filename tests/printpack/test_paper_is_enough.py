"""The cut list alone is enough: boards sawn as it says and laid where it says cover the floor.

A reader that knows only cuts.csv and the board's size saws simulated boards with shapely. Nothing of the planner or of
the pack is used to read it back.
"""
from __future__ import annotations

import csv
import io

import pytest
from shapely import affinity
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from layout.planner import plan_floor
from layout.room import Board, Room, Wishes
from printpack.cuts_csv import cuts_csv
from printpack.places import in_rows
from tests.printpack.plans import BOARD, BREAST, SLANTED, floor_of, plan_of

BAY = ((0, 0), (3600, 0), (3600, 3200), (2700, 3205), (2400, 3600), (1200, 3610), (900, 3200), (0, 3190))
ALCOVES = ((0, 0), (3900, 12), (3890, 3400), (3300, 3390), (3310, 3050), (1200, 3040), (1195, 3380), (0, 3370))
FAR = 1e5


def planned(ring, board=BOARD):
    floor = floor_of(ring)
    return plan_floor(Room(names=floor.outline, outline_mm=floor.points_mm), board, Wishes())


PLANS = {"by hand": lambda: plan_of(BREAST, first_mm=150.0), "breast": lambda: planned(BREAST), "slanted": lambda: planned(SLANTED),
         "bay": lambda: planned(BAY), "alcoves": lambda: planned(ALCOVES, Board(length_mm=1219.2, width_mm=177.8, thickness_mm=12.0, pack=6))}


def number(line, name):
    return float(line[name])


def sawn(lines, board) -> Polygon:
    """One piece in its board's frame: the stock, less what each line of the list takes off."""
    first = lines[0]
    stock = (number(first, "stock_from_mm"), number(first, "stock_to_mm"))
    piece = box(stock[0], 0.0, stock[1], board.width_mm)
    middle = tuple((number(first, a) + number(first, b)) / 2 for a, b in (("from_mm", "to_mm"), ("near_mm", "far_mm")))
    for line in lines:
        if line["cut"] == "cross":
            near, far = (stock[0] + d if line["kept"] == "left" else stock[1] - d
                         for d in (number(line, "at_first_mm"), number(line, "at_second_mm")))
            slope = (far - near) / board.width_mm
            waste = Polygon([(near - slope * FAR, -FAR), (near + slope * FAR, FAR), (FAR * 3, FAR), (FAR * 3, -FAR)])
            right_of = middle[0] > near + slope * middle[1]
            piece = piece.intersection(waste) if right_of else piece.difference(waste)
        elif line["cut"] == "rip":
            a, b = (d if line["kept"] == "near" else board.width_mm - d for d in (number(line, "at_first_mm"), number(line, "at_second_mm")))
            x0, x1 = number(line, "from_mm"), number(line, "to_mm")
            half = Polygon([(x0, a), (x1, b), (x1, FAR), (x0, FAR)])
            piece = piece.difference(half) if line["kept"] == "near" else piece.intersection(half)
        elif line["cut"] == "notch":
            piece = piece.difference(Polygon([tuple(map(float, pair.split())) for pair in line["shape_mm"].split(";")]).buffer(0))
    return max(getattr(piece, "geoms", [piece]), key=lambda part: part.area)


@pytest.fixture(scope="module", params=PLANS)
def read(request):
    """(plan, [(lines of a piece, its shape in the board, its shape in the room's row frame)])."""
    plan = PLANS[request.param]()
    lines: dict[str, list] = {}
    for line in csv.DictReader(io.StringIO(cuts_csv(plan, {}))):
        lines.setdefault(line["piece"], []).append(line)
    pieces = []
    for mine in lines.values():
        shape = sawn(mine, plan.board)
        left, top = number(mine[0], "left_mm") - number(mine[0], "from_mm"), number(mine[0], "top_mm") - number(mine[0], "near_mm")
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
        assert all(box(0, 0, plan.board.length_mm, plan.board.width_mm).buffer(1e-3).contains(shape) for shape in shapes)
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
        for side, off in (("left", left), ("right", plan.board.length_mm - right), ("near", near), ("far", plan.board.width_mm - far)):
            assert side not in keeps or abs(off) < 0.01
