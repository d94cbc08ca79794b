"""Fuzz one aim, or all: ``python -m tests.fuzz.run jobs --seconds 60``; ``all`` gives each its share of the seconds.

Coverage-guided by atheris (libFuzzer), each aim in a process of its own; where atheris has no build for the machine, by
chance alone. An input that breaks a promise, or takes more than ten seconds, is kept in the folder named by --keep and
the exit status is 1; ``python -m tests.fuzz.run jobs --again FILE`` runs it alone, with the trace.
"""
from __future__ import annotations

import argparse
import os
import random
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NoReturn

#: As in `aims.AIMS`, which is not loaded before the fuzzer can watch it.
AIMS = ("lengths", "job_files", "jobs", "whole_ways", "pictures", "polygons", "plans", "days")
#: The rooms an aim leads through: those alone are watched, as loading what is watched takes long.
WATCHED = {"lengths": ["capture"], "job_files": ["capture", "desk"], "jobs": ["capture", "desk"],
           "whole_ways": ["capture", "layout", "printpack", "desk"], "pictures": ["capture"], "polygons": ["layout"],
           "plans": ["layout"], "days": ["layout", "desk"]}
#: An input that takes longer is a finding, s.
SLOWEST_S = 10
#: A process fuzzes so long, s: planning leaves some 7 MB a second behind in atheris.
PROCESS_S = 150


def main() -> int:
    options = _options()
    if options.again:
        from tests.fuzz import aims
        aims.AIMS[options.aim](options.again.read_bytes())
        return 0
    if options.inside:
        _fuzz(options.aim, options.inside)
    names = AIMS if options.aim == "all" else [options.aim]
    options.keep.mkdir(parents=True, exist_ok=True)
    failed = [name for name in names if not run_aim(name, options.seconds / len(names), options.keep, options.seed)]
    print("Findings in: " + ", ".join(failed) if failed else f"No finding in {options.seconds:.0f} s.")
    return 1 if failed else 0


def _options() -> argparse.Namespace:
    asked = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    asked.add_argument("aim", choices=[*AIMS, "all"])
    asked.add_argument("--seconds", type=float, default=60)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--keep", type=Path, default=Path(".fuzz"))
    asked.add_argument("--again", type=Path)
    asked.add_argument("--inside", nargs=argparse.REMAINDER, help=argparse.SUPPRESS)
    return asked.parse_args()


def run_aim(name: str, seconds: float, keep: Path, seed: int) -> bool:
    """Whether one aim ran its time without a finding: process after process, for the fuzzer never gives back what
    comparisons of arrays come to. What one has learnt the next begins with."""
    from tests.fuzz.aims import seeds
    inputs, end = 0, time.monotonic() + seconds
    with tempfile.TemporaryDirectory() as place:
        for number, data in enumerate(seeds(name)):
            (Path(place) / f"seed{number}").write_bytes(data)
        while (left := end - time.monotonic()) > 0.0:
            command = [sys.executable, "-m", "tests.fuzz.run", name, "--inside",
                       f"-max_total_time={max(1, round(min(left, PROCESS_S)))}", f"-timeout={SLOWEST_S}",
                       f"-seed={seed}", "-max_len=4096", "-rss_limit_mb=3000", "-verbosity=0", "-print_final_stats=1",
                       f"-artifact_prefix={keep}/{name}-", place]
            done = subprocess.run(command, capture_output=True, text=True, errors="replace")
            inputs += sum(int(line.rpartition(" ")[2]) for line in done.stderr.splitlines()
                          if "number_of_executed_units" in line)
            if done.returncode and not was_busy(name, done.stderr):
                told = "\n".join(line for line in (done.stdout + done.stderr).splitlines()
                                 if not line.startswith(("INFO", "WARNING", "#")))
                print(f"{name}: {told[-4000:]}", flush=True)
                return False
            seed += 1
    print(f"{name}: {inputs} inputs", flush=True)
    return True


def was_busy(name: str, told: str) -> bool:
    """Whether an input took too long only because the machine had other work: by itself it takes less processor time
    than it may."""
    kept = re.search(r"Test unit written to (\S*-timeout-\S*)", told)
    if kept is None:
        return False
    before = os.times()
    again = subprocess.run([sys.executable, "-m", "tests.fuzz.run", name, "--again", kept[1]], capture_output=True)
    after = os.times()
    took = after.children_user + after.children_system - before.children_user - before.children_system
    if again.returncode or took > SLOWEST_S:
        return False
    Path(kept[1]).unlink()
    print(f"{name}: an input took over {SLOWEST_S} s on this machine, which has other work; alone it takes {took:.1f} "
          "s: no finding.", flush=True)
    return True


def _fuzz(name: str, arguments: list[str]) -> None:
    try:
        import atheris
    except ImportError:
        _by_chance(name, arguments)
    with atheris.instrument_imports(include=WATCHED[name]):
        from tests.fuzz import aims
    atheris.Setup([sys.argv[0], *arguments], aims.AIMS[name])
    atheris.Fuzz()


def _by_chance(name: str, arguments: list[str]) -> NoReturn:
    """The same with bytes of the seeds changed at random, told in libFuzzer's words."""
    from tests.fuzz import aims
    told = dict(argument[1:].split("=", 1) for argument in arguments if argument.startswith("-"))
    chance, known, count = random.Random(int(told["seed"])), aims.seeds(name), 0
    end = time.monotonic() + float(told["max_total_time"])
    while time.monotonic() < end:
        data = bytearray(chance.choice(known))
        for _ in range(chance.randint(1, 8)):
            data[chance.randrange(len(data))] = chance.randrange(256)
        begun = time.monotonic()
        try:
            aims.AIMS[name](bytes(data))
            assert time.monotonic() - begun <= SLOWEST_S, "too slow"
        except BaseException:
            Path(f"{told['artifact_prefix']}crash-{count}").write_bytes(data)
            raise
        count += 1
    print(f"stat::number_of_executed_units: {count}", file=sys.stderr)
    sys.exit(0)


if __name__ == "__main__":
    sys.exit(main())
