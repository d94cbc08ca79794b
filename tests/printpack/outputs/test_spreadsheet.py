"""No text is a formula to a spreadsheet. The signs are those of OWASP's page "CSV Injection"
(owasp.org/www-community/attacks/CSV_Injection), which also asks for what stands behind a separator."""
from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from printpack.outputs.spreadsheet import safe_cell

OWASP = ["=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20"]


@pytest.mark.parametrize("sign", OWASP)
def test_a_text_that_begins_like_a_formula_is_made_text(sign):
    assert safe_cell(f"{sign}2+5") == f"'{sign}2+5"


@pytest.mark.parametrize("value", ["", "Back bedroom", "2+5", "a-b", "x@y", "'=1", "Küche, 2 - 3", 5, -5, -0.5, None,
                                   True])
def test_anything_else_stays_as_it_is(value):
    assert safe_cell(value) == value and type(safe_cell(value)) is type(value)


@given(st.text(alphabet=[*OWASP, ";", ",", '"', "'", "a", " ", "1"]), st.sampled_from([",", ";", "\t"]))
def test_no_cell_begins_a_formula_wherever_a_spreadsheet_splits(text, separator):
    written = io.StringIO(newline="")
    csv.writer(written, quoting=csv.QUOTE_ALL).writerow(["a", safe_cell(text)])
    # Split at a separator that was not meant, quotes are letters where a cell does not begin with one: the plainest
    # reader is the worst.
    cells = [cell for line in written.getvalue().splitlines() for cell in line.split(separator)]
    naive = [cell.strip('"') for cell in cells] if separator == "," else cells
    assert separator == "," or not any(cell[:1] in OWASP for cell in naive if cell)


@given(st.text(max_size=30))
def test_a_guarded_text_is_left_as_it_is_by_a_second_guard(text):
    once = safe_cell(text)
    assert safe_cell(once) == once and once.replace("'", "") == text.replace("'", "")
