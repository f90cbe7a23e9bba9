"""A file for its owner alone."""

import os
import stat

import pytest

from fitcheck.core.own_files import owner_only


def test_nobody_else_may_read_a_new_file(tmp_path):
    path = tmp_path / "diary"
    before = os.umask(0)
    try:
        with open(path, "w", opener=owner_only) as file:
            file.write("hers")
    finally:
        os.umask(before)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert path.read_text() == "hers"


def test_what_is_there_is_not_overwritten_in_secret(tmp_path):
    path = tmp_path / "diary"
    path.write_text("hers")
    with pytest.raises(FileExistsError), open(path, "x", opener=owner_only):
        pass
    assert path.read_text() == "hers"
