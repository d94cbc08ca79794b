"""The command that runs the tests: what it leaves out is there to be left out, and what is asked of pytest stays
asked."""
from __future__ import annotations

from pathlib import Path

import pytest

from tests import run
from tests.support import needs
from tests.support.quick import SLOW


@pytest.mark.parametrize("path", SLOW)
def test_what_quick_leaves_out_exists(path):
    file, _, test = path.partition("::")
    place = run.ROOT / file
    assert place.exists() and (not test or f"def {test}(" in place.read_text("utf-8"))


def test_what_lacks_something_is_left_out_beside_what_was_asked():
    lacking = {"browser": "none", "photographs": "none"}
    assert run.without({}, ["-m", "browser"]) == []
    assert run.without(lacking, ["tests/capture"]) == ["-m", "not browser and not photographs"]
    assert run.without(lacking, ["-m", "not slow"]) == ["-m", "(not slow) and not browser and not photographs"]


@pytest.mark.parametrize("asked", [["-n", "3"], ["-n3"], ["--pdb"], ["tests/capture", "-s"], ["--dist=loadscope"]])
def test_who_says_how_tests_are_spread_is_obeyed(asked):
    assert run.spread(asked) == []


def test_browsers_are_looked_for_by_name_and_by_place(tmp_path):
    on_path, edge = tmp_path / "bin" / "google-chrome", tmp_path / "programs/Microsoft/Edge/Application/msedge.exe"
    mac = tmp_path / "Applications/Google Chrome.app/Contents/MacOS/Google Chrome"
    for place in (on_path, edge, mac):
        place.parent.mkdir(parents=True)
        place.touch(mode=0o755)
    variables = {"PATH": str(on_path.parent), "PROGRAMFILES": str(tmp_path / "programs")}
    assert needs.browsers(variables, root=tmp_path) == [str(on_path), str(mac), str(edge)]
    assert needs.browsers(variables | {"CHROMIUM": "/my/own"}, root=tmp_path) == ["/my/own"]
    assert needs.browsers({"PATH": str(tmp_path)}, root=Path(tmp_path / "bare")) == []


def test_a_browser_that_does_not_start_is_told_with_its_cause(tmp_path):
    found, why = needs.start_browser(run.sys.executable, str(tmp_path / "none"))
    assert found == "" and str(tmp_path / "none") in why and "Error" in why
