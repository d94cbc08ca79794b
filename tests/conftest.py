"""Makes the simulator of the benches importable by tests under one clear name, and numpy use one thread, as the command does.

Tests that take the browser have the mark `browser`; `tests/run.py` leaves them out where there is none.
"""
import os
import sys
from pathlib import Path
from types import ModuleType

import pytest

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def _load_benches() -> None:
    folder = Path(__file__).parent / "bench"
    package = ModuleType("tests_bench")
    package.__path__ = [str(folder)]
    sys.modules["tests_bench"] = package


_load_benches()


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Before `-m` chooses."""
    for item in items:
        if "chromium" in getattr(item, "fixturenames", ()):
            item.add_marker("browser")
