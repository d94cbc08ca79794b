"""What lies beside a job is believed only with this machine's seal (a message authentication code: RFC 2104; what a
stranger may send: OWASP's pages on deserialization of untrusted data)."""
from __future__ import annotations

import json
import os
import stat
import sys

import pytest

from desk.store import machine_key
from desk.store.last_file import LAST_NAME, read_last, write_last
from desk.store.machine_key import is_sealed, seal_of

TREE = {"format": "tapegroove-last", "version": 1, "figures": [0.1, 2, 1e-300, True, None], "name": "Küche \ud800"}


@pytest.fixture(autouse=True)
def own_machine(tmp_path, monkeypatch):
    monkeypatch.setenv("TAPEGROOVE_SETTINGS", str(tmp_path / "machine" / "settings.json"))
    return tmp_path / "machine"


def test_what_is_written_is_read_also_by_the_next_process(tmp_path, own_machine):
    write_last(tmp_path, TREE)
    machine_key._of_this_process.cache_clear()
    assert read_last(tmp_path) == TREE
    assert read_last(tmp_path / "nowhere") is None


def test_another_machine_leaves_it_alone(tmp_path, own_machine, monkeypatch):
    write_last(tmp_path, TREE)
    monkeypatch.setenv("TAPEGROOVE_SETTINGS", str(tmp_path / "other" / "settings.json"))
    assert read_last(tmp_path) is None


@pytest.mark.parametrize("seal", [None, "", 0, [], {}, "räksmörgås", "0" * 64])
def test_what_somebody_made_up_is_left_alone(tmp_path, seal):
    (tmp_path / LAST_NAME).write_text(json.dumps({"seal": seal, "last": TREE}))
    assert read_last(tmp_path) is None
    assert not is_sealed(TREE, seal)


@pytest.mark.parametrize("spoil", [
    lambda told: told["last"].update(version=2), lambda told: told["last"]["figures"].__setitem__(0, 0.2),
    lambda told: told["last"].pop("name"), lambda told: told.pop("seal"), lambda told: told.pop("last"),
    lambda told: told.update(seal=told["seal"].upper())])
def test_what_somebody_changed_is_left_alone(tmp_path, spoil):
    write_last(tmp_path, TREE)
    told = json.loads((tmp_path / LAST_NAME).read_bytes())
    spoil(told)
    (tmp_path / LAST_NAME).write_text(json.dumps(told))
    assert read_last(tmp_path) is None


@pytest.mark.parametrize("data", [b"", b"{", b"[" * 100_000, b"\xff\xfe", b"[]", b"3", b'{"last": NaN, "seal": ""}',
                                  b'{"seal": "a", "last": ' + b"[" * 900 + b"]" * 900 + b"}", b"9" * 6000])
def test_bytes_that_hold_nothing_of_ours_are_left_alone(tmp_path, data):
    (tmp_path / LAST_NAME).write_bytes(data)
    assert read_last(tmp_path) is None


def test_a_link_is_not_followed(tmp_path):
    write_last(tmp_path, TREE)
    (tmp_path / LAST_NAME).rename(tmp_path / "elsewhere.json")
    (tmp_path / LAST_NAME).symlink_to(tmp_path / "elsewhere.json")
    assert read_last(tmp_path) is None


def test_the_order_of_keys_is_not_sealed():
    assert seal_of({"a": 1, "b": [2]}) == seal_of({"b": [2], "a": 1}) != seal_of({"a": 1, "b": [3]})


@pytest.mark.skipif(sys.platform == "win32", reason="files have no such modes there")
def test_only_its_user_reads_the_secret(own_machine):
    seal_of(TREE)
    secret = own_machine / "seal.key"
    assert stat.S_IMODE(secret.stat().st_mode) == 0o600 and len(secret.read_bytes()) == 32
    assert os.listdir(own_machine) == ["seal.key"]


@pytest.mark.parametrize("spoil", [lambda path: path.write_bytes(b"short"), lambda path: path.unlink()])
def test_a_secret_that_is_lost_is_made_anew(tmp_path, own_machine, spoil):
    write_last(tmp_path, TREE)
    spoil(own_machine / "seal.key")
    assert read_last(tmp_path) is None
    write_last(tmp_path, TREE)
    assert read_last(tmp_path) == TREE


def test_a_machine_that_keeps_nothing_seals_for_as_long_as_it_runs(tmp_path, monkeypatch):
    for kept in ("", str(tmp_path / LAST_NAME / "settings.json")):  # nowhere; where a file is in the way
        monkeypatch.setenv("TAPEGROOVE_SETTINGS", kept)
        write_last(tmp_path, TREE)
        assert read_last(tmp_path) == TREE
        machine_key._of_this_process.cache_clear()
        assert read_last(tmp_path) is None
