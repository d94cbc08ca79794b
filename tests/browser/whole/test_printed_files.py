"""What the pack holds, opened in a real Chromium: the phone's booklet keeps its ticks, and a template drawing is
true to size."""
from __future__ import annotations

import io

import pypdfium2
import pytest

from printpack.booklet.phone import phone_page
from printpack.drawing.sheet import Line
from printpack.drawing.svg import svg_text
from printpack.fullsize.template_sheets import template_svg_sheet
from printpack.fullsize.templates import find_templates, names_by_piece
from tests.support.plans import breast_job

JOB = breast_job()


@pytest.fixture
def phone(open_page, tmp_path):
    file = tmp_path / "booklet.html"
    file.write_text(phone_page(JOB, names_by_piece(find_templates(JOB.plan))))
    return open_page(file.as_uri(), "phone")


def test_the_phones_booklet_keeps_its_ticks_and_asks_for_nothing(phone):
    page, row = phone.page, JOB.plan.rows[0]
    page.get_by_role("link", name="Row 1", exact=True).click()
    for piece in row.pieces:
        page.get_by_label(piece.id, exact=True).check()
    page.reload()
    assert page.locator("#row-1 input:checked").count() == page.locator("#row-1 input").count() >= len(row.pieces)
    page.get_by_role("link", name="All").click()
    assert page.locator("nav .done").count() == 1 and page.get_by_role("link", name="Row 1, done").is_visible()
    page.get_by_role("button", name="Go on where I stopped").click()
    page.wait_for_function("document.activeElement.closest('section').id === 'row-2'")
    assert not phone.errors and all(address.startswith("file:") for address in phone.addresses)


def test_one_row_stands_on_the_screen_and_keys_and_the_big_button_go_on(phone):
    page = phone.page
    page.get_by_role("link", name="Row 2", exact=True).click()
    assert page.locator("section:visible").evaluate_all("(all) => all.map((one) => one.id)") == ["row-2"]
    page.get_by_role("button", name="Next").click()
    page.wait_for_function("document.activeElement.closest('section')?.id === 'row-3'")
    page.keyboard.press("ArrowLeft")
    page.wait_for_function("document.activeElement.closest('section')?.id === 'row-2'")
    page.get_by_role("button", name="Back").click()
    page.wait_for_function("document.activeElement.closest('section')?.id === 'row-1'")


def test_it_reads_aloud_only_when_asked(open_page, tmp_path):
    """The browser's own speech, stood in for by a list: nothing is said before the button is pressed."""
    file = tmp_path / "booklet.html"
    stand_in = ("<script>window.said = []; Object.defineProperty(window, 'speechSynthesis', {value: {speaking: false, "
                "cancel() {}, speak(one) { said.push(one.text); }}});</script></head>")
    file.write_text(phone_page(JOB, names_by_piece(find_templates(JOB.plan))).replace("</head>", stand_in))
    page = open_page(file.as_uri() + "#row-1", "phone").page
    assert page.evaluate("said") == []
    page.get_by_role("button", name="Read aloud").click()
    assert page.evaluate("said")[0].startswith("Row 1.")


def test_it_fits_a_phone_and_a_thumb(phone):
    """No sideways scrolling at 360 px; every box's label and every link and button is 44 px tall or more (WCAG
    2.5.5); text is 16 px or more."""
    page = phone.page
    for name in ("top", "row-1", "row-2", "checks"):
        page.evaluate(f"location.hash = '{name}'")
        page.wait_for_function(f"document.querySelector('#{name}').classList.contains('now')")
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        heights = page.evaluate("""[...document.querySelectorAll('label, a, button')].map((e) =>
            e.getBoundingClientRect().height).filter((tall) => tall > 0)""")
        assert min(heights) >= 44
    sizes = page.evaluate("[...document.querySelectorAll('p, li, span, h1, h2, dd')].map((e) => "
                          "parseFloat(getComputedStyle(e).fontSize))")
    assert min(sizes) >= 16


def test_every_piece_is_drawn_wide_enough_to_read_at_360_px(phone):
    """The name under each piece of a strip is 9 px tall or more on the screen, and none runs into the next."""
    page = phone.page
    for row in JOB.plan.rows[:4]:
        page.evaluate(f"location.hash = 'row-{row.number}'")
        page.wait_for_function(f"document.querySelector('#row-{row.number}').classList.contains('now')")
        boxes = page.evaluate(f"""[...document.querySelectorAll('#row-{row.number} svg:not(.map) text')]
            .map((e) => [e.textContent, e.getBoundingClientRect().height])""")
        for piece in row.pieces:
            assert max(tall for text, tall in boxes if text == piece.id) >= 9


def test_without_a_memory_it_says_so(open_page, tmp_path):
    """A browser that keeps nothing: the page still ticks, and tells."""
    file = tmp_path / "booklet.html"
    file.write_text(phone_page(JOB, {}).replace("localStorage", "noStorage"))
    page = open_page(file.as_uri(), "phone").page
    assert page.get_by_text("does not keep the ticks").is_visible()
    page.get_by_role("link", name="Row 1", exact=True).click()
    page.locator("#row-1 input").first.check()


@pytest.mark.parametrize("job", [JOB, breast_job(show="imperial")], ids=["breast", "breast in inches"])
def test_a_template_drawing_is_true_to_size(chromium, job, tmp_path):
    """Printed to PDF by Chromium and rendered by PDFium at 600 dpi: the check lines both ways are as long as they
    say, to 0.05 mm."""
    sheet = template_svg_sheet(job, find_templates(job.plan, show=job.show)[0])
    page = chromium.new_page()
    page.set_content("<style>@page { size: 500mm 500mm; margin: 0 } body { margin: 0 "
                     f"}}</style>{svg_text(sheet, title='t').split('?>', 1)[1]}")
    pdf = page.pdf(prefer_css_page_size=True)
    page.close()
    lines = [item for item in sheet.items if isinstance(item, Line) and item.layer == "check"]
    document = pypdfium2.PdfDocument(io.BytesIO(pdf))
    grey = document[0].render(scale=600 / 72, grayscale=True).to_numpy().squeeze()
    per_mm = (grey.shape[1] / (document[0].get_width() * 25.4 / 72),
              grey.shape[0] / (document[0].get_height() * 25.4 / 72))
    document.close()
    for line in lines:
        level = line.start[1] == line.end[1]
        along, across = (0, 1) if level else (1, 0)
        ends = sorted((line.start[along], line.end[along]))
        # A strip beside the line, 1 mm off, meets nothing but the two ticks at its ends.
        beside = int((line.start[across] + 1.0) * per_mm[across])
        strip = grey[beside, :] if level else grey[:, beside]
        dark = [k / per_mm[along] for k in (strip < 128).nonzero()[0]]
        first, last = (sum(near) / len(near) for end in ends
                       for near in [[d + 0.5 / per_mm[along] for d in dark if abs(d - end) < 1.0]])
        assert last - first == pytest.approx(ends[1] - ends[0], abs=0.05)
    assert len(lines) == 2
