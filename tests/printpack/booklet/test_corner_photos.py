"""Photos in the booklet: the letters stand where the corners are, and nothing of the camera or the place goes with
them."""
from __future__ import annotations

import dataclasses
import io
import shutil
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2
import pytest
from PIL import Image, ImageDraw

import demo_photos
from desk.store.corner_photos import MOST, marked_photos
from desk.jobfile.files import read_job
from printpack.booklet.corner_photos import corner_photo_pages
from printpack.drawing.page_layout import bound
from printpack.job import MarkedPhoto
from printpack.paper import A4, PAPERS
from printpack.drawing.pdf import pdf_bytes
from printpack.drawing.sheet import Text
from tests.support.plans import RECTANGLE, job_of

HOME = Path(demo_photos.__file__).parent


@pytest.fixture(scope="module")
def demo():
    return marked_photos(HOME, read_job(HOME))


def test_every_marked_corner_shows_in_few_photos(demo):
    job = read_job(HOME)
    shown = {name for photo in demo for name, *_ in photo.marks}
    marked = {mark.point for photo in job.photos for mark in photo.marks}
    assert shown >= marked & set(job.outline) and len(demo) <= MOST


def test_nothing_of_the_camera_is_left_in_the_pictures(demo):
    """Second opinion: Pillow and pikepdf look for EXIF in what goes into the file."""
    for photo in demo:
        picture = Image.open(io.BytesIO(photo.jpeg))
        assert not picture.getexif() and b"Exif" not in photo.jpeg and b"GPS" not in photo.jpeg and max(
            picture.size) <= 1400
        assert picture.width / picture.height == pytest.approx(photo.width_px / photo.height_px, rel=0.002)
    job = dataclasses.replace(job_of(RECTANGLE), photos=demo)
    data = pdf_bytes(bound(corner_photo_pages(job, A4), A4, title="x", foot=str), title="x", date=job.date)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        images = [image.read_raw_bytes() for page in pdf.pages for image in page.get_images().values()]
    assert len(images) == len(demo) and not any(b"Exif" in image for image in images)
    assert data == pdf_bytes(bound(corner_photo_pages(job, A4), A4, title="x", foot=str), title="x", date=job.date)


def dotted(name: str, spots: dict[str, tuple[float, float]], size=(1200, 900)) -> MarkedPhoto:
    """A white picture with a grey blot at each marked place."""
    image = Image.new("L", size, 255)
    for x, y in spots.values():
        ImageDraw.Draw(image).ellipse((x - 30, y - 30, x + 30, y + 30), fill=100)
    held = io.BytesIO()
    image.save(held, "JPEG", quality=95)
    return MarkedPhoto(name=name, jpeg=held.getvalue(), width_px=size[0], height_px=size[1],
                       marks=tuple((letter, x / size[0], y / size[1]) for letter, (x, y) in spots.items()))


@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper.name)
def test_crosses_lie_on_the_places_in_the_printed_picture_and_letters_apart(paper):
    """PDFium draws the page: the blot's middle is under the cross, upright and lying pictures, on every paper."""
    photos = (dotted("1", {"A": (200, 150), "B": (1000, 700)}),
              dotted("2", {"C": (450, 600), "D": (480, 640), "E": (430, 660)}, (900, 1200)))
    job = dataclasses.replace(job_of(RECTANGLE), photos=photos)
    (page,) = corner_photo_pages(job, paper)
    letters = [item for item in page.items if isinstance(item, Text) and item.layer == "mark"]
    assert sorted(item.text for item in letters) == list("ABCDE")
    for k, one in enumerate(letters):
        for other in letters[:k]:
            assert (
                max(abs(one.at[0] - other.at[0]) / 6.0, abs(one.at[1] - other.at[1]) / 7.0) >= 1.0
            )  # plates do not overlap
    bare = dataclasses.replace(page, items=())
    data = pdf_bytes(bound((bare,), paper, title="x", foot=str), title="x", date=job.date)
    dpi = 72
    seen = np.asarray(pypdfium2.PdfDocument(data)[0].render(scale=dpi / 72, grayscale=True).to_pil().convert("L"))
    crosses = [item for item in page.items if getattr(item, "layer", "") == "mark" and not isinstance(item, Text)
               and hasattr(item, "start")]
    middles = {((c.start[0] + c.end[0]) / 2, c.start[1]) for c in crosses if c.start[1] == c.end[1]
               and 0 < c.end[0] - c.start[0] < 5.0}
    assert len(middles) == 5
    for x, y in middles:
        column, row = int(x / 25.4 * dpi), int(y / 25.4 * dpi)
        assert seen[row - 1:row + 2, column - 1:column + 2].mean() < 130


def test_a_floor_without_photos_has_no_such_page_and_a_lost_picture_is_left_out(tmp_path):
    assert corner_photo_pages(job_of(RECTANGLE), A4) == ()
    shutil.copytree(HOME / "photos", tmp_path / "photos")
    (tmp_path / "job.json").write_bytes((HOME / "job.json").read_bytes())
    job = read_job(tmp_path)
    first = marked_photos(tmp_path, job)[0].name
    (tmp_path / first).unlink()
    assert first not in {photo.name for photo in marked_photos(tmp_path, job)}
