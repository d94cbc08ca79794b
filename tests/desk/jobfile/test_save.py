"""Whole or not at all: what a failing disk leaves behind."""
from __future__ import annotations

import os
import stat
import subprocess
import sys
import time

import pytest

from desk.problem import JobFileError
from desk.jobfile.save import names_in, write_folder, write_whole


def all_ours(_: set[str]) -> set[str]:
    return set()


def none_ours(names: set[str]) -> set[str]:
    return names


@pytest.fixture(params=["fsync", "replace", "fdopen"])
def failing_disk(request, monkeypatch):
    def fail(*_, **__):
        raise OSError(28, "No space left on device")
    monkeypatch.setattr(os, request.param, fail)


def test_a_failed_write_leaves_the_old_file_and_no_litter(tmp_path, failing_disk):
    (tmp_path / "job.json").write_bytes(b"old")
    with pytest.raises(JobFileError, match="No space left on device.*nothing was changed") as caught:
        write_whole(tmp_path / "job.json", b"new")
    assert caught.value.slug == "cannot-write"
    assert (tmp_path / "job.json").read_bytes() == b"old"
    assert names_in(tmp_path) == {"job.json"}


def test_a_reader_sees_old_or_new_at_every_step(tmp_path, monkeypatch):
    """Just before the one step that matters the old bytes are there in full, just after it the new ones."""
    path, seen = tmp_path / "job.json", []
    path.write_bytes(b"old")
    real = os.replace

    def watched(source, target):
        seen.append(path.read_bytes())
        real(source, target)
        seen.append(path.read_bytes())
    monkeypatch.setattr(os, "replace", watched)
    write_whole(path, b"new" * 1000)
    assert seen == [b"old", b"new" * 1000]


def test_files_are_readable_by_others_as_the_mask_says(tmp_path):
    write_whole(tmp_path / "a", b"x")
    mask = os.umask(0)
    os.umask(mask)
    assert stat.S_IMODE((tmp_path / "a").stat().st_mode) == 0o666 & ~mask


def test_a_folder_is_made_with_its_folders(tmp_path):
    write_folder(tmp_path / "deep" / "pack", {"a.txt": b"1", "t/b.txt": b"2"}, foreign=none_ours)
    assert names_in(tmp_path) == {"deep/pack/a.txt", "deep/pack/t/b.txt"}


def test_an_earlier_result_is_replaced_whole(tmp_path):
    write_folder(tmp_path / "pack", {"a.txt": b"1", "b.txt": b"1"}, foreign=none_ours)
    write_folder(tmp_path / "pack", {"a.txt": b"2"}, foreign=all_ours)
    assert names_in(tmp_path) == {"pack/a.txt"} and (tmp_path / "pack" / "a.txt").read_bytes() == b"2"


def test_foreign_files_are_never_replaced(tmp_path):
    (tmp_path / "thesis.txt").write_text("mine")
    with pytest.raises(JobFileError, match="thesis.txt.*lost") as caught:
        write_folder(tmp_path, {"a.txt": b"1"}, foreign=none_ours)
    assert caught.value.slug == "folder-in-use" and names_in(tmp_path) == {"thesis.txt"}


def test_a_file_or_link_in_the_way_is_named(tmp_path):
    (tmp_path / "pack").write_text("a file")
    (tmp_path / "link").symlink_to(tmp_path)
    for name in ("pack", "link"):
        with pytest.raises(JobFileError, match="not a folder"):
            write_folder(tmp_path / name, {"a": b""}, foreign=all_ours)


@pytest.mark.parametrize("which", [1, 2])
def test_if_the_move_fails_the_earlier_folder_is_back(tmp_path, monkeypatch, which):
    write_folder(tmp_path / "pack", {"a.txt": b"1"}, foreign=none_ours)
    real, calls = os.rename, []

    def failing(source, target):
        calls.append(source)
        if len(calls) == which:
            raise OSError(5, "Input/output error")
        real(source, target)
    monkeypatch.setattr(os, "rename", failing)
    with pytest.raises(JobFileError, match="nothing was changed"):
        write_folder(tmp_path / "pack", {"a.txt": b"2"}, foreign=all_ours)
    assert names_in(tmp_path) == {"pack/a.txt"} and (tmp_path / "pack" / "a.txt").read_bytes() == b"1"


def test_a_killed_writer_leaves_a_whole_file(tmp_path):
    """A process that saves without pause is killed outright; whenever that was, one of the two texts is there in
    full."""
    path = tmp_path / "job.json"
    code = ("import pathlib, sys; from desk.save import write_whole\n"
            "path, texts = pathlib.Path(sys.argv[1]), [b'a' * 2_000_000, b'b' * 3_000_000]\n"
            "write_whole(path, texts[0]); print('going', flush=True)\n"
            "while True:\n    for text in texts: write_whole(path, text)\n")
    with subprocess.Popen([sys.executable, "-c", code, str(path)], stdout=subprocess.PIPE) as writer:
        writer.stdout.readline()
        time.sleep(0.2)
        writer.kill()
    assert path.read_bytes() in (b"a" * 2_000_000, b"b" * 3_000_000)
