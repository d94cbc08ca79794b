"""Letters that other photos of a room take over from those a person has given. Truth: corners and walls' feet of drawn
rooms, projected by the renderer's own camera (tests/bench/seeing), with 1 px of error."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from capture.seeing.known_letters import NEW, known_letters
from tests.bench.seeing.rooms import draw_outline, draw_scene
from tests.bench.seeing.run_known_letters import seen_truly, tell


@pytest.mark.parametrize("given", [1, 2])
def test_no_letter_is_wrong(given):
    """Many are not told; of those that are, each is the true corner's."""
    told = tell(50, given)
    assert told["wrong"] == 0 and told["right"] > 10 and told["laid"] > told["baseline laid"]


@pytest.fixture(scope="module")
def shown():
    rng = np.random.default_rng(3)
    return next(one for _ in range(50) if len((one := seen_truly(rng, draw_scene(
        rng, False, furnished=0.0, outline=draw_outline(rng))))[0].corners) >= 4)[0]


def marks_of(found, numbers):
    return {f"L{n}": (found.corners[n].x_px, found.corners[n].y_px) for n in numbers}


def test_what_one_photo_alone_shows_is_new(shown):
    (letters,) = known_letters([shown], [marks_of(shown, [0, 1])])
    assert letters == ("L0", "L1", *[NEW] * (len(shown.corners) - 2))


def test_nothing_is_new_while_a_photo_with_marks_hangs_together_with_no_other(shown):
    letters, other = known_letters([shown, shown], [marks_of(shown, [0, 1]), {"Z": marks_of(shown, [2])["L2"]}])
    assert NEW not in letters and letters[:2] == ("L0", "L1") and not any(other)


def test_a_mark_beside_every_proposal_counts_as_a_corner_too(shown):
    """The same picture twice; in the second the eye misses the two corners that tie them, and they are marked by
    hand."""
    missing = replace(shown, corners=shown.corners[2:], lines=())
    marks = [marks_of(shown, range(len(shown.corners))), marks_of(shown, [0, 1])]
    first, second = known_letters([shown, missing], marks)
    assert second == first[2:] and None not in second


def test_without_marks_nothing_is_told(shown):
    assert known_letters([shown], [{}]) == [(None,) * len(shown.corners)]
