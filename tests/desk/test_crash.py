"""A desk killed while it saves, and saves from many windows: the file is an old job or a new one, never something
between, and no save that was acknowledged is lost.

Killing the process stands for the crash. What a disk does with a flushed file in a power cut is the system's promise
(POSIX, fsync and rename) and cannot be tested here.
"""
from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor

from desk.jobfile.files import parse_job, read_job, write_job
from desk.store.job_store import JobKeeper, Overtaken
from desk.jobfile.save import STALE_S

KILLS = 200
#: Forks a process that saves one job after another and says which is safe, kills it at some moment, and looks at the
#: file; again and again.
KILLER = """
import json, os, random, signal, sys, time
from pathlib import Path
from desk.jobfile.files import parse_job, read_job, write_job

folder, dice = Path(sys.argv[1]), random.Random(8)
for _ in range(int(sys.argv[2])):
    told, tell = os.pipe()
    saver = os.fork()
    if saver == 0:
        tree = read_job(folder).tree()
        while True:
            tree["tape"][0]["mm"] += 1
            write_job(folder, parse_job(tree))
            os.write(tell, b"%d\\n" % tree["tape"][0]["mm"])
    os.close(tell)
    safe = os.read(told, 1 << 16)
    time.sleep(dice.uniform(0.0, 0.02))
    os.kill(saver, signal.SIGKILL)
    os.waitpid(saver, 0)
    while more := os.read(told, 1 << 16):
        safe += more
    os.close(told)
    job = read_job(folder)
    print(json.dumps([int(safe.split()[-1]), job.tapes[0].length_mm, len(job.photos[0].marks)]), flush=True)
"""


def test_a_desk_killed_during_a_save_two_hundred_times_loses_nothing(tmp_path):
    folder = tmp_path / "job"
    marks = [{"point": f"P{k}", "x": k, "y": k} for k in range(400)]
    write_job(folder, parse_job({"outline": ["A", "B", "C"], "tape": [{"between": ["A", "B"], "mm": 1000}],
                                 "photos": [{"file": "photos/1.jpg", "size": [4000, 3000], "marks": marks}]}))
    done = subprocess.run([sys.executable, "-c", KILLER, str(folder), str(KILLS)], capture_output=True, text=True,
                          check=True)
    told = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(told) == KILLS and done.stderr == ""
    for safe, held, marked in told:
        assert (
            held in (safe, safe + 1) and marked == 400
        )  # a save may have reached the disk before it could be acknowledged
    # What the kills left behind harms nothing, and is swept away once it is old.
    left = [path for path in folder.iterdir() if path.name != "job.json"]
    assert left and all(path.name.startswith(".job.json.") and path.suffix == ".part" for path in left)
    for path in left[1:]:
        os.utime(path, (time.time() - STALE_S - 1,) * 2)
    JobKeeper(folder).open_or_start()
    assert sorted(path.name for path in folder.iterdir()) == sorted([left[0].name, "job.json"])


def test_windows_that_save_at_once_lose_no_acknowledged_save(tmp_path):
    """Eight windows add lengths to one job, each again from the newest when it was overtaken: every length is there
    in the end, once."""
    keeper = JobKeeper(tmp_path / "job")
    keeper.open_or_start()

    def window(number: int) -> None:
        for k in range(6):
            while True:
                tree, revision = keeper.load()
                try:
                    keeper.save(tree | {"tape": [*tree["tape"], {"between": [f"A{number}", f"B{k}"], "mm": 1000 + k}]},
                                revision=revision)
                    break
                except Overtaken:
                    continue
    with ThreadPoolExecutor(8) as windows:
        list(windows.map(window, range(8)))
    tapes = read_job(keeper.folder).tapes
    assert sorted(tape.between for tape in tapes) == sorted((f"A{n}", f"B{k}") for n in range(8) for k in range(6))
