"""Wrong values, one at a time, in everything that may come from elsewhere: does a traceback, a long wait, a file
outside, or a changed answer follow?

Usage: python -m tests.bench.desk.run_foreign [how many, 0: all] [seed] [seconds] [KEY,...]

Walked are jobs (tape, photos, a sketch, places put by hand, close-ups, floor given, flooring, islands, doors, pipes, a
floor of a flat; `tests.support.foreign_trees`), the plan kept in a job (with `kept`; rows along a wall and slanted,
with an offcut of another floor), the answer of `plan --json` put into a job by hand, a log of the day with a revision
in force, and house files; where keys are named, only places at or under one of these. Every leaf (and every
list and object on the way) takes each of twelve wrong values in turn and is then taken out; of all these so many are
tried, drawn with the seed, every kind of key before another of the same, in the ways that read it: `check`,
`plan --json` and `pack` (the job, the kept plan), `day` without words (the log), `house`. A plan is changed in three
ways: as it stands, with digests made afresh (forged), and with none (as of another program). Each runs in a folder of
its own beside a file that must stay, in a process forked with the libraries loaded; what is solved, planned or packed
just as the sound one is taken from there.

Counted are
- traceback: anything but exit status 0, 1 or 2, a trace, or "a fault of ours";
- slow: more than ten seconds of processor time;
- outside: any file of the case's folder but the job's pack, floors or revision is new, gone or changed;
- silent: the answer (plan --json, the cut list, where the day stands) is another one, exit status 0, and stderr says
  nothing of it. Only figures nobody typed can be changed in silence: a key of the kept plan, of `kept` or of
  `plan.day`. What a person types into a job (a length, a name, an entry of the log) may change the answer, that is what
  it is for; there a wrong value is silent where it lies outside any range (1e30, -1 for a length) and the job is done
  as if it was sound, which the bench counts too: exit status 0 with the wild value used.

It does not claim that every combination of two wrong values is met, nor that who forges digests on purpose is found
out: of a forged plan the bound, the other ways of laying and the reasons are believed (they are counted apart as
`forged words`). Baseline: the version before plans were read as foreign had tracebacks, hangs, silent changes and
writes outside in each of these.
"""
from __future__ import annotations

import contextlib
import hashlib
import io
import json
import os
import random
import resource
import signal
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import Any

import capture.solve
import layout.planning.planner
import printpack.outputs.pack
from desk.cli import main
from tests.support import solved
from tests.support.foreign_trees import (
    closeup_job, day_job, drawn_job, floor_of_a_flat, house, house_along, house_rooms, keep, kept_in_a_flat,
    slanted_job, small_job, stored, told_job, with_spare, without_digests)
from tests.support.wrong_values import GONE, WRONG, Case, places

LIMIT_S = 10
#: Words of a plan that only its maker can vouch for; which floor of a flat takes an offcut is not this floor's to tell.
WORDS = frozenset({"bound", "bound_by", "proven", "choices", "reasons", "notes", "relaxed", "profiles", "kept"})
TOLD_OF_OFFCUTS = frozenset({"goes_to", "pencilled"})


def cases() -> list[Case]:
    kept, slanted, day = with_spare(keep(small_job()), pencilled="9.9"), keep(slanted_job()), day_job()
    flat = kept_in_a_flat()
    told = told_job(slanted_job())
    trees: list[tuple[str, Any, str, Any]] = [
        ("job", small_job(), "", None), ("slanted", slanted_job(), "", None), ("tape", stored("box"), "", None),
        ("drawn", drawn_job(), "", None), ("closeups", closeup_job(), "", None), ("photos", stored("photos"), "", None),
        ("house", house(), "", None), ("house along", house_along(), "", None), ("flat", floor_of_a_flat(), "", None),
        ("plan flat", flat, "", "plan"), ("plan flat", flat, "forged", "plan"),
        ("plan flat", without_digests(flat), "none", "plan"), ("plan", kept, "", "plan"),
        ("plan", kept, "forged", "plan"), ("plan", without_digests(kept), "none", "plan"),
        ("plan slanted", slanted, "", "plan"), ("plan slanted", slanted, "forged", "plan"),
        ("plan told", told, "none", "plan"), ("day", day, "", "day"), ("day", day, "", "plan"),
        ("day", day, "forged", "plan")]
    found = []
    for kind, tree, seal, top in trees:
        for way in places(tree):
            if top is None or way[0] == top:
                found += [Case(kind, tree, way, value, seal) for value in (*WRONG, GONE)]
    return found


def commands(kind: str, folder: Path) -> list[list[str]]:
    match kind:
        case "house" | "house along":
            return [["house", str(folder), "--json"]]
        case "plan" | "plan slanted" | "plan told" | "plan flat":
            return [["plan", str(folder), "--json"], ["pack", str(folder)]]
        case "day":
            return [["day", str(folder), "--json"], ["pack", str(folder)]]
        case _:
            return [["check", str(folder)], ["plan", str(folder), "--json"], ["pack", str(folder)]]


def put(kind: str, tree: Any, folder: Path) -> None:
    folder.mkdir(parents=True)
    (folder.parent / "victim").mkdir()
    (folder.parent / "victim" / "keep.svg").write_text("kept")
    if kind.startswith("house"):
        (folder / "house.json").write_text(json.dumps(tree))
        for name, inside in house_rooms().items():
            (folder / name).mkdir()
            (folder / name / "job.json").write_text(json.dumps(inside))
    else:
        (folder / "job.json").write_text(json.dumps(tree))


def answer_of(kind: str, folder: Path, said: str) -> str:
    """What a person gets: the answer in JSON, where 0 is as good as 0.0, and the cut list."""
    with contextlib.suppress(ValueError):
        said = json.dumps(json.loads(said, parse_int=float))
    cuts = folder / "pack" / "cuts.csv"
    told = hashlib.sha256(cuts.read_bytes()).hexdigest() if cuts.exists() else ""
    return said + told


def stray(folder: Path) -> list[str]:
    """Files that nothing should have made, or that are gone or changed."""
    found = {path.relative_to(folder.parent).as_posix() for path in folder.parent.rglob("*") if path.is_file()}
    allowed = {name for name in found if name.split("/")[0] == folder.name}
    odd = sorted(found - allowed - {"victim/keep.svg", "told"})
    keep = folder.parent / "victim" / "keep.svg"
    return odd + ([] if keep.exists() and keep.read_text() == "kept" else ["victim/keep.svg"])


def run(kind: str, tree: Any) -> dict[str, Any]:
    """One case in a process of its own: exit statuses, what was said, the answer, processor time, strays."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "job"
        put(kind, tree, folder)
        child = os.fork()
        if child == 0:
            _work(kind, folder, Path(place) / "told")
        _, status, used = os.wait4(child, 0)
        told = (
            json.loads((Path(place) / "told").read_text())
            if (Path(place) / "told").exists()
            else {"statuses": [], "err": "", "out": ""}
        )
        return told | {"slow": os.WIFSIGNALED(status), "odd": stray(folder),
                       "answer": answer_of(kind, folder, told["out"]), "seconds": used.ru_utime + used.ru_stime}


def _work(kind: str, folder: Path, told: Path) -> None:
    resource.setrlimit(resource.RLIMIT_CPU, (3 * LIMIT_S, 3 * LIMIT_S))
    signal.signal(signal.SIGXCPU, signal.SIG_DFL)
    out, err, statuses = io.StringIO(), io.StringIO(), []
    try:
        for words in commands(kind, folder):
            with contextlib.redirect_stdout(out if "--json" in words
                                            else io.StringIO()), contextlib.redirect_stderr(err):
                before = time.process_time()
                statuses.append(main(words))
                if time.process_time() - before > LIMIT_S:
                    os.kill(os.getpid(), signal.SIGXCPU)
    except BaseException as error:
        err.write(f"Traceback {type(error).__name__}: {error}")
        statuses.append(-1)
    told.write_text(json.dumps({"statuses": statuses, "err": err.getvalue(),
                                "out": out.getvalue().replace(str(folder), "")}))
    os._exit(0)


def verdict(case: Case, sound: dict[str, Any], got: dict[str, Any]) -> str:
    if got["slow"]:
        return "slow"
    if not got["statuses"] or not set(got["statuses"]) <= {0, 1,
                                                           2} or "Traceback" in got["err"] or "a fault of ours" in got[
            "err"]:
        return "traceback"
    if got["odd"]:
        return "outside"
    if any(got["statuses"]) or got["answer"] == sound["answer"] or got["err"] != sound["err"]:
        return "fine"
    if case.way == ("plan",) and (case.value is None or case.value is GONE):
        return "typed"  # a job without a plan is another job, and a sound one
    nobodys = case.way[0] == "plan"
    words = (case.way[1:2] and case.way[1] in WORDS) or TOLD_OF_OFFCUTS & set(case.way)
    if nobodys and case.seal in ("forged", "none") and words:
        return "forged words"
    return "silent" if nobodys or _is_wild(case.value) else "typed"


def spread_out(every: list[Case], draws: random.Random) -> list[Case]:
    """All cases in an order that meets every kind of key early: lists of hundreds of like entries take their turn
    with the rest."""
    kinds: dict[tuple[str, ...], list[Case]] = {}
    for case in every:
        kinds.setdefault((case.kind, case.seal, *("[]" if isinstance(key, int) else key for key in case.way)),
                         []).append(case)
    groups = list(kinds.values())
    for group in groups:
        draws.shuffle(group)
    ordered = []
    while groups:
        draws.shuffle(groups)
        ordered += [group.pop() for group in groups]
        groups = [group for group in groups if group]
    return ordered


def solve_once() -> None:
    """The same network, room or pack is worked out once in this process and those forked from it: all three are
    pure."""
    capture.solve.solve_floor = solved._solved
    layout.planning.planner.plan_floor = solved._planned
    printpack.outputs.pack.make_pack = solved.once(printpack.outputs.pack.make_pack)


def run_here(kind: str, tree: Any) -> None:
    """Run a sound tree in this very process, so that the processes forked from it find libraries loaded, and solved
    and printed what is as it was. Stops the bench for a tree that is refused: nothing would be walked then."""
    err = io.StringIO()
    with tempfile.TemporaryDirectory() as place, contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(
            err):
        folder = Path(place) / "job"
        put(kind, tree, folder)
        statuses = [main(words) for words in commands(kind, folder)]
    if any(statuses):
        raise SystemExit(f"the sound {kind} is refused, so walking it shows nothing: {err.getvalue()}")


def _is_wild(value: Any) -> bool:
    return (
        value in (1e30, -1)
        if isinstance(value, (int, float))
        else isinstance(value, str) and (len(value) > 100 or "\u0000" in value)
    )


def bench(count: int, seed: int, seconds: float, keys: frozenset[str] = frozenset()) -> int:
    solve_once()
    every = spread_out([case for case in cases() if not keys or keys & set(case.way)], random.Random(seed))
    sound: dict[tuple[str, int], dict[str, Any]] = {}
    found: Counter[tuple[str, str]] = Counter()
    bad: list[str] = []
    until = time.monotonic() + seconds
    tried = 0
    for case in every[:count or None]:
        if time.monotonic() > until:
            break
        key = (case.kind, id(case.tree))
        if key not in sound:
            run_here(case.kind, case.tree)
            sound[key] = run(case.kind, case.tree)
        told = verdict(case, sound[key], run(case.kind, case.made()))
        tried += 1
        found[f"{case.kind} {case.seal}".strip(), told] += 1
        if told not in ("fine", "typed", "forged words"):
            bad.append(f"{told}: {case.name}")
            print(bad[-1], flush=True)
    print(f"{tried} of {len(every)} tried, seed {seed}")
    for (kind, told), times in sorted(found.items()):
        print(f"  {kind:14} {told:14} {times}")
    return 1 if bad else 0


if __name__ == "__main__":
    *numbers, keys = [float(word) for word in sys.argv[1:4]] + [300.0, 1.0, 600.0][len(sys.argv) - 1:] + [
        frozenset(sys.argv[4].split(",") if len(sys.argv) > 4 else ())]
    sys.exit(bench(int(numbers[0]), int(numbers[1]), numbers[2], keys))
