"""Contradictions at the tap. Truth: OpenCV's projection of a made-up floor, and what was done to its letters."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from capture.seeing.contradictions import Marked, contradictions

FLOOR = {"A": (0, 0), "B": (4, 0), "C": (4, 3), "D": (2.2, 3), "E": (2.2, 2.2), "F": (0, 2.2)}
OUTLINE = tuple(FLOOR)


def marked(eye, look, names) -> Marked:
    eye, look = np.array([*eye, 1.5]), np.array([*look, 0.0])
    forward = (look - eye) / np.linalg.norm(look - eye)
    right = np.cross(forward, (0, 0, 1.0))
    right /= np.linalg.norm(right)
    rotation = np.array([right, np.cross(forward, right), forward])
    matrix = np.array([[1200.0, 0, 799.5], [0, 1200.0, 599.5], [0, 0, 1]])
    spots = cv2.projectPoints(np.array([[*FLOOR[n], 0.0] for n in names]), cv2.Rodrigues(rotation)[0], -rotation @ eye,
                              matrix, None)[0].reshape(-1, 2)
    return Marked(marks={n: (float(x), float(y)) for n, (x, y) in zip(names, spots)}, size_px=(1600, 1200),
                  focal_px=1200.0, up=tuple(rotation[:, 2]))


ONE, OTHER = marked((0.4, -1.5), (2.4, 2), "ABCDEF"), marked((-1.5, 1.0), (2.4, 1.4), "BCDEF")


def renamed(photo: Marked, names: dict[str, str]) -> Marked:
    return Marked(marks={names.get(n, n): at for n, at in photo.marks.items()}, size_px=photo.size_px,
                  focal_px=photo.focal_px, up=photo.up)


def test_a_sound_job_contradicts_nothing():
    assert contradictions([ONE, OTHER], OUTLINE, taped=[("A", "B"), ("A", "C")]) == []


def test_letters_swapped_left_to_right_are_told():
    mirror = Marked(
        marks={n: (1599 - x, y) for n, (x, y) in OTHER.marks.items()},
        size_px=(1600, 1200),
        focal_px=1200.0,
        up=(-OTHER.up[0], *OTHER.up[1:]),
    )
    assert [c.what for c in contradictions([ONE, mirror], ())] == ["mirrored"]


def test_an_order_that_crosses_is_told():
    found = contradictions([ONE], ("A", "C", "B", "D", "E", "F"))
    assert {c.what for c in found} == {"crossing"}


def test_a_ring_that_is_not_closed_yet_crosses_nothing_with_its_closing_wall():
    """Corners as they are met from left to right: the last one is not the first one's neighbour."""
    part = ("C", "D", "E", "F")
    assert {c.what for c in contradictions([ONE], part)} == {"crossing"}
    assert contradictions([ONE], part, closed=False) == []


def test_two_letters_on_one_corner_are_told():
    twice = Marked(marks={**OTHER.marks, "A": (OTHER.marks["B"][0] + 2, OTHER.marks["B"][1])}, size_px=(1600, 1200),
                   focal_px=1200.0)
    assert [(c.what, set(c.points)) for c in contradictions([twice], OUTLINE)] == [("one-corner", {"A", "B"})]


@pytest.mark.parametrize("lined, told", [((), [("A", "B")]), ((("B", "A"),), [])])
def test_a_taped_wall_that_no_photo_shows_is_told(lined, told):
    found = contradictions([OTHER], OUTLINE, taped=[("A", "B"), ("B", "C"), ("A", "C")], lined=lined)
    assert [c.points for c in found if c.what == "unseen-wall"] == told
