"""Functions run in other processes within limits of memory and time, so that bytes from outside can neither fill nor stop this one.

The processes, their time limit and what happens when one dies are pebble's. An error of ours that was raised over there is raised again
here; whatever else went wrong is told by its kind. Memory is bounded by the system: on Linux with RLIMIT_DATA (getrlimit(2): since Linux
4.7 private writable mappings count too), on macOS and Windows, which have nothing like it, by a look at what is in use several times a
second (psutil), from within.
"""
from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import CancelledError, Future
from concurrent.futures import TimeoutError as TookTooLong
from typing import Any

from pebble import ProcessExpired, ProcessPool

from capture.errors import CaptureError
from desk.problem import JobFileError, Problem
from desk.worker import Replaced
