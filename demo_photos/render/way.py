"""Draw ../way.jpg, the README's picture: a photo with its marks, and three pages of the demo's pack.

``python -m demo_photos.render.way`` from the repository's root, after a change to the photos, the plan or the booklet;
no renderer needed. The pages are those of a pack made here and now.
"""
from __future__ import annotations

import json
from importlib.resources import as_file, files

import pypdfium2
from PIL import Image, ImageDraw, ImageFont, ImageOps

from demo_photos.render.truth import HOME
from desk.jobfile.files import read_job
from desk.store.photos import look_at_photos
from desk.actions.pipeline import pack_job, plan_job, survey_job

PHOTO = "photos/room-2.jpg"
#: Words that tell the pages: the first with the plan, a row with a pipe, that pipe's template.
BOOKLET_PAGES = (("Floor area", "Packs"), ("Pipe: drill", "Pencil"))
TEMPLATE_PAGE = ("pipe P1",)
HIGH_PX, GAP_PX, GREY = 620, 12, (122, 122, 122)


def pack() -> dict[str, bytes]:
    """The demo's pack on A4."""
    job = read_job(HOME)
    survey = survey_job(job, look_at_photos(HOME, job))
    return pack_job(job, survey, plan_job(job, survey), date=job.date, paper="a4")


def photo_with_marks() -> Image.Image:
    """The photo as high as the pages, with a ring and the corner's letter at every mark."""
    entry = next(p for p in json.loads((HOME / "job.json").read_text(encoding="utf-8"))["photos"] if p["file"] == PHOTO)
    picture = ImageOps.exif_transpose(Image.open(HOME / PHOTO))
    share = HIGH_PX / picture.height
    picture = picture.resize((round(picture.width * share), HIGH_PX), Image.Resampling.LANCZOS)
    draw = ImageDraw.Draw(picture)
    with as_file(files("printpack") / "fonts" / "DejaVuSansCondensed-Bold.ttf") as face:
        font = ImageFont.truetype(str(face), 26)
    for mark in entry["marks"]:
        x, y = (share * (mark[c] + 0.5) for c in "xy")
        for radius, colour, width in ((10, "black", 7), (9, "white", 4)):
            draw.ellipse((x - radius, y - radius, x + radius, y + radius), outline=colour, width=width)
        draw.text((x + 13, y - 17), mark["point"], font=font, fill="white", stroke_width=3, stroke_fill="black",
                  anchor="lm")
    return picture


def page(pdf: bytes, words: tuple[str, ...]) -> Image.Image:
    """The first page that has all these words, as high as the photo."""
    found = next(p for p in pypdfium2.PdfDocument(pdf) if all(w in p.get_textpage().get_text_bounded() for w in words))
    return found.render(scale=4 * HIGH_PX / found.get_height()).to_pil().convert("RGB").reduce(4)


def main() -> None:
    """Write way.jpg beside the photos."""
    made = pack()
    parts = [photo_with_marks(), *(page(made["booklet.pdf"], words) for words in BOOKLET_PAGES),
             page(made["templates.pdf"], TEMPLATE_PAGE)]
    wide = Image.new("RGB", (sum(p.width + GAP_PX for p in parts) + GAP_PX, HIGH_PX + 2 * GAP_PX), GREY)
    x = GAP_PX
    for part in parts:
        wide.paste(part, (x, GAP_PX))
        x += part.width + GAP_PX
    wide.save(HOME / "way.jpg", quality=86, optimize=True)


if __name__ == "__main__":
    main()
