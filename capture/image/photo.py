"""One loader for every photo: bytes in, upright pixels and what EXIF says of the lens out.

EXIF orientation is applied once, here; every pixel coordinate elsewhere belongs to the upright picture.
HEIC files arrive from their decoder upright already, with orientation reset, so the same rule holds for them.
"""
from __future__ import annotations

import io
import struct
import warnings
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import ExifTags, Image, ImageOps, JpegImagePlugin, PngImagePlugin, UnidentifiedImageError

from capture.errors import CaptureError
from capture.language.messages import gettext, lazy_gettext

try:
    from pillow_heif import register_heif_opener
except ImportError:
    # A machine it has no build for still reads JPEG and PNG.
    HAS_HEIC = False
else:
    register_heif_opener()
    HAS_HEIC = True
#: Formats that are opened at all. Naming the plug-ins imports them: Pillow fails on a format it has not met yet.
#: A phone's multi-picture JPEG opens as JPEG.
_FORMATS = (JpegImagePlugin.JpegImageFile.format, PngImagePlugin.PngImageFile.format, "HEIF")

#: Larger pictures are refused before a pixel is decoded: a small file can claim to be gigabytes.
MAX_PIXELS = 120_000_000
#: What the decoders raise on damaged files: Pillow's own, and RuntimeError from the HEIC library.
_BROKEN = (OSError, ValueError, SyntaxError, EOFError, RuntimeError, KeyError, IndexError)
#: EXIF orientations that exchange width and height (CIPA DC-008, tag 274).
_ON_ITS_SIDE = (5, 6, 7, 8)
#: Rows of pixels that are copied at once.
_STRIP_PX = 512
#: Diagonal of the 36 x 24 mm frame that "35 mm equivalent" focal lengths refer to, mm.
FULL_FRAME_DIAGONAL_MM = 43.267


@dataclass(frozen=True, slots=True, kw_only=True)
class DecodedPhoto:
    """Size of the upright picture, px; focal length in px if EXIF tells one (a prior, never truth) and where from."""

    name: str
    width_px: int
    height_px: int
    focal_px: float | None
    focal_from: str
    data: bytes

    def rgb(self) -> NDArray[np.uint8]:
        """(height, width, 3) upright pixels."""
        with _opened(self.data, self.name) as image:
            upright = _upright(image, self.name)
            pixels = np.empty((upright.height, upright.width, 3), dtype=np.uint8)
            for top in range(0, upright.height, _STRIP_PX):  # at once, the library would hold all of it twice more
                pixels[top:top + _STRIP_PX] = np.asarray(upright.crop((0, top, upright.width,
                                                                       min(top + _STRIP_PX, upright.height))))
        return pixels


def decode_photo(data: bytes, *, name: str) -> DecodedPhoto:
    """Read a JPEG, PNG or HEIC from its bytes.

    Raises CaptureError: "unreadable-photo" for bytes that are no picture or a truncated one, "photo-too-large",
    "no-heic".
    """
    with _opened(data, name) as image:
        size = _upright_size(image, name)
        focal_px, focal_from = _focal_of(image, size)
        image.draft(
            None, (max(1, size[0] // 8), max(1, size[1] // 8))
        )  # a JPEG is read to its end all the same, in a 64th of the memory
        _load(image, name)
    return DecodedPhoto(name=name, width_px=size[0], height_px=size[1], focal_px=focal_px, focal_from=focal_from,
                        data=data)


def claimed_pixels(data: bytes, *, name: str) -> int:
    """How many pixels a picture says it has; none is decoded. Raises CaptureError as `decode_photo` does."""
    with _opened(data, name) as image:
        return image.width * image.height


def preview_jpeg(data: bytes, *, name: str, long_side_px: int, grey: bool = False) -> bytes:
    """The upright picture as a JPEG no longer than `long_side_px`, with no EXIF left in it (so no place, no owner).
    grey: without colours."""
    with _opened(data, name) as image:
        image.draft("RGB", (long_side_px, long_side_px))
        _load(image, name)
        small = (
            image if image.mode in ("RGB", "L") else image.convert("RGB")
        )  # what is shrunk first needs no second copy of its full size
        small.thumbnail((long_side_px, long_side_px), Image.Resampling.LANCZOS)
        small = _upright(small, name)
        small = small.convert("L") if grey else small
        small.info.clear()
        target = io.BytesIO()
        small.save(target, "JPEG", quality=85, exif=b"")
    return target.getvalue()


def _opened(data: bytes, name: str) -> Image.Image:
    """The picture with its size checked and nothing decoded yet."""
    try:
        with warnings.catch_warnings():
            # Pillow's own limit only warns, ours refuses just below; damaged EXIF is no reason to say anything.
            warnings.simplefilter("ignore")
            image = Image.open(io.BytesIO(data), formats=_FORMATS)
    except Image.DecompressionBombError:
        raise _too_large(name) from None
    except (UnidentifiedImageError, *_BROKEN):
        raise _unreadable(name) from None
    if image.width * image.height > MAX_PIXELS:
        image.close()
        raise _too_large(name)
    return image


def _upright(image: Image.Image, name: str) -> Image.Image:
    """The picture turned as its EXIF says, in RGB; the same object where nothing is to be done."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            image.load()
            ImageOps.exif_transpose(image, in_place=True)
            return image if image.mode == "RGB" else image.convert("RGB")
    except _BROKEN:
        raise _unreadable(name) from None


def _upright_size(image: Image.Image, name: str) -> tuple[int, int]:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            on_its_side = image.getexif().get(ExifTags.Base.Orientation) in _ON_ITS_SIDE
    except _BROKEN:
        raise _unreadable(name) from None
    return (image.height, image.width) if on_its_side else image.size


def _load(image: Image.Image, name: str) -> None:
    """Decode all of it. Raises CaptureError for a picture that is cut short or broken."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            image.load()
    except _BROKEN:
        raise _unreadable(name) from None


def _focal_of(image: Image.Image, size: tuple[int, int]) -> tuple[float | None, str]:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return _focal(image.getexif(), size)
    except (*_BROKEN, TypeError, struct.error):
        return None, gettext("the picture's EXIF cannot be read, so the lens is treated as unknown")


def _focal(exif: Image.Exif, size: tuple[int, int]) -> tuple[float | None, str]:
    """Focal length in px from EXIF, and a word on its source; None when EXIF cannot be trusted for this picture.

    f = f35 * diagonal / 43.267 (CIPA DC-008 calls the tag an equivalence by diagonal; makers differ by some 4 %).
    """
    detail = exif.get_ifd(ExifTags.IFD.Exif)
    zoom = _number(detail.get(ExifTags.Base.DigitalZoomRatio))
    if zoom not in (None, 0.0, 1.0):
        return None, gettext("digital zoom {zoom:g} was used, so the lens is treated as unknown", zoom=zoom)
    if _cropped(detail, size):
        return None, gettext("the picture was cropped after it was taken, so the lens is treated as unknown")
    f35 = _number(detail.get(ExifTags.Base.FocalLengthIn35mmFilm))
    if f35 and 5 <= f35 <= 400:
        return f35 * float(np.hypot(*size)) / FULL_FRAME_DIAGONAL_MM, gettext(
            "EXIF, {focal:g} mm equivalent", focal=f35)
    return None, gettext("no focal length in the picture's EXIF")


def _cropped(detail: dict[int, Any], size: tuple[int, int]) -> bool:
    """Whether the size noted when the picture was taken has another shape than the picture has now."""
    taken = [_number(detail.get(tag)) for tag in (ExifTags.Base.ExifImageWidth, ExifTags.Base.ExifImageHeight)]
    known = [number for number in taken if number]
    if len(known) < 2:
        return False
    then, now = max(known) / min(known), max(size) / min(size)
    return abs(then / now - 1.0) > 0.01


def _number(value: Any) -> float | None:
    """A finite EXIF number, or None."""
    try:
        number = float(value)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return number if np.isfinite(number) else None


def _unreadable(name: str) -> CaptureError:
    if not HAS_HEIC and name.lower().endswith((".heic", ".heif")):
        return CaptureError("no-heic", lazy_gettext(
            "{name}: HEIC pictures need the library pillow-heif, which is not installed here; install it, or save "
            "the picture as JPEG", name=name), where=name)
    return CaptureError("unreadable-photo", lazy_gettext(
        "{name}: this is not a whole JPEG, PNG or HEIC picture; copy it from the phone again, as a file rather than "
        "as a chat message", name=name), where=name)


def _too_large(name: str) -> CaptureError:
    return CaptureError("photo-too-large", lazy_gettext(
        "{name}: the picture has more than {most} megapixels; take it with the phone's ordinary camera "
        "setting", name=name, most=MAX_PIXELS // 1_000_000), where=name)
