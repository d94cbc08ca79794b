"""Does a release install and run? ``python tests/release.py [PYTHON ...]`` builds wheel and sdist, then gives the wheel
to each Python in a new environment (this one if none is named), runs the demo there and tells how long the help takes.

Needs the extra `release`. By hand before a release, not in the tests: every environment fetches some 150 MB.
"""
from __future__ import annotations

import hashlib
import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def main() -> int:
    with tempfile.TemporaryDirectory() as place:
        dist = Path(place) / "dist"
        subprocess.run([sys.executable, "-m", "build", "--outdir", str(dist), str(ROOT)], check=True,
                       stdout=subprocess.DEVNULL)
        for built in sorted(dist.iterdir()):
            print(f"{built.name}: {built.stat().st_size / 1e6:.1f} MB")
        (wheel,) = dist.glob("*.whl")
        booklets = {try_on(python, wheel, Path(place) / f"env{k}")
                    for k, python in enumerate(sys.argv[1:] or [sys.executable])}
    print("booklets are the same to the byte" if len(booklets) == 1 else "BOOKLETS DIFFER")
    return len(booklets) != 1


def try_on(python: str, wheel: Path, place: Path) -> str:
    """Install the wheel for one Python, run the demo; returns the booklet's digest."""
    subprocess.run([python, "-m", "venv", str(place)], check=True)
    programs = place / ("Scripts" if os.name == "nt" else "bin")
    subprocess.run([str(programs / "python"), "-m", "pip", "install", "-q", "--disable-pip-version-check", "-c",
                    str(ROOT / "constraints.txt"), str(wheel)], check=True)
    command = str(programs / "tapegroove")
    subprocess.run([command, "demo", str(place / "demo")], check=True, cwd=place, stdout=subprocess.DEVNULL)
    digest = hashlib.sha256((place / "demo" / "pack" / "booklet.pdf").read_bytes()).hexdigest()
    seconds = min(help_seconds(command, place) for _ in range(5))
    print(f"{python}: demo done, booklet {digest[:12]}, help in {seconds:.2f} s of CPU")
    return digest


def help_seconds(command: str, place: Path) -> float:
    """CPU seconds of one ``tapegroove --help``."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([command, "--help"], check=True, cwd=place, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


if __name__ == "__main__":
    sys.exit(main())
