"""Every bench, one after another: ``python -m tests.bench.run_all [short|full]``. Short takes some minutes and shows
that all of them run; full takes the counts RESULTS.md was taken with, several hours. A bench that fails is named at the
end, and the others still run.

`run_resolve` wants CasADi (`pip install casadi`), which the tests do not need; `run_desk` and `run_newcomer` want
Chromium.
"""
from __future__ import annotations

import subprocess
import sys
import tempfile
import time

#: (bench, arguments short, arguments full)
BENCHES = (("capture.run_capture", "6 5000", "100 5000"), ("capture.run_starts", "12 0", "2000 40000"),
           ("capture.run_next", "1 0", "12 0"), ("capture.run_resolve", "5", "100"),
           ("capture.run_closeup", "4 4 4", "300 300 100"), ("layout.run_layout", "0 6", "0 210"),
           ("layout.run_mixed", "4", "60"), ("layout.run_second", "2 20 3", "10 60 40"),
           ("layout.run_judge", "0 10", "0 10000"), ("layout.run_beading", "5", "60"),
           ("layout.run_flats", "0 3", "0 60"),
           ("printpack.run_pictures", "2", "200"), ("printpack.run_pack", "speed", "speed"),
           ("printpack.run_scale", "", ""), ("desk.run_day", "2", "500"), ("desk.run_day_logs", "5", "10000"),
           ("desk.run_day_kills", "5", "1000"), ("desk.run_desk", "", ""),
           ("desk.run_newcomer", "{folder}", "{folder}"),
           ("desk.run_many", "trouble 20 --effort preview --seconds 20", "trouble 200"),
           ("desk.run_many", "speed 20 --effort preview", "speed 1000"),
           ("desk.run_siege", "--seconds 5 --kills 10", ""),
           ("desk.run_foreign", "60 1 120", "0 1 36000"))


def main() -> int:
    is_full = sys.argv[1:] == ["full"]
    failed = []
    with tempfile.TemporaryDirectory() as folder:
        for name, short, full in BENCHES:
            words = (full if is_full else short).format(folder=folder).split()
            print(f"== {name} {' '.join(words)}", flush=True)
            begun = time.perf_counter()
            if subprocess.run([sys.executable, "-m", f"tests.bench.{name}", *words], check=False).returncode:
                failed.append(name)
            print(f"-- {time.perf_counter() - begun:.0f} s", flush=True)
    print("All benches ran." if not failed else f"Failed: {', '.join(failed)}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
