"""Pictures decoded in other processes: within limits, without keeping anything else waiting, and with errors that
come through as they were."""
from __future__ import annotations

import io
import json
import os
import signal
import struct
import threading
import time
import zlib
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from capture.errors import CaptureError
from desk.actions.look import look_in_bytes
from desk.server import decoding
from desk.limited_pool import Limits
from desk.server.decoding import Decoding
from desk.store.job_store import JobKeeper
from desk.store.photos import PhotoFacts, photo_facts, photo_preview
from desk.problem import JobFileError
from desk.server.worker import Replaced


@pytest.fixture
def apart(tmp_path, processes_kept) -> Iterator[Decoding]:
    made = Decoding(tmp_path)
    yield made
    made.close()


def swelling(width: int, height: int) -> bytes:
    """A whole PNG of one colour: a thousandth of its size unpacked (PNG specification, 3rd edition, section 11.2)."""
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    packer = zlib.compressobj(1)
    packed = b"".join(packer.compress(b"\0" + b"\x78\x5a\x3c" * width) for _ in range(height)) + packer.flush()
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
        + chunk(b"IDAT", packed)
        + chunk(b"IEND", b"")
    )


def put(folder, name: str, data: bytes) -> str:
    (folder / "photos").mkdir(exist_ok=True)
    (folder / "photos" / name).write_bytes(data)
    return f"photos/{name}"


def test_all_is_told_as_it_would_be_here(apart, tmp_path, jpeg):
    file = put(tmp_path, "1.jpg", jpeg(focal_35mm=26, orientation=6))
    assert apart.facts(file) == photo_facts(tmp_path, file) and apart.facts(file).size == (60, 80)
    assert apart.preview(file, long_side_px=40) == photo_preview(tmp_path, file, long_side_px=40)
    assert apart.tell(jpeg(), "new.jpg") == PhotoFacts(file="new.jpg", size=(80, 60),
                                                       focal_from="no focal length in the picture's EXIF")
    assert apart.facts("photos/9.jpg").missing


def test_refusals_come_through_as_they_were(apart, tmp_path, jpeg):
    with pytest.raises(CaptureError, match="not a whole JPEG") as caught:
        apart.tell(b"no picture", "a.jpg")
    assert (caught.value.slug, caught.value.where) == ("unreadable-photo", "a.jpg")
    with pytest.raises(JobFileError) as lost:
        apart.preview("photos/9.jpg", long_side_px=40)
    assert lost.value.slug == "missing-photo"
    with pytest.raises(CaptureError) as outside:
        apart.snap(put(tmp_path, "1.jpg", jpeg()), (900.0, 5.0))
    assert outside.value.slug == "mark-outside"


def test_a_tap_is_answered_as_it_would_be_here(apart, tmp_path):
    """Beside the demo's corner B, whose place the renderer's camera tells (truth.json); no tap lies outside."""
    demo = Path(__file__).parents[3] / "demo_photos"
    told = json.loads((demo / "truth.json").read_text("utf-8"))["photos"]
    x, y = next(photo["points"]["B"] for photo in told if photo["file"] == "photos/room-4.jpg")
    file = put(tmp_path, "4.jpg", (demo / "photos" / "room-4.jpg").read_bytes())
    found = apart.tapped(file, (x - 14.0, y + 9.0), None)
    assert np.hypot(found.x_px - x, found.y_px - y) < 2.0 and found.sure > 2.0 / 3.0
    with pytest.raises(CaptureError) as outside:
        apart.tapped(file, (9000.0, 5.0), None)
    assert outside.value.slug == "mark-outside"


def test_floor_corners_are_looked_for_as_they_would_be_here(apart, tmp_path):
    """In a lane of its own; a picture that is none is refused as everywhere."""
    data = (Path(__file__).parents[3] / "demo_photos" / "photos" / "room-4.jpg").read_bytes()
    file = put(tmp_path, "1.jpg", data)
    found = apart.look(file, None, 0.0)
    assert found == look_in_bytes(data, file) and len(found.corners) >= 2
    with pytest.raises(CaptureError) as caught:
        apart.look(put(tmp_path, "2.jpg", b"no picture"), None, 0.0)
    assert caught.value.slug == "unreadable-photo"


def test_a_picture_over_the_limit_of_pixels_is_refused(apart):
    with pytest.raises(CaptureError) as caught:
        apart.tell(claimed(12_000, 11_000), "big.png")
    assert caught.value.slug == "photo-too-large"


def claimed(width: int, height: int) -> bytes:
    """The head of a PNG of that size, with no picture behind it."""
    whole = swelling(1, 1)
    head = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return whole[:12] + head + struct.pack(">I", zlib.crc32(head)) + whole[33:]


@pytest.fixture(params=[decoding.USUAL_PIXELS, 10 ** 9], ids=["in the large lane", "in the usual lane"])
def tight(request, tmp_path, monkeypatch) -> Iterator[Decoding]:
    """Lanes with less memory than 119 megapixels take; the interpreter and its libraries have theirs."""
    monkeypatch.setattr(decoding, "USUAL", Limits(seconds=600.0, memory_mb=520.0))
    monkeypatch.setattr(decoding, "LARGE", Limits(seconds=600.0, memory_mb=520.0))
    made = Decoding(tmp_path, usual_pixels=request.param)
    yield made
    made.close()


def test_a_picture_that_takes_too_much_memory_is_one_sentence_and_the_next_one_is_read(tight, tmp_path, jpeg):
    file = put(tmp_path, "1.png", swelling(12_000, 9_900))
    with pytest.raises(
        JobFileError, match=r"photos/1.png: reading this picture takes more memory or time.*save it smaller"
    ) as caught:
        tight.preview(file, long_side_px=40)
    assert caught.value.slug == "heavy-photo"
    told = tight.facts(file)
    assert told.size is None and "more memory or time" in told.fault and not told.missing
    assert tight.tell(jpeg(), "next.jpg").size == (80, 60)


def test_a_picture_that_takes_too_long_is_one_sentence(tmp_path, monkeypatch):
    monkeypatch.setattr(decoding, "USUAL", Limits(seconds=0.01, memory_mb=1100.0))
    slow = Decoding(tmp_path)
    file = put(tmp_path, "1.png", swelling(5_000, 4_900))
    with pytest.raises(JobFileError) as caught:
        slow.preview(file, long_side_px=4_000)
    assert caught.value.slug == "heavy-photo"
    slow.close()


def test_a_process_that_is_ended_takes_no_other_picture_with_it(apart, tmp_path, jpeg):
    file = put(tmp_path, "1.jpg", jpeg())
    with pytest.raises(JobFileError) as caught:
        apart._run(_killed, tmp_path, file)
    assert caught.value.slug == "heavy-photo" and apart.facts(file).size == (80, 60)


def _killed(folder, file) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def test_a_large_picture_keeps_no_usual_one_waiting(apart, tmp_path, jpeg):
    """The lane of large ones is held until the usual one has been told."""
    go, held = tmp_path / "go", tmp_path / "held"
    file = put(tmp_path, "1.png", claimed(9_000, 9_000))
    answers: list[object] = []
    waiting = [threading.Thread(target=lambda: answers.append(apart._run(_held, tmp_path, file))) for _ in range(4)]
    for thread in waiting:
        thread.start()
    while not held.exists():
        assert apart.tell(jpeg(), "usual.jpg").size == (80, 60)
    assert apart.tell(jpeg(), "usual.jpg").size == (80, 60) and answers == []
    go.touch()
    for thread in waiting:
        thread.join(timeout=120)
    assert answers == ["held"] * 4


def _held(folder, file) -> str:
    (folder / "held").touch()
    while not (folder / "go").exists():
        time.sleep(0.01)
    return "held"


def test_nothing_of_the_job_is_locked_while_a_picture_is_told(tmp_path, jpeg):
    keeper = JobKeeper(tmp_path / "job")
    keeper.open_or_start()
    seen: list[str] = []

    def tell(data: bytes, name: str) -> PhotoFacts:
        tree, revision = keeper.load()
        seen.append(keeper.save(tree | {"title": "meanwhile"}, revision=revision))
        seen.append(keeper.add_photo(jpeg(90, 70), name="other.jpg").file)
        return PhotoFacts(file=name, size=(80, 60))
    facts = keeper.add_photo(jpeg(), name="IMG 1.jpg", tell=tell)
    assert seen == [keeper.revision(), "photos/1.jpg"] and facts.file == "photos/2.jpg"


def test_many_at_once_get_a_name_each_and_the_same_picture_one(tmp_path, jpeg):
    keeper, together = JobKeeper(tmp_path / "job"), threading.Barrier(8)
    keeper.open_or_start()
    files: list[str] = []

    def tell(data: bytes, name: str) -> PhotoFacts:
        together.wait(60)
        return PhotoFacts(file=name, size=(80, 60))
    threads = [threading.Thread(target=lambda n=n: files.append(keeper.add_photo(jpeg(80 + n // 2), name=f"{n}.jpg",
                                                                                 tell=tell).file)) for n in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert sorted(set(files)) == [f"photos/{n}.jpg" for n in range(1, 5)] and len(files) == 8


def test_whoever_waits_when_it_is_closed_is_told(tmp_path):
    closing, told = Decoding(tmp_path), []
    file = put(tmp_path, "1.png", claimed(9_000, 9_000))

    def wait() -> None:
        try:
            closing._run(_held, tmp_path, file)
        except Replaced as error:
            told.append(error)
    thread = threading.Thread(target=wait)
    thread.start()
    while not (tmp_path / "held").exists():
        time.sleep(0.01)
    closing.close()
    thread.join(timeout=60)
    assert len(told) == 1
    with pytest.raises(Replaced):
        closing.tell(b"", "a.jpg")


def test_marks_are_snapped_in_pixels_that_are_kept_until_another_picture_comes(tmp_path, monkeypatch, jpeg):
    """In this process, where it can be counted; the same function runs in the others."""
    decoded: list[str] = []
    monkeypatch.setattr(decoding, "photo_pixels", lambda folder, file: decoded.append(file)
                        or np.zeros((60, 80, 3), np.uint8))
    monkeypatch.setattr(decoding, "_last", None)
    one, other = put(tmp_path, "1.jpg", jpeg()), put(tmp_path, "2.jpg", jpeg())
    for file in (one, one, other, other, one):
        with pytest.raises(CaptureError):
            decoding._alone(decoding._snapped, tmp_path, file, ((500.0, 5.0),))
    assert decoded == [one, other, one]
    decoding._alone(photo_facts, tmp_path, other, ())
    assert decoding._last is None


def test_a_jpeg_is_read_to_its_end_in_little_memory(jpeg):
    """A JPEG cut short anywhere is refused, though only an eighth of its size is decoded (ITU-T T.81: the
    coefficients follow one another)."""
    rng = np.random.default_rng(5)
    target = io.BytesIO()
    Image.fromarray(rng.integers(0, 255, (600, 800, 3), dtype=np.uint8)).save(target, "JPEG", quality=80)
    whole = target.getvalue()
    from capture.image.photo import decode_photo
    assert decode_photo(whole, name="a.jpg").width_px == 800
    for cut in (0.5, 0.9, 0.99):
        with pytest.raises(CaptureError):
            decode_photo(whole[:int(cut * len(whole))], name="a.jpg")
