"""Labels of packs, pasted whole. The labels are invented; sizes in inches by 25.4 mm (international yard and pound
agreement of 1959)."""
from __future__ import annotations

import pytest

from desk.server.label import Label, Unreadable, label_words, read_label

INCHES = Label(1285.88, 192.09, 7.94, 8)


@pytest.mark.parametrize(("text", "label"), [
    ("1285 x 192 x 8 mm, 8 per pack", Label(1285, 192, 8, 8)),
    ("1285×192×8mm 8 pcs/pack", Label(1285, 192, 8, 8)),
    ("Click floor, oak look\n1380 mm x 193 mm x 7 mm (9 boards) AC4", Label(1380, 193, 7, 9)),
    ("8 mm x 192 mm x 1285 mm; pack of 8", Label(1285, 192, 8, 8)),
    ("1\u202f285 x 192 x 8 mm, 8 lames par paquet", Label(1285, 192, 8, 8)),
    ("1 285 × 192 × 8 mm - 8 par carton", Label(1285, 192, 8, 8)),
    ("Länge 1285 mm, Breite 192 mm, Stärke 8 mm. Inhalt: 8 Dielen", Label(1285, 192, 8, 8)),
    ("1285 x 192 x 8 mm, 8 Stück pro Paket", Label(1285, 192, 8, 8)),
    ("1.285 x 192 x 8 mm, caja de 8", Label(1285, 192, 8, 8)),
    ("1285 x 192 x 8 mm, 8 stuks per pak", Label(1285, 192, 8, 8)), ("2 000 x 192 mm", Label(2000, 192)),
    ("128.5 x 19.2 x 0.8 cm", Label(1285, 192, 8)), ("1.285 m x 19.2 cm x 8 mm", Label(1285, 192, 8)),
    ("1,285 x 192 x 8 mm", Label(1285, 192, 8)), ("1285 by 192", Label(1285, 192)),
    ("Length: 1285 mm  Width: 192 mm  Thickness: 8 mm  Planks per pack: 8", Label(1285, 192, 8, 8)),
    ("1285 x 192 x 8 mm, 1.974 m² per pack", Label(1285, 192, 8, 8)),
    ("1285 x 192 x 8 mm, 1,97 m2", Label(1285, 192, 8, 8)),
    ("1285 x 192 x 8 mm, pack of 1.974 m2", Label(1285, 192, 8, 8)),
    ('50 5/8" x 7 9/16" x 5/16", 8 planks per carton', INCHES), ("50-5/8 in x 7-9/16 in x 5/16 in, 8 pieces", INCHES),
    ("50.625 x 7.5625 x 0.3125 inches, 21.27 sq ft per box", INCHES),
    ("Box 1300 x 210 x 70 mm, board 1285 x 192 x 8 mm", Label(1285, 192, 8)),
    ("1285 x 192 mm, wear class 32, 8 mm", Label(1285, 192)),
    ("1285 x 192 x 8 mm, 2 strips, 10 years, pack of 8", Label(1285, 192, 8, 8))])
def test_a_label_is_read(text, label):
    assert read_label(text) == label


@pytest.mark.parametrize(("text", "asked"), [
    ("", "No board's size"), ("AC4, class 32", "No board's size"), ("8 per pack", "No board's size"),
    ("12850 x 1920 x 80 mm", "No board's size"), ("1285 x 192 x 8 mm or 1380 x 193 x 8 mm", "more than one board"),
    ("1285 mm", "No board's size"), ("x" * 3000, "No board's size"), ("1 x " * 2000, "No board's size")])
def test_what_is_no_label_is_asked_back(text, asked):
    with pytest.raises(Unreadable, match=asked):
        read_label(text)


def test_sizes_without_a_unit_are_those_shown():
    assert read_label("50.625 x 7.5625 x 0.3125", show="imperial") == Label(1285.88, 192.09, 7.94)
    with pytest.raises(Unreadable):
        read_label("50.625 x 7.5625 x 0.3125")


def test_what_was_read_is_said():
    assert label_words(Label(1285, 192, 8, 8), "metric") == "Read as boards of 1285 x 192 x 8 mm, 8 in a pack."
    assert "does not say how many" in label_words(Label(1285, 192), "metric")
