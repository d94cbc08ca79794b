"""The one photo loader. Orientation values: EXIF 2.32 tag 0x0112 as Pillow writes it; HEIC through pillow-heif."""
import io
import subprocess
import sys

import numpy as np
import pillow_heif
import pytest
from PIL import ExifTags, Image

from capture.errors import CaptureError
from capture.image.photo import decode_photo, preview_jpeg

TAGS = ExifTags.Base


def picture(width=64, height=48) -> Image.Image:
    """Red top left quarter on blue, so that every turn shows."""
    pixels = np.zeros((height, width, 3), np.uint8)
    pixels[..., 2] = 255
    pixels[: height // 2, : width // 2] = (255, 0, 0)
    return Image.fromarray(pixels)


def encoded(kind="JPEG", orientation=None, detail=None, gps=False, size=(64, 48)) -> bytes:
    exif = Image.Exif()
    if orientation:
        exif[TAGS.Orientation] = orientation
    for tag, value in (detail or {}).items():
        exif.get_ifd(ExifTags.IFD.Exif)[tag] = value
    if gps:
        exif.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitude] = (1.0, 2.0, 3.0)
    target = io.BytesIO()
    picture(*size).save(target, kind, exif=exif.tobytes(), **({"quality": 95} if kind == "JPEG" else {}))
    return target.getvalue()


@pytest.mark.parametrize("orientation, size, red_at",
                         [(None, (64, 48), (5, 5)), (1, (64, 48), (5, 5)), (3, (64, 48), (42, 58)),
                          (6, (48, 64), (5, 42)), (8, (48, 64), (58, 5))])
def test_orientation_is_applied_once(orientation, size, red_at):
    photo = decode_photo(encoded(orientation=orientation), name="p.jpg")
    assert (photo.width_px, photo.height_px) == size
    pixels = photo.rgb()
    assert pixels.shape[:2] == size[::-1]
    assert pixels[red_at][0] > 200 and pixels[red_at][2] < 80


def test_png_and_heic():
    assert decode_photo(encoded("PNG"), name="p.png").width_px == 64
    target = io.BytesIO()
    pillow_heif.from_pillow(picture()).save(target, quality=90)
    photo = decode_photo(target.getvalue(), name="p.heic")
    assert (photo.width_px, photo.height_px) == (64, 48)
    assert photo.rgb()[5, 5, 0] > 150


def test_focal_length_by_the_diagonal():
    """f = f35 * diagonal / 43.267: a 36 x 24 frame has a diagonal of 43.267 mm (Pythagoras)."""
    photo = decode_photo(encoded(detail={TAGS.FocalLengthIn35mmFilm: 26}), name="p.jpg")
    assert photo.focal_px == pytest.approx(26 * np.hypot(64, 48) / np.hypot(36, 24), rel=1e-4)


@pytest.mark.parametrize("detail, word", [({}, "no focal"),
                                          ({TAGS.FocalLengthIn35mmFilm: 26, TAGS.DigitalZoomRatio: 2.0}, "zoom"),
                                          ({TAGS.FocalLengthIn35mmFilm: 26, TAGS.ExifImageWidth: 4000,
                                            TAGS.ExifImageHeight: 2000}, "cropped"),
                                          ({TAGS.FocalLengthIn35mmFilm: 0}, "no focal")])
def test_a_lens_that_cannot_be_trusted_is_unknown(detail, word):
    photo = decode_photo(encoded(detail=detail), name="p.jpg")
    assert photo.focal_px is None and word in photo.focal_from


@pytest.mark.parametrize("data", [b"", b"hello", encoded()[:300], encoded("PNG")[:80], b"<svg xmlns='x'/>"])
def test_no_whole_picture(data):
    with pytest.raises(CaptureError) as caught:
        decode_photo(data, name="photos/3.jpg").rgb()
    assert caught.value.slug == "unreadable-photo" and "photos/3.jpg" in str(caught.value)


def test_a_bomb_is_refused_before_decoding():
    header = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(header, "PNG")
    with pytest.raises(CaptureError) as caught:
        decode_photo(header.getvalue(), name="big.png")
    assert caught.value.slug == "photo-too-large"


def test_preview_is_upright_small_and_tells_nothing_of_place_or_owner():
    small = preview_jpeg(encoded(orientation=6, gps=True), name="p.jpg", long_side_px=32)
    assert b"Exif" not in small
    with Image.open(io.BytesIO(small)) as image:
        assert image.size == (24, 32) and not image.getexif()


def test_without_its_library_a_heic_picture_is_refused_and_a_jpeg_is_read():
    code = """
import io, sys
sys.modules["pillow_heif"] = None
from PIL import Image
from capture.errors import CaptureError
from capture.image.photo import decode_photo
target = io.BytesIO()
Image.new("RGB", (40, 30)).save(target, "JPEG")
assert decode_photo(target.getvalue(), name="a.jpg").width_px == 40
try:
    decode_photo(b"....ftypheic", name="IMG_1.HEIC")
except CaptureError as error:
    print(error.slug, error)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.startswith("no-heic IMG_1.HEIC: HEIC pictures need")
