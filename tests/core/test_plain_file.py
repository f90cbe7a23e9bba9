"""Files that users name, and what is no such file."""

import os

import pytest

from fitcheck.core.errors import UsageError
from fitcheck.core.plain_file import MOST_BYTES, read_plain


def test_the_bytes_as_they_are(tmp_path):
    (tmp_path / "file").write_bytes(b"\x00\xff\r\n")
    assert read_plain(tmp_path / "file", "") == b"\x00\xff\r\n"


def test_what_is_no_plain_file_is_said_and_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "endless").symlink_to("/dev/zero")
    (tmp_path / "ring").symlink_to("ring")
    with open(tmp_path / "large", "wb") as file:
        file.truncate(MOST_BYTES + 1)
    for name, says in (("pipe", "no plain file"), ("endless", "no plain file"), (".", "no plain file"), ("large", "larger than")):
        with pytest.raises(UsageError, match=says):
            read_plain(tmp_path / name, "Give another.")
    for name in ("ring", "nowhere", "x" * 300):
        with pytest.raises(UsageError, match="cannot be read"):
            read_plain(tmp_path / name, "Give another.")
    with pytest.raises(UsageError, match="cannot be read"):
        read_plain(tmp_path / "a\0b", "Give another.")
