"""What the package is made from: pinned versions without addresses, dependencies whose licences are known and
listed."""
from __future__ import annotations

import re
import tomllib
from importlib.metadata import Distribution, distribution
from pathlib import Path

import pytest
from packaging.requirements import Requirement

HOUSE = Path(__file__).parent.parent
PROJECT = tomllib.loads((HOUSE / "pyproject.toml").read_text())["project"]
#: Licences a library may have that is installed beside this program, as it names them: permissive ones, and the LGPL
#: for a library left as it is.
ALLOWED = {"MIT", "MIT License", "MIT-CMU", "BSD-3-Clause", "BSD License", "0BSD", "ISC License (ISCL)", "Zlib",
           "CC0-1.0", "PSF-2.0", "Python Software Foundation License", "Apache Software License", "Apache-2.0",
           "Zope Public License", "LGPL-3.0-only", "GNU Library or Lesser General Public License (LGPL)"}
PIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*==[A-Za-z0-9.]+")


def plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def needed(requirements: list[str], found: dict[str, Distribution]) -> dict[str, Distribution]:
    """The installed libraries these requirements ask for, and what those ask for in turn, without extras."""
    for text in requirements:
        asked = Requirement(text)
        if plain(asked.name) not in found and (asked.marker is None or asked.marker.evaluate({"extra": ""})):
            found[plain(asked.name)] = distribution(asked.name)
            needed(found[plain(asked.name)].requires or [], found)
    return found


RUNTIME = needed(PROJECT["dependencies"], {})


def licences(library: Distribution) -> set[str]:
    """What its metadata says: the SPDX expression (PEP 639), else the classifiers, else the free text."""
    said = library.metadata
    if expression := said.get("License-Expression"):
        return set(re.split(r" (?:AND|OR) ", expression))
    told = {line.rpartition(" :: ")[2] for line in said.get_all("Classifier") or [] if line.startswith("License ::")}
    return told or {said.get("License", "none is told")}


@pytest.mark.parametrize("name", RUNTIME)
def test_every_library_has_a_licence_that_may_be_and_is_listed(name):
    assert licences(RUNTIME[name]) <= ALLOWED
    assert re.search(rf"^\| `{name}` \|", (HOUSE / "LICENSE.libraries.md").read_text(),
                     re.MULTILINE), "list it in LICENSE.libraries.md"


def test_the_constraints_are_pins_without_addresses():
    lines = (HOUSE / "constraints.txt").read_text().split("\n")
    assert lines.pop() == "" and [line for line in lines if not PIN.fullmatch(line)] == []
    names = [plain(line.partition("==")[0]) for line in lines]
    assert len(set(names)) == len(names)


def test_every_direct_dependency_is_pinned():
    pinned = {plain(line.partition("==")[0]) for line in (HOUSE / "constraints.txt").read_text().split()}
    extras = [text for group in PROJECT["optional-dependencies"].values() for text in group]
    assert {plain(Requirement(text).name) for text in (*PROJECT["dependencies"], *extras)} <= pinned
    assert set(RUNTIME) <= pinned


def test_the_pins_satisfy_what_the_project_asks_for():
    pinned = {plain(name): version for name, _, version in (line.partition("==")
                                                            for line in (HOUSE
                                                                         / "constraints.txt").read_text().split())}
    asked = [Requirement(text) for text in PROJECT["dependencies"]]
    assert [str(each) for each in asked if not each.specifier.contains(pinned[plain(each.name)],
                                                                       prereleases=True)] == []
