"""Names of files in a pack: nothing that leads elsewhere, or that some system cannot hold.

Rules from Microsoft Learn, "Naming Files, Paths, and Namespaces" (reserved characters and device names, no blank or dot
at the end) and from APPNOTE.TXT of the zip format, 4.4.17 (no drive, no leading slash, forward slashes); formulas from
OWASP, "CSV Injection". All from memory.
"""
from __future__ import annotations

import csv
import io

import pytest

from layout.plan import Cut
from printpack.outputs.cuts_csv import _cut
from printpack.outputs.filenames import is_portable, safe_names
from printpack.outputs.spreadsheet import table_text

BAD = ["", ".", "..", "a/b", "a\\b", "C:", "a:b", "a*", "a?", "a|b", 'a"', "<a>", "CON", "con.txt", "Nul", "COM1",
       "lpt9.svg", "a.", "a ", " a", "a\n", "a\x00", "x" * 200, "com¹"]


@pytest.mark.parametrize("name", BAD)
def test_what_some_system_cannot_hold_is_told(name):
    assert not is_portable(name)


@pytest.mark.parametrize("name", ["kitchen", "Küche", "T1-piece-2.3", "console", "a.b.c", "kitchen+hall"])
def test_plain_names_may_be(name):
    assert is_portable(name)


def test_whatever_is_wanted_becomes_a_name_of_its_own():
    names = safe_names([*BAD, "../../../victim/keep", "T1", "t1", "T1", "Ünicode"])
    assert all(map(is_portable, names)) and all(name.isascii() for name in names)
    assert len({name.casefold() for name in names}) == len(BAD) + 5


@pytest.mark.parametrize("text", ["=2+5", "+2", "-2+3", "@SUM(1)", "\t=2", "\r=2", "\n=2", " =2+5", "\uff1d2"])
def test_a_name_in_the_cut_list_is_no_formula(text):
    cell = _cut(Cut(kind="hole", pipe=text, diameter=35.0))[-1]
    assert cell[0] == "'" and cell.replace("'",
                                           "") == text and next(csv.reader(io.StringIO(table_text([[cell, "a;b"]]),
                                                                                       newline=""))) == [cell, "a;b",]


def test_every_cell_stands_in_quotes_so_that_no_separator_makes_another():
    assert table_text([["a;=2+5", 'say "x"', -1.5]]) == '"a;=2+5","say ""x""","-1.5"\n'
