"""How processes of ours are begun."""
from __future__ import annotations

import multiprocessing
from multiprocessing.context import SpawnContext


def spawn_context() -> SpawnContext:
    """New processes, not forked ones, which would inherit locks that other threads hold; the same on every system.

    A process inherits `sys.path` as it is when it begins, and while OpenCV is being imported its folder stands first
    there, so that `cv2/typing` would be taken for `typing`. It is imported here, before any thread may do so.
    """
    import cv2  # noqa: F401
    return multiprocessing.get_context("spawn")
