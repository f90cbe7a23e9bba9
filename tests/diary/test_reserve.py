"""Room beside the diary for what must be written down before it can be forgotten."""

import os
import stat

import pytest

from fitcheck.diary.reserve import keep_reserve, spend_reserve


def test_the_room_is_really_taken_and_is_for_its_owner_only(tmp_path):
    keep_reserve(tmp_path)
    (file,) = tmp_path.iterdir()
    kept = file.stat()
    assert kept.st_size == 1_000_000
    assert kept.st_blocks * 512 >= 1_000_000  # written, not a hole that takes no room
    assert stat.S_IMODE(kept.st_mode) == 0o600


def test_spent_it_is_gone_and_can_be_spent_again(tmp_path):
    keep_reserve(tmp_path)
    spend_reserve(tmp_path)
    assert list(tmp_path.iterdir()) == []
    spend_reserve(tmp_path)
    keep_reserve(tmp_path)
    assert len(list(tmp_path.iterdir())) == 1


def test_what_is_there_is_left_as_it_is(tmp_path):
    keep_reserve(tmp_path)
    (file,) = tmp_path.iterdir()
    os.utime(file, (1, 1))
    keep_reserve(tmp_path)
    assert file.stat().st_mtime == 1


@pytest.mark.parametrize("call", ["open", "write"])
def test_a_full_disk_leaves_no_part_and_no_error(tmp_path, monkeypatch, call):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(f"fitcheck.diary.reserve.os.{call}", full)
    keep_reserve(tmp_path)
    assert list(tmp_path.iterdir()) == []
