"""What gives way where words are long: a table's roomiest column, a footer's title. Properties; a language's words are
some 40 % longer than English ones (common practice in translating software, no source)."""
from __future__ import annotations

import pytest

from printpack.drawing.metrics import text_width
from printpack.drawing.page_layout import Block, bound, pages_of, paragraph, table
from printpack.drawing.sheet import Text
from printpack.howto.cells import named, names_width
from printpack.paper import A4, LETTER

HEAD = ("Reihenverlauf", "nehmen", "letztes")
ROWS = [("1", "4 ganze Dielen, dann 1.5", "785"), ("2", "2.1 und 3 ganze", "Vloerverwarming")]


def words_of(blocks: list[Block]) -> list[str]:
    return [word for block in blocks for item in block.items if isinstance(item, Text) for word in item.text.split(" ")]


@pytest.mark.parametrize("widths", [(13.0, 90.0, 16.0), (8.0, 60.0, 60.0)])
def test_no_word_of_a_table_is_broken_while_another_column_has_room(widths):
    blocks = table(HEAD, ROWS, widths)
    told = [word for cells in (HEAD, *ROWS) for cell in cells for word in cell.split(" ")]
    assert sorted(words_of(blocks)) == sorted(told)
    right = max(item.at[0] + text_width(item.text, item.size_mm, bold=item.bold) for block in blocks
                for item in block.items if isinstance(item, Text))
    assert right <= sum(widths)


def test_a_table_whose_words_fit_keeps_its_columns():
    blocks = table(("a", "b"), [("c", "d")], (13.0, 40.0))
    assert {item.at[0] for block in blocks for item in block.items if isinstance(item, Text)} == {0.0, 13.0}


def test_a_column_of_names_is_as_wide_as_its_longest_word():
    names = ("Vloerverwarmingsinstallatie", "Alone")
    wide = names_width(names, 34.0)
    assert wide > 34.0 and names_width(("Alone",), 34.0) == 34.0
    for name in names:
        assert name in words_of([named(name, "text", 150.0, wide)])


@pytest.mark.parametrize("paper", [A4, LETTER])
def test_a_long_title_never_hides_what_stands_behind_it(paper):
    title = "The long room behind the kitchen and everything that belongs to it " * 5
    pages = pages_of([paragraph("text", 100.0)], paper)
    sheet, = bound(pages, paper, title=title, foot=lambda name: f"{name} · the leaflet overrides this")
    foot = next(item.text for item in sheet.items if isinstance(item, Text) and "leaflet" in item.text)
    assert foot.endswith("… · the leaflet overrides this") and foot.startswith("The long room")
    assert text_width(foot, next(i.size_mm for i in sheet.items if isinstance(i, Text) and i.text == foot)) < (
        paper.width_mm - 24.0)
