"""A row on the page is the row on paper."""
from __future__ import annotations

from printpack.words.row_words import row_checks, row_lines, special_lines
from printpack.words.tolerances import Fit
from desk.text.row_view import show_row
from tests.support.plans import breast_job


def test_the_page_draws_and_says_what_the_paper_does():
    job = breast_job()
    fit = Fit(job)
    for row in job.plan.rows[:3]:
        for narrow in (False, True):
            shown = show_row(job, row.number, narrow=narrow)
            assert (shown["row"], shown["rows"]) == (row.number, len(job.plan.rows))
            assert shown["lines"] == row_lines(job, row, fit) and shown["checks"] == row_checks(job, row, fit)
            assert shown["special"] == special_lines(job, row, fit)
            assert all(f">{piece.id}<" in shown["svg"] for piece in row.pieces)


def test_a_number_there_is_no_row_of_shows_the_nearest():
    assert show_row(breast_job(), 999, narrow=True)["row"] == len(breast_job().plan.rows)
    assert show_row(breast_job(), -3, narrow=True)["row"] == 1
