"""Lengths as people write them. Exact inch: international yard and pound agreement 1959 (25.4 mm)."""
import pytest
from hypothesis import given, strategies as st

from capture.errors import CaptureError
from capture.tape import format_length, parse_length

READ = [("3.42 m", 3420), ("3,42 m", 3420), ("342 cm", 3420), ("342,5cm", 3425), ("3420", 3420), ("3420 mm", 3420),
        ("4312mm", 4312), ("3m42", 3420), ("3m420", 3420), ("4m 31cm 2mm", 4312), ("3 420 mm", 3420),
        ("3\u00a0420 mm", 3420), ("3\u2009420 mm", 3420), ("1.234,5 mm", 1234.5), ("3.420 m", 3420), ("0.5 m", 500),
        ("11' 2 3/4\"", 3422.65), ("11ft 2-3/4in", 3422.65), ("11\u2032 2\u00be\u2033", 3422.65),
        ("11\u2019 2 3/4\u201d", 3422.65), ("11 feet 2 inches", 3403.6), ("11'2", 3403.6), ("134 3/8\"", 3413.125),
        ("2.5 ft", 762), ("\u00bd in", 12.7), ("7''", 177.8), ("3'", 914.4),]
ASKED_BACK = ["3.420", "3,420", "3,420 mm", "3.420 cm", "3m4", "4.31", "5 1/2", "4"]
REFUSED = ["", "abc", "-5", "-5 mm", "0", "0 mm", "1e3", "11' 13\"", "3 m 2 ft", "1.2.3 m", "1/0 in", "9/8 in", "200 m",
           "nan", "inf", "3420 5 mm", "2 m - 5 cm", "4000-", "9" * 5000, "\u00bd7mm"]


@pytest.mark.parametrize("text, mm", READ)
def test_read(text, mm):
    assert parse_length(text) == pytest.approx(mm, abs=1e-9)


@pytest.mark.parametrize("text", ASKED_BACK)
def test_two_readings_are_asked_back(text):
    with pytest.raises(CaptureError) as caught:
        parse_length(text)
    assert caught.value.slug == "ambiguous-length" and text in str(caught.value)


@pytest.mark.parametrize("text", REFUSED)
def test_refused_with_an_example(text):
    with pytest.raises(CaptureError) as caught:
        parse_length(text)
    assert caught.value.slug == "unreadable-length" and "3412 mm" in str(caught.value) and len(str(caught.value)) < 300


def test_what_is_quoted_stays_on_one_line():
    with pytest.raises(CaptureError) as caught:
        parse_length("11' 2 \n/8\"\x00")
    assert str(caught.value).startswith("'11' 2  /8\"' is not a length")


def test_bare_numbers_follow_the_jobs_unit():
    assert parse_length("40", unit="in") == pytest.approx(1016.0)
    assert parse_length("5 1/2", unit="in") == pytest.approx(139.7)


@given(st.integers(10, 99_999))
def test_whole_millimetres_come_back(mm):
    assert parse_length(format_length(mm)) == mm


@given(st.floats(10.0, 20_000.0))
def test_feet_and_inches_come_back_to_a_thirty_second(mm):
    assert parse_length(format_length(mm, show="imperial")) == pytest.approx(mm, abs=25.4 / 32 + 1e-6)


@given(st.text(max_size=12))
def test_any_text_gives_a_length_or_one_sentence(text):
    try:
        assert 0 < parse_length(text) <= 100_000
    except CaptureError as fault:
        assert fault.slug in ("ambiguous-length", "unreadable-length") and "\n" not in str(fault).replace(
            text.strip(), ""
        )


@pytest.mark.parametrize("mm, text", [(412.4, "412 mm"), (0.0, "0 mm"), (-0.2, "0 mm")])
def test_metric_format(mm, text):
    assert format_length(mm) == text


@pytest.mark.parametrize("mm, text", [(25.4 * 134.375, "11' 2 3/8\""), (304.8, "1' 0\""), (25.4 * 0.5, '1/2"'),
                                      (0.0, '0"'), (25.4 * 11.99, "1' 0\""), (25.4 * 12.625, "1' 0 5/8\"")])
def test_imperial_format(mm, text):
    assert format_length(mm, show="imperial") == text
