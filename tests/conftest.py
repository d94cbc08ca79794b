"""numpy uses one thread in tests, as in the command, and a plan is judged once. Rubbish is looked for seldom, since the
tests keep much that would be gone through each time. What takes longest alone comes first, so that no core waits for it
in the end.

Tests that take the browser have the mark `browser`; `tests/run.py` leaves them out where there is none.
"""
import gc
import os
import sys

import pytest
from hypothesis import settings

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
#: What one worker or process of a test compiled the others, and the next run, load.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False
#: What a machine keeps for its user's next job is neither read nor written; tests of it name a file of their own.
os.environ["TAPEGROOVE_SETTINGS"] = ""
os.environ["TAPEGROOVE_CACHE"] = ""
gc.set_threshold(50_000, 20, 50)

from tests.support.once import judge_once  # noqa: E402  (numpy reads the environment as it is loaded)

judge_once()
settings.register_profile("tapegroove", deadline=None)  # nothing asserts a time
settings.load_profile("tapegroove")
#: Half a minute, where none of it is remembered.
LONGEST = "test_the_rooms_are_typed_and_a_planted_none_is_found"


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Before `-m` chooses."""
    items.sort(key=lambda item: item.name != LONGEST)
    for item in items:
        if "chromium" in getattr(item, "fixturenames", ()):
            item.add_marker("browser")


def pytest_collection_finish() -> None:
    """What is there now stays."""
    gc.collect()
    gc.freeze()
