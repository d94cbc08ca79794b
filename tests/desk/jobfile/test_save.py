"""Whole or not at all: what a failing disk leaves behind."""
from __future__ import annotations

import os
import stat
import subprocess
import sys
import time

import pytest

from desk.jobfile import save
from desk.jobfile.exchange import exchange
from desk.problem import JobFileError
from desk.jobfile.save import STALE_S, names_in, sweep, write_folder, write_whole


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


@pytest.fixture
def by_turns(monkeypatch):
    """A system on which two folders cannot change places in one step, as on Windows."""
    monkeypatch.setattr(save, "exchange", lambda one, other: False)


@pytest.mark.parametrize("which", [1, 2])
def test_if_the_move_fails_the_earlier_folder_is_back(tmp_path, monkeypatch, by_turns, which):
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


def test_an_earlier_result_is_replaced_by_turns_too(tmp_path, by_turns):
    write_folder(tmp_path / "pack", {"a.txt": b"1", "b.txt": b"1"}, foreign=none_ours)
    write_folder(tmp_path / "pack", {"a.txt": b"2"}, foreign=all_ours)
    assert names_in(tmp_path) == {"pack/a.txt"} and (tmp_path / "pack" / "a.txt").read_bytes() == b"2"
    assert [path.name for path in tmp_path.iterdir()] == ["pack"]


def test_there_is_a_whole_folder_at_every_step(tmp_path, monkeypatch):
    """renameat2(2): RENAME_EXCHANGE exchanges both paths atomically."""
    pack, seen = tmp_path / "pack", []
    write_folder(pack, {"a.txt": b"1"}, foreign=none_ours)

    def looked(*arguments):
        seen.append((pack / "a.txt").read_bytes())
        assert exchange(*arguments), "this file system knows no exchange"
        seen.append((pack / "a.txt").read_bytes())
        return True
    monkeypatch.setattr(save, "exchange", looked)
    monkeypatch.setattr(save, "_swap_by_turns", None)
    write_folder(pack, {"a.txt": b"2"}, foreign=all_ours)
    assert seen == [b"1", b"2"] and [path.name for path in tmp_path.iterdir()] == ["pack"]


def test_what_cannot_be_exchanged_is_an_error_and_not_silence(tmp_path):
    (tmp_path / "one").mkdir()
    with pytest.raises(FileNotFoundError):
        exchange(tmp_path / "one", tmp_path / "other")


class Killed(BaseException):
    """Stands for an end from outside: nothing of the writer's own runs after it."""


@pytest.fixture
def killed_between(tmp_path, monkeypatch, by_turns):
    """A pack whose next write ended when the earlier one was out of the way and the new one not in its place; no
    tidying up ran."""
    pack, real = tmp_path / "pack", os.rename
    write_folder(pack, {"a.txt": b"1"}, foreign=none_ours)

    def rename(source, target):
        if target == pack:
            raise Killed
        real(source, target)
    with monkeypatch.context() as patch:
        patch.setattr(os, "rename", rename)
        patch.setattr(save.shutil, "rmtree", lambda *_, **__: None)
        with pytest.raises(Killed):
            write_folder(pack, {"a.txt": b"2"}, foreign=all_ours)
    assert not pack.exists()
    return pack


def test_a_folder_left_out_of_the_way_is_back_at_the_next_write(killed_between):
    with pytest.raises(JobFileError, match="a.txt"):
        write_folder(killed_between, {"a.txt": b"3"}, foreign=none_ours)  # it is there again, and is asked about
    assert (killed_between / "a.txt").read_bytes() == b"1"


def test_what_writes_left_is_swept_once_it_is_old_and_an_earlier_folder_is_back(killed_between):
    folder, long_ago = killed_between.parent, time.time() - 2 * STALE_S
    (folder / ".job.json.0a1b2c3d.part").write_bytes(b"half")
    (folder / ".mine.part").write_bytes(b"not ours")
    sweep(folder)
    assert not killed_between.exists(), "it may be somebody's work in progress"
    for path in folder.iterdir():
        os.utime(path, (long_ago, long_ago))
    sweep(folder)
    assert names_in(folder) == {".mine.part", "pack/a.txt"} and (killed_between / "a.txt").read_bytes() == b"1"


def test_the_process_s_mask_is_never_touched(tmp_path, monkeypatch):
    """umask(2) is the whole process's: another thread that makes a file meanwhile would make it with the wrong mode."""
    monkeypatch.setattr(os, "umask", None)
    write_whole(tmp_path / "job.json", b"x")
    write_folder(tmp_path / "pack", {"a.txt": b"1"}, foreign=none_ours)


def test_every_file_and_folder_of_a_pack_is_on_the_disk_before_it_takes_its_place(tmp_path, monkeypatch):
    """fsync(2): a file's entry needs its folder synchronised too. Known by device and inode."""
    synced, real = set(), os.fsync

    def noted(handle):
        synced.add(os.fstat(handle).st_ino)
        real(handle)
    monkeypatch.setattr(os, "fsync", noted)
    write_folder(tmp_path / "pack", {"a.txt": b"1", "t/b.txt": b"2"}, foreign=none_ours)
    pack = tmp_path / "pack"
    assert {path.stat().st_ino for path in (tmp_path, pack, pack / "t", pack / "a.txt", pack / "t" / "b.txt")} <= synced


def test_a_killed_writer_leaves_a_whole_file(tmp_path):
    """A process that saves without pause is killed outright; whenever that was, one of the two texts is there in
    full."""
    path = tmp_path / "job.json"
    code = ("import pathlib, sys; from desk.jobfile.save import write_whole\n"
            "path, texts = pathlib.Path(sys.argv[1]), [b'a' * 2_000_000, b'b' * 3_000_000]\n"
            "write_whole(path, texts[0]); print('going', flush=True)\n"
            "while True:\n    for text in texts: write_whole(path, text)\n")
    with subprocess.Popen([sys.executable, "-c", code, str(path)], stdout=subprocess.PIPE) as writer:
        writer.stdout.readline()
        time.sleep(0.2)
        writer.kill()
    assert path.read_bytes() in (b"a" * 2_000_000, b"b" * 3_000_000)


#: Forks a process that writes two packs by turns, kills it at some moment (SIGKILL), and looks what lies there; again
#: and again.
PACK_KILLER = """
import os, random, signal, sys, time
from pathlib import Path
from desk.jobfile.save import write_folder

folder, dice = Path(sys.argv[1]), random.Random(3)
packs = [{f"{n}.txt": word * 9_000 for n in range(count)} for word, count in ((b"old", 12), (b"new", 15))]
for _ in range(int(sys.argv[2])):
    told, tell = os.pipe()
    writer = os.fork()
    if writer == 0:
        while True:
            for pack in packs:
                write_folder(folder, pack, foreign=lambda names: set())
                os.write(tell, b"!")
    os.close(tell)
    os.read(told, 1 << 16)
    time.sleep(dice.uniform(0.0, 0.02))
    os.kill(writer, signal.SIGKILL)
    os.waitpid(writer, 0)
    os.close(told)
    there = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert there in packs, sorted(there)
"""


def test_a_killed_writer_of_packs_leaves_a_whole_one(tmp_path):
    """Whenever it was, one of the two packs is there in full. POSIX's rename says the same of a single file only."""
    done = subprocess.run([sys.executable, "-c", PACK_KILLER, str(tmp_path / "pack"), "30"], capture_output=True,
                          text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
