"""Files in their place whole or not at all, and for whom they are."""

import os
from pathlib import Path

import pytest

from fitcheck.core.errors import OutputError
from fitcheck.report.on_disk import in_place, write_page


def mode(path: Path) -> int:
    return path.stat().st_mode & 0o777


def test_a_page_is_for_its_owner_and_a_printed_sheet_for_anybody(tmp_path: Path) -> None:
    write_page("page", tmp_path / "page.html")
    with in_place(tmp_path / "card.pdf") as waiting:
        waiting.write_bytes(b"%PDF")
    (tmp_path / "other").write_text("")
    assert mode(tmp_path / "page.html") == 0o600
    assert mode(tmp_path / "card.pdf") == mode(tmp_path / "other")
    assert sorted(os.listdir(tmp_path)) == ["card.pdf", "other", "page.html"]


def test_what_fails_leaves_the_earlier_file(tmp_path: Path) -> None:
    (tmp_path / "card.pdf").write_bytes(b"earlier")

    def stopped() -> None:
        with in_place(tmp_path / "card.pdf") as waiting:
            waiting.write_bytes(b"half")
            raise ValueError("stopped")

    with pytest.raises(ValueError, match="stopped"):
        stopped()
    assert (tmp_path / "card.pdf").read_bytes() == b"earlier"
    assert os.listdir(tmp_path) == ["card.pdf"]


def test_no_folder_is_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="cannot be written"):
        write_page("page", tmp_path / "absent" / "page.html")
