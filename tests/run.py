"""Runs the tests on a machine that has only Python: makes an environment, installs what they need, starts pytest on
every core.

    python3 tests/run.py                        every test
    python3 tests/run.py quick                  what takes a minute on two cores; the last line says what that left out
    python3 tests/run.py whole                  every test, and none may be left out: for a release
    python3 tests/run.py tests/capture -k tape  other arguments go to pytest

The page is tested in a real browser, and photographs with known geometry come from the Debian package opencv-doc. What
is there is taken. What is not, apt-get installs (Debian, as root); a browser, Playwright's own installer too. Tests
that still lack something are left out, and the last lines name them and say why.
"""
from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from tests.support import needs  # noqa: E402
from tests.support.quick import SLOW  # noqa: E402

ENVIRONMENT = ROOT / ".venv-tests"
PYTHON = ENVIRONMENT / ("Scripts" if os.name == "nt" else "bin") / "python"
#: What was installed: the files that say what to install, for this Python and this folder.
STAMP = ENVIRONMENT / "installed"
#: Every worker reads all tests before the first: more than these would mostly do that.
MOST_WORKERS = 8
#: Arguments that say how tests are spread, or that ask for one process.
ALONE = ("-n", "--numprocesses", "--dist", "--pdb", "--trace", "-s", "--capture=no", "--collect-only", "--co",
         "--fixtures", "--markers")


def main() -> int:
    mode, asked = (sys.argv[1], sys.argv[2:]) if sys.argv[1:2] in (["quick"], ["whole"]) else ("", sys.argv[1:])
    if not install():
        return 1
    variables, lacking = dict(os.environ), {}
    if mode != "quick":
        variables["CHROMIUM"], lacking["browser"] = browser()
    lacking["photographs"] = photographs(fetch=mode != "quick")
    lacking = {marker: why for marker, why in lacking.items() if why}
    if mode == "whole" and lacking:
        print(*(f"Some tests cannot run: {why}." for why in lacking.values()), sep="\n", file=sys.stderr)
        return 1
    left_out = told_left_out(lacking, asked, variables) if lacking else []
    skipped = [f"--{'deselect' if '::' in path else 'ignore'}={path}" for path in SLOW if mode == "quick"]
    status = pytest([*spread(asked), *skipped, *asked, *without(lacking, asked)], variables).returncode
    if mode == "quick":
        left_out.append(f"Quick: left out {', '.join(SLOW)}. They run with 'python3 tests/run.py'.")
    if left_out:
        print("", *left_out, sep="\n", flush=True)
    return status


def install() -> bool:
    """Whether the environment holds what the project and its tests ask for; nothing is done where that has not
    changed."""
    asked = hashlib.sha256()
    for part in (sys.version, str(ROOT), *((ROOT / name).read_text("utf-8")
                                           for name in ("pyproject.toml", "constraints.txt"))):
        asked.update(part.encode())
    if PYTHON.exists() and STAMP.exists() and STAMP.read_text() == asked.hexdigest():
        return True
    if not PYTHON.exists():
        venv.create(ENVIRONMENT, with_pip=True)
    pip = [str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-c", "constraints.txt", "-e",
           ".[test]"]
    if subprocess.run(pip, cwd=ROOT).returncode:
        return False
    STAMP.write_text(asked.hexdigest())
    return True


def browser() -> tuple[str, str]:
    """(browser to test with, "") or ("", why there is none)."""
    whys = []
    for fetch in (lambda: "", lambda: needs.fetch_by_debian(["chromium"])):
        why = fetch()
        whys += [why] if why else []
        for path in needs.browsers():
            found, why = needs.start_browser(str(PYTHON), path)
            if found:
                return found, ""
            whys.append(why)
        if needs.browsers() and os.environ.get("CHROMIUM"):
            return "", whys[-1]
    found, why = needs.fetch_by_playwright(str(PYTHON))
    if found:
        return found, ""
    told = "; ".join(dict.fromkeys([*whys, why]))
    return "", (f"no Chromium, Chrome or Edge to test the page with ({told}); install one, or name one in the variable "
                "CHROMIUM")


def photographs(*, fetch: bool) -> str:
    """Why there are no photographs, "" where they are."""
    if needs.photographs():
        return ""
    why = needs.fetch_by_debian(["opencv-doc"]) if fetch else "quick fetches nothing"
    return "" if needs.photographs() else (f"no photographs of the Debian package opencv-doc in {needs.PHOTOGRAPHS} "
                                           f"({why or 'it does not hold them'})")


def spread(asked: list[str]) -> list[str]:
    """Over the cores, unless the arguments say otherwise. Neighbours stay together, so that what a module shares is
    mostly made once."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    if cores < 2 or any(argument.startswith(ALONE) for argument in asked):
        return []
    return ["-n", str(min(cores, MOST_WORKERS)), "--dist", "worksteal"]


def without(lacking: dict[str, str], asked: list[str]) -> list[str]:
    """The arguments that leave out what lacks something; what was asked by -m holds too."""
    if not lacking:
        return []
    chosen = asked[len(asked) - asked[::-1].index("-m")] if "-m" in asked[:-1] else ""
    return ["-m", " and ".join([*([f"({chosen})"] if chosen else []), *(f"not {marker}" for marker in lacking)])]


def told_left_out(lacking: dict[str, str], asked: list[str], variables: dict[str, str]) -> list[str]:
    """A line for each thing that lacks and one for each file with tests that are left out for it."""
    lines = []
    for marker, why in lacking.items():
        done = pytest([*asked, "--collect-only", "-q", "-m", marker], variables, capture_output=True, text=True)
        files = [line for line in done.stdout.splitlines() if line.startswith("tests/")
                 and line.rpartition(": ")[2].isdigit()]
        if files:
            count = sum(int(line.rpartition(": ")[2]) for line in files)
            lines += [f"Left out {count} tests: {why}.", *(f"  {line}" for line in files)]
    return lines


def pytest(arguments: list[str], variables: dict[str, str], **more: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run([str(PYTHON), "-m", "pytest", *arguments], cwd=ROOT, env=variables, **more)


if __name__ == "__main__":
    sys.exit(main())
