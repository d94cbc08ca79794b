"""Types, by mypy under the rules of pyproject.toml."""
from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

HOUSE = Path(__file__).parent.parent


@pytest.fixture
def mypy(request):
    """Runs mypy in this folder; what it remembers lies in pytest's own cache."""
    remembered = request.config.cache.mkdir("mypy")

    def run(*arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run([sys.executable, "-m", "mypy", "--cache-dir", str(remembered), *arguments], cwd=HOUSE, capture_output=True, text=True,
                              check=False)

    return run


def test_the_rooms_are_typed(mypy):
    done = mypy()
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_planted_none_is_found(mypy, tmp_path):
    planted = tmp_path / "planted.py"
    planted.write_text("from layout.room import Wishes\ngap: float = Wishes().gap_mm\n")
    assert 'expression has type "float | None"' in mypy(str(planted)).stdout
