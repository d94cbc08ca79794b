"""numpy uses one thread in tests, as in the command.

Tests that take the browser have the mark `browser`; `tests/run.py` leaves them out where there is none.
"""
import os

import pytest

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
#: What a machine keeps for its user's next job is neither read nor written; tests of it name a file of their own.
os.environ["TAPEGROOVE_SETTINGS"] = ""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Before `-m` chooses."""
    for item in items:
        if "chromium" in getattr(item, "fixturenames", ()):
            item.add_marker("browser")
