"""Labels along walls: no wall runs through one, slanted ones stand where there is room for them."""
from __future__ import annotations

from math import cos, radians, sin

import pytest
from shapely.geometry import LineString, Polygon

from printpack.drawing.label_placement import Placer
from printpack.drawing.metrics import CAP, text_width
from printpack.drawing.sheet import Text
from printpack.drawing.wall_labels import WallLabels

WINDOW = (0.0, 0.0, 100.0, 100.0)
DIAMOND = ((50.0, 10.0), (90.0, 50.0), (50.0, 90.0), (10.0, 50.0))


def ink(text: Text) -> Polygon:
    """The rectangle of a text's capitals, turned as it is: by shapely."""
    wide = text_width(text.text, text.size_mm, bold=text.bold)
    left = {"start": 0.0, "middle": -wide / 2, "end": -wide}[text.anchor]
    c, s = cos(radians(text.turn_deg)), sin(radians(text.turn_deg))
    frame = ((left, 0.0), (left + wide, 0.0), (left + wide, -CAP * text.size_mm), (left, -CAP * text.size_mm))
    return Polygon([(text.at[0] + c * x + s * y, text.at[1] - s * x + c * y) for x, y in frame])


def test_a_label_that_a_wall_would_cross_stands_elsewhere():
    labels = WallLabels(Placer(WINDOW), [DIAMOND])
    (put,) = labels.first([Text((30.0, 30.0), "START WALL", 4.0, "middle"), Text((2.0, 20.0), "START WALL", 4.0)])
    assert put.at == (2.0, 20.0)
    assert not any(ink(put).intersects(LineString(side)) for side in zip(DIAMOND, DIAMOND[1:] + DIAMOND[:1]))
    assert labels.first([Text((30.0, 30.0), "START WALL", 4.0, "middle")]) == ()


@pytest.mark.parametrize("turn", [45.0, -45.0, 30.0])
def test_two_slanted_labels_share_the_upright_box_round_both(turn):
    """Side by side along a slant they do not meet, though the upright boxes round them do."""
    labels = WallLabels(Placer(WINDOW), [])
    c, s = cos(radians(turn)), sin(radians(turn))
    places = [Text((50.0 + k * 8.0 * s, 50.0 + k * 8.0 * c), "3000 mm", 3.2, "middle", turn_deg=turn) for k in (0, 1)]
    assert all(labels.first([text]) for text in places)
    assert not ink(places[0]).intersects(ink(places[1]))
    assert labels.first([Text((50.0 + 1.0 * s, 50.0 + 1.0 * c), "3000 mm", 3.2, "middle", turn_deg=turn)]) == ()


def test_nothing_stands_outside_the_window():
    labels = WallLabels(Placer(WINDOW), [])
    assert labels.first([Text((98.0, 2.0), "4000 mm", 3.2, "middle", turn_deg=45.0)]) == ()
