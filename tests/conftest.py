"""Makes the simulator of the benches importable by tests under one clear name, and numpy use one thread, as the command does."""
import os
import sys
from pathlib import Path
from types import ModuleType

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def _load_benches() -> None:
    folder = Path(__file__).parent / "bench"
    package = ModuleType("tests_bench")
    package.__path__ = [str(folder)]
    sys.modules["tests_bench"] = package


_load_benches()
