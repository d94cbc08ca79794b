"""The booklet's page for the phone: the same words as on paper, whole in one file, every box under its own name."""
from __future__ import annotations

import re
from html import escape
from html.parser import HTMLParser

import pytest

from printpack.words.tolerances import Fit
from printpack.booklet.phone import phone_page
from printpack.strip.on_screen import hand_picture
from printpack.howto.how_to_page import how_to_steps
from printpack.strip.row_picture import row_facts
from printpack.words.row_words import row_checks, row_lines, special_lines
from printpack.fullsize.templates import find_templates, names_by_piece
from tests.support.plans import LONG, SLANTED, breast_job, job_of

JOBS = {"breast": breast_job, "slanted in inches": lambda: job_of(SLANTED, show="imperial"),
        "signs": lambda: job_of(LONG, title='<b>"Room" & \x07\ud83c')}
VOID = {"meta", "input", "path", "circle"}


class Page(HTMLParser):
    """Words, attributes and open elements; an end tag must close what was opened last."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.words, self.open, self.attributes = [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.attributes.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.attributes.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)


@pytest.fixture(scope="module", params=JOBS)
def read(request):
    job = JOBS[request.param]()
    names = names_by_piece(find_templates(job.plan, show=job.show))
    text = phone_page(job, names)
    return job, names, text, Page(text)


def test_the_page_says_and_draws_what_the_paper_does(read):
    """Each row's lines, and each main figure of its picture."""
    job, names, text, page = read
    words, fit = " ".join(page.words), Fit(job)
    for row in job.plan.rows:
        assert all(said in words for said in (*row_lines(job, row, fit), *special_lines(job, row, fit),
                                              *row_checks(job, row, fit)))
        section = text.split(f'<section id="row-{row.number}"')[1].split("</section>")[0]
        for step in hand_picture(row_facts(job, row, fit, names), job.units).steps:
            for tape in step.tapes:
                assert escape(job.units.figure(tape.mm).replace("\u00a0", " ")) in section


def test_a_row_is_read_aloud_with_every_figure_and_the_side_it_counts_from(read):
    job, _, text, _ = read
    said = re.findall(r'data-say="([^"]+)"', text)
    assert len(said) == len(job.plan.rows)
    for row, words in zip(job.plan.rows, said):
        assert words.startswith(f"Row {row.number}.")
        for piece in row.pieces:
            for cut in piece.cuts:
                if cut.kind == "cross" and abs(cut.at[0] - cut.at[1]) < 1.0:
                    spoken = f"{job.units.length(sum(cut.at) / 2)} from the {cut.kept} end".replace("\u00a0", " ")
                    assert escape(spoken) in words


def test_the_phone_has_every_drawing_of_how_to_lay(read):
    """A step of the paper's two pages is a drawing and its words on the phone."""
    job, _, text, _ = read
    section = text.split('<section id="how"')[1].split("</section>")[0]
    steps = how_to_steps(job)
    assert len(steps) >= 9 and section.count("<svg") == len(steps)
    assert all(f'aria-label="{escape(step.name)}"' in section and escape(step.words) in section for step in steps)
    assert ('id="doors"' in text) == bool(job.room.doors)
    if job.room.doors:
        assert text.split('<section id="doors"')[1].split("</section>")[0].count("<svg") == 3


def test_it_is_sound_and_stands_alone(read):
    """Elements are closed in order, and nothing in it leads anywhere else."""
    _, _, text, page = read
    assert not page.open and text.encode() and "\x07" not in text
    assert not re.search(r"https?:|//|url\(|@import", re.sub(r"(?s)<script>.*?</script>", "", text))
    targets = [attrs[key] for _, attrs in page.attributes for key in ("src", "href") if key in attrs]
    ids = {attrs["id"] for _, attrs in page.attributes if "id" in attrs}
    assert targets and all(target.startswith("#") and target[1:] in ids for target in targets)


def test_each_piece_has_a_box_and_each_box_its_own_name(read):
    job, _, _, page = read
    boxes = [attrs["id"] for tag, attrs in page.attributes if tag == "input"]
    assert len(boxes) == len(set(boxes)) and {f"piece-{piece.id}" for piece in job.plan.pieces} <= set(boxes)


def test_ticks_are_kept_under_the_plans_own_name():
    """A page made again keeps its ticks; another plan begins without."""
    name = [re.search(r'data-name="([^"]+)"', phone_page(job, {}))[1]
            for job in (breast_job(), breast_job(), job_of(LONG))]
    assert name[0] == name[1] != name[2]
