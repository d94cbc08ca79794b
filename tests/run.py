"""Runs every test on a machine that has only Python: makes an environment, installs what the tests need, starts pytest.

On Debian it also installs Chromium (the page is tested in a real browser) and opencv-doc (photographs with known
geometry) with apt-get, which needs root. Arguments go to pytest: ``python3 tests/run.py tests/capture -k tape``.
"""
from __future__ import annotations

import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv-tests"
PICTURES = Path("/usr/share/doc/opencv-doc/examples/data/left01.jpg")


def main() -> int:
    missing = [name for name, there in (("chromium", shutil.which("chromium")), ("opencv-doc", PICTURES.exists()))
               if not there]
    if missing and not install_on_debian(missing):
        return 1
    python = ENVIRONMENT / ("Scripts" if os.name == "nt" else "bin") / "python"
    if not python.exists():
        venv.create(ENVIRONMENT, with_pip=True)
    install = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-c", "constraints.txt",
               "-e", ".[test]"]
    if subprocess.run(install, cwd=ROOT).returncode:
        return 1
    return subprocess.run([str(python), "-m", "pytest", *sys.argv[1:]], cwd=ROOT).returncode


def install_on_debian(packages: list[str]) -> bool:
    """Whether the Debian packages are there now; says what to do where they cannot be installed."""
    wanted = " ".join(packages)
    if not shutil.which("apt-get") or os.geteuid() != 0:
        print(f"The tests need the Debian packages {wanted}: run 'apt-get install {wanted}' as root, then this again.",
              file=sys.stderr)
        return False
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    steps = (["apt-get", "update", "-q"], ["apt-get", "install", "-q", "-y", "--no-install-recommends", *packages])
    return all(subprocess.run(step, env=quiet, stdout=subprocess.DEVNULL).returncode == 0 for step in steps)


if __name__ == "__main__":
    sys.exit(main())
