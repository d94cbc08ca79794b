"""Pictures of a job on disk."""
from __future__ import annotations

import pytest

from capture.errors import CaptureError
from desk.jobfile.files import parse_job
from desk.store.job_store import JobKeeper
from desk.store.photos import look_at_photos, photo_facts, photo_preview, read_photo
from desk.problem import JobFileError


def test_a_picture_tells_its_upright_size_and_focal_length(tmp_path, jpeg):
    (tmp_path / "a.jpg").write_bytes(jpeg(80, 60, focal_35mm=26, orientation=6))
    facts = photo_facts(tmp_path, "a.jpg")
    assert (facts.size, facts.fault) == ((60, 80), "")
    # 26 mm on the 43.267 mm diagonal of 36 x 24, the picture's own diagonal being 100 px (EXIF 2.3, tag 0xA405).
    assert facts.focal_px == pytest.approx(26 * 100 / 43.267, rel=1e-4)


def test_bad_pictures_are_facts(tmp_path, jpeg):
    (tmp_path / "cut.jpg").write_bytes(jpeg(400, 300)[:300])
    (tmp_path / "text.jpg").write_text("no picture")
    (tmp_path / "folder.jpg").mkdir()
    job = parse_job({"photos": [{"file": name} for name in ("cut.jpg", "text.jpg", "folder.jpg", "gone.jpg")]})
    facts = look_at_photos(tmp_path, job)
    assert [(f.missing, f.size) for f in facts.values()] == [(False, None), (False, None), (True, None), (True, None)]
    assert all(name in f.fault for name, f in facts.items())


def test_a_link_cannot_lead_out_of_the_folder(tmp_path, jpeg):
    (tmp_path / "secret.jpg").write_bytes(jpeg())
    (tmp_path / "job").mkdir()
    (tmp_path / "job" / "a.jpg").symlink_to(tmp_path / "secret.jpg")
    with pytest.raises(JobFileError) as caught:
        read_photo(tmp_path / "job", "a.jpg")
    assert caught.value.slug == "path-outside"


def test_added_pictures_get_names_of_their_own_and_keep_their_bytes(tmp_path, jpeg):
    first = JobKeeper(tmp_path).add_photo(jpeg(), name="IMG 1.JPG")
    second = JobKeeper(tmp_path).add_photo(jpeg(focal_35mm=26), name="x.weird/../../y")
    assert (first.file, second.file) == ("photos/1.jpg", "photos/2.jpg")
    assert (tmp_path / "photos" / "2.jpg").read_bytes() == jpeg(focal_35mm=26) and second.focal_px


def test_what_a_cut_off_write_left_is_not_taken_for_a_picture(tmp_path, jpeg):
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / ".1.jpg.0a1b2c3d.part").write_bytes(jpeg())
    assert JobKeeper(tmp_path).add_photo(jpeg(), name="a.jpg").file == "photos/1.jpg"


def test_nothing_is_kept_of_bytes_that_are_no_picture(tmp_path):
    with pytest.raises(CaptureError):
        JobKeeper(tmp_path).add_photo(b"no picture", name="a.jpg")
    assert not (tmp_path / "photos").exists()


def test_a_preview_is_small_upright_and_without_exif(tmp_path, jpeg):
    (tmp_path / "a.jpg").write_bytes(jpeg(80, 60, focal_35mm=26, orientation=6))
    data = photo_preview(tmp_path, "a.jpg", long_side_px=40)
    (tmp_path / "b.jpg").write_bytes(data)
    assert photo_facts(tmp_path, "b.jpg").size == (30, 40) and b"Exif" not in data
