"""Processes are begun with the search path of the program, not with the one OpenCV has while it is being imported.

Python's multiprocessing hands `sys.path` to a new process ("Contexts and start methods" and `multiprocessing.spawn` of
its library reference); OpenCV's loader puts its own folder there for a while.
"""
from __future__ import annotations

import subprocess
import sys

PROGRAM = """
import importlib, sys, threading

inside, go_on = threading.Event(), threading.Event()
really = importlib.import_module

def held_up(name, package=None):
    if name == "cv2":  # the loader asks for OpenCV's own extension, with its folder on the path
        inside.set()
        go_on.wait()
    return really(name, package)

before = list(sys.path)
importlib.import_module = held_up
threading.Thread(target=__import__, args=("cv2",)).start()
inside.wait()
assert sys.path != before, "the loader has changed the path"
from desk.spawning import spawn_context
threading.Timer(0.5, go_on.set).start()
spawn_context()
assert sys.path == before, sys.path
print("as before")
"""


def test_a_process_begun_while_opencv_is_imported_gets_the_programs_own_path() -> None:
    done = subprocess.run([sys.executable, "-c", PROGRAM], capture_output=True, text=True, timeout=120)
    assert (done.returncode, done.stdout, done.stderr) == (0, "as before\n", "")
