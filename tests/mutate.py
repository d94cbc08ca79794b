"""Mutation testing of one module: ``python -m tests.mutate layout/judge/wood.py``; needs cosmic-ray (``pip install
cosmic-ray``).

Every small change its operators know is made to the module, one at a time, and the tests named in AIMS run on it; a
mutant they do not fail on *survives* and is printed. Each runs in a process forked from one that has the libraries
loaded, with the changed source in memory: no file is touched. Operators that put whole-number and bit arithmetic or
identity where lengths are added and compared are left out.

``--part 1/2`` and ``--part 2/2`` share the mutants between two commands.
"""
from __future__ import annotations

import argparse
import difflib
import importlib
import importlib.abc
import importlib.machinery
import importlib.util
import os
import resource
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

HOUSE = Path(__file__).parents[1]
ROOMS = ("capture", "layout", "printpack", "desk", "tests")
JUDGE = ("layout/judge/test_judge_says.py", "layout/judge/test_judge_rules.py", "layout/judge/test_judge_reading.py",
         "layout/judge/test_judge_buying.py", "layout/judge/test_judge_joints.py", "layout/judge/test_judge_limits.py",
         "layout/judge/test_check.py")
#: Tests (under tests/) that are to notice a change to a module.
AIMS: dict[str, tuple[str, ...]] = {"capture/adjustment/least_squares.py": ("capture/adjustment/test_handbook.py",
                                                                            "capture/adjustment/test_least_squares.py"),
                                    "printpack/fullsize/tiles.py": ("printpack/fullsize/test_tiles.py",),
                                    "layout/judge/check.py": JUDGE, "layout/judge/purchases.py": JUDGE,
                                    "layout/judge/floor.py": JUDGE, "layout/judge/joints.py": JUDGE,
                                    "layout/judge/openings.py": ("layout/judge/test_openings.py", *JUDGE),
                                    "layout/judge/rules.py": JUDGE, "layout/judge/wood.py": JUDGE,}
#: A mutant may take so many times the processor time of the module as it is, and so many seconds more; one that takes
#: longer is killed.
SLOWER, LONGER_S = 4, 10
_LEFT_OUT = ("FloorDiv", "Mod", "Pow", "RShift", "LShift", "BitOr", "BitAnd", "BitXor", "Is", "IsNot")


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: the operator's name, the line it changes (from 1), the whole source with it."""

    operator: str
    line: int
    source: str


def main() -> int:
    """Run the mutants; 1 if the tests fail on the module as it is."""
    asked = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    asked.add_argument("module", choices=AIMS)
    asked.add_argument("--part", default="1/1")
    options = asked.parse_args()
    part, parts = map(int, options.part.split("/"))
    source = (HOUSE / options.module).read_text()
    name = options.module.removesuffix(".py").replace("/", ".")
    tests = [str(HOUSE / "tests" / test) for test in AIMS[options.module]]
    mutants = list(mutants_of(source))[part - 1::parts]
    _load(name)
    passed, spent = _run(name, source, tests, 3600)
    if not passed:
        print(f"{options.module}: its tests fail on it as it is")
        return 1
    survivors = 0
    for number, mutant in enumerate(mutants, 1):
        if _run(name, mutant.source, tests, int(SLOWER * spent + LONGER_S))[0]:
            survivors += 1
            print(f"{options.module}:{mutant.line} {mutant.operator}\n{_shown(source, mutant.source)}", flush=True)
        if number % 50 == 0:
            print(f"... {number} of {len(mutants)}, {survivors} survive", flush=True)
    print(f"{options.module} part {options.part}: {len(mutants)} mutants, {survivors} survive "
          f"({survivors / max(len(mutants), 1):.1%})")
    return 0


def mutants_of(source: str) -> Iterator[Mutant]:
    """Every change of the source, operator by operator."""
    import parso
    from cosmic_ray.ast import ast_nodes
    from cosmic_ray.mutating import mutate_code
    from cosmic_ray.plugins import get_operator, operator_names
    tree = parso.parse(source)
    for name in operator_names():
        kind = get_operator(name)
        if kind.arguments() or name.rpartition("_")[2] in _LEFT_OUT:
            continue
        places = [start for node in ast_nodes(tree) for start, _ in kind().mutation_positions(node)]
        for occurrence, (line, _) in enumerate(places):
            changed = mutate_code(source, kind(), occurrence)
            if changed is not None and changed != source:
                yield Mutant(operator=name.rpartition("/")[2], line=line, source=changed)


def _load(name: str) -> None:
    """Libraries the module and its tests need, loaded once for every mutant; our own modules are loaded by each."""
    for library in (name, "pytest", "hypothesis", "scipy.optimize", "scipy.sparse.linalg"):
        importlib.import_module(library)


def _run(name: str, source: str, tests: Sequence[str], most_s: int) -> tuple[bool, float]:
    """(whether the tests pass with this source as the module, processor seconds), in a process of its own."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    child = os.fork()
    if not child:
        _inside(name, source, tests, most_s)
    status = os.waitpid(child, 0)[1]
    return status == 0, resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before


def _inside(name: str, source: str, tests: Sequence[str], most_s: int) -> None:
    """In the forked process: what is ours is loaded anew, the module from this source; never returns."""
    resource.setrlimit(resource.RLIMIT_CPU, (most_s, most_s))
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    for known in [known for known in sys.modules if known.partition(".")[0] in ROOMS]:
        del sys.modules[known]
    sys.meta_path.insert(0, _Changed(name, source))
    try:
        import pytest
        os._exit(int(pytest.main(["-x", "-q", "--assert=plain", "-p", "no:cacheprovider", *tests])))
    except BaseException:  # whatever a mutant does, it is told by the status alone
        os._exit(1)


class _Changed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives one module from a source in memory."""

    def __init__(self, name: str, source: str) -> None:
        self.name, self.source = name, source

    def find_spec(self, fullname: str, path: object = None,
                  target: object = None) -> importlib.machinery.ModuleSpec | None:
        return importlib.util.spec_from_loader(fullname, self) if fullname == self.name else None

    def exec_module(self, module: ModuleType) -> None:
        exec(compile(self.source, f"<{self.name}, changed>", "exec"), module.__dict__)


def _shown(before: str, after: str) -> str:
    """The lines that differ."""
    differing = list(difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm=""))[2:]
    return "\n".join(f"    {line}" for line in differing if not line.startswith("@@"))


if __name__ == "__main__":
    sys.exit(main())
