"""Wrong values, one at a time, in everything that may come from elsewhere: does a traceback, a long wait, a file
outside, or a changed answer follow?

Usage: python -m tests.bench.desk.run_foreign [how many, 0: all] [seed] [seconds]

Walked are a job (tape, photos, floor given, flooring, islands, doors, pipes), the plan kept in a job (with `kept`), a
log of the day with a revision in force, and a house file. Every leaf (and every list and object on the way) takes each
of twelve wrong values in turn and is then taken out; of all these so many are tried, drawn with the seed, every kind of
key before another of the same, in the ways that read it: `check`, `plan --json` and `pack` (the job, the kept plan),
`day` without words (the log), `house`. A plan is changed in three ways: as it stands, with digests made afresh
(forged), and with none (as of another program). Each runs in a folder of its own beside a file that must stay, in a
process forked with the libraries loaded.

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
import copy
import datetime
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
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from desk.cli import main
from desk.actions.day import tell
from desk.commands.day_parser import read_words
from desk.jobfile.digests import with_digests
from desk.jobfile.files import parse_job
from desk.actions.kept_plan import with_plan
from desk.actions.pipeline import plan_job, survey_job

JOBS = Path(__file__).parents[2] / "data" / "jobs" / "v1"
DAY = datetime.date(2026, 3, 5)
LIMIT_S = 10
#: Twelve wrong values for any place; which of them are wild as a figure is told by `_is_wild`.
WRONG: tuple[Any, ...] = (None, [], {}, "", -1, 0, 1e30, 0.5, "nan", "x" * 5000, "../../../victim/keep",
                          "a\u0000\u001b[2J")
GONE = object()
#: Words of a plan that only its maker can vouch for.
WORDS = ("bound", "bound_by", "proven", "choices", "reasons", "notes", "relaxed", "profiles", "kept")


@dataclass(frozen=True, slots=True)
class Case:
    """A tree, the way to a place in it, the value to go there, how it is run and sealed."""

    kind: str
    tree: Any
    way: tuple[str | int, ...]
    value: Any
    seal: str = ""

    @property
    def name(self) -> str:
        return (f"{self.kind} {self.seal} {'.'.join(map(str, self.way))} = "
                f"{'(taken out)' if self.value is GONE else json.dumps(self.value)[:40]}")

    def made(self) -> Any:
        tree = copy.deepcopy(self.tree)
        inside = tree
        for key in self.way[:-1]:
            inside = inside[key]
        if self.value is GONE:
            del inside[self.way[-1]]
        else:
            inside[self.way[-1]] = self.value
        if self.seal == "forged":
            with contextlib.suppress(AttributeError, TypeError):
                tree["plan"] = with_digests(tree["plan"])
        return tree


def places(tree: Any, way: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """The way to every value under a tree."""
    if way:
        yield way
    items = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for key, value in items:
        yield from places(value, (*way, key))


def small_job() -> dict[str, Any]:
    """A floor given as coordinates with all that can stand on it, planned in a moment."""
    return {"format": "tapegroove-job", "version": 1, "title": "Box room (invented)", "date": "2026-03-05",
            "show": "metric", "floor": {"outline": [[0, 0], [2600, 0], [2600, 1900], [0, 1900]],
                                        "holes": [[[900, 700], [1200, 700], [1200, 1000], [900, 1000]]]},
            "pipes": [{"name": "P1", "diameter": 15, "at": [2300, 60]}],
            "doors": [{"name": "D1", "wall": ["A", "B"], "from": 300, "width": 762, "reveal": 110}],
            "flooring": {"board": {"length": 1285, "width": 192, "thickness": 8, "pack": 8}, "kerf": 3, "gap": 10,
                         "stock": [{"length": 640, "keeps": ["left"]}]}}


def kept_job() -> dict[str, Any]:
    job = parse_job(small_job())
    survey = survey_job(job, {})
    return json.loads(with_plan(job, survey, plan_job(job, survey, effort="preview"), on=DAY).text)


def day_job() -> dict[str, Any]:
    """The same with rows down, an offcut lost and a reading to the far wall: a revision is in force."""
    job = parse_job(kept_job())
    lost = next(offcut["label"] for offcut in job.data["plan"]["offcuts"] if offcut["used_by"])
    for said in ("row 1 done", f"offcut {lost} gone", "2 boards spoiled", "row 1 to wall left 1690 mm right 1690 mm",
                 "row 2 done"):
        job = tell(job, read_words(said.split(), show="metric"), said, on=DAY).job
    tree = json.loads(job.text)
    if "day" not in tree["plan"]:
        raise SystemExit("no revision is in force: the log of the day is no longer walked as it should be")
    return tree


def house() -> dict[str, Any]:
    return {"format": "tapegroove-house", "version": 1, "title": "House (invented)", "rooms": ["kitchen", "hall"],
            "doorways": [{"rooms": ["kitchen", "hall"], "doors": ["D1", "D2"], "laid": "through", "thickness": 120}],
            "direction": "auto"}


def room(door: str, wall: list[str]) -> dict[str, Any]:
    tree = small_job()
    return {key: tree[key] for key in ("floor", "flooring")} | {
        "doors": [{"name": door, "wall": wall, "from": 300, "width": 762, "reveal": 60}]}


def cases() -> list[Case]:
    kept, day = kept_job(), day_job()
    trees: list[tuple[str, Any, str, Any]] = [
        ("job", small_job(), "", None), ("tape", json.loads((JOBS / "box.json").read_text()), "", None),
        ("photos", json.loads((JOBS / "photos.json").read_text()), "", None), ("house", house(), "", None),
        ("plan", kept, "", "plan"), ("plan", kept, "forged", "plan"), ("plan", _without_digests(kept), "none", "plan"),
        ("day", day, "", "day"), ("day", day, "", "plan"), ("day", day, "forged", "plan")]
    found = []
    for kind, tree, seal, top in trees:
        for way in places(tree):
            if top is None or way[0] == top:
                found += [Case(kind, tree, way, value, seal) for value in (*WRONG, GONE)]
    return found


def _without_digests(tree: dict[str, Any]) -> dict[str, Any]:
    tree = copy.deepcopy(tree)
    del tree["plan"]["digests"], tree["plan"]["kept"]["digest"]
    return tree


def commands(kind: str, folder: Path) -> list[list[str]]:
    match kind:
        case "house":
            return [["house", str(folder), "--json"]]
        case "plan":
            return [["plan", str(folder), "--json"], ["pack", str(folder)]]
        case "day":
            return [["day", str(folder), "--json"], ["pack", str(folder)]]
        case _:
            return [["check", str(folder)], ["plan", str(folder), "--json"], ["pack", str(folder)]]


def put(kind: str, tree: Any, folder: Path) -> None:
    folder.mkdir(parents=True)
    (folder.parent / "victim").mkdir()
    (folder.parent / "victim" / "keep.svg").write_text("kept")
    if kind == "house":
        (folder / "house.json").write_text(json.dumps(tree))
        for name, inside in (("kitchen", room("D1", ["A", "B"])), ("hall", room("D2", ["C", "D"]))):
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
    nobodys = case.way[0] == "plan"
    if nobodys and case.seal in ("forged", "none") and case.way[1] in WORDS:
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


def load() -> None:
    """Load every library once, so that the processes forked from this one need not."""
    with tempfile.TemporaryDirectory() as place, contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(
            io.StringIO()):
        for kind, tree in (("house", house()), ("day", day_job()),
                           ("tape", json.loads((JOBS / "box.json").read_text()))):
            folder = Path(place) / kind / "job"
            put(kind, tree, folder)
            for words in commands(kind, folder):
                main(words)


def _is_wild(value: Any) -> bool:
    return (
        value in (1e30, -1)
        if isinstance(value, (int, float))
        else isinstance(value, str) and (len(value) > 100 or "\u0000" in value)
    )


def bench(count: int, seed: int, seconds: float) -> int:
    every = spread_out(cases(), random.Random(seed))
    load()
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
    numbers = [float(word) for word in sys.argv[1:]] + [300.0, 1.0, 600.0][len(sys.argv) - 1:]
    sys.exit(bench(int(numbers[0]), int(numbers[1]), numbers[2]))
