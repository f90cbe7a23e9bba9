"""Her choices for all pages."""

import stat

import pytest

from fitcheck.core.errors import OutputError
from fitcheck.web.choices import Choices, keep_choices, read_choices


def test_they_are_kept_for_her_alone(tmp_path):
    path = tmp_path / "settings" / "page.toml"
    keep_choices(path, Choices(units="in", finest="fine", paper="letter"))
    assert read_choices(path) == Choices(units="in", finest="fine", paper="letter")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_amounts_are_told_in_sixteenths_only_where_asked():
    assert Choices(units="in", finest="fine").told_in == "in/16"
    assert Choices(units="in").told_in == "in"
    assert Choices(finest="fine").told_in == "cm"


@pytest.mark.parametrize("text", ["", "units = 3", "[[", 'units = "ell"'])
def test_what_cannot_be_read_leaves_the_usual_ones(tmp_path, text):
    (tmp_path / "page.toml").write_text(text)
    assert read_choices(tmp_path / "page.toml") == Choices()


def test_where_nothing_can_be_kept(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(OutputError, match="cannot be kept"):
        keep_choices(tmp_path / "file" / "page.toml", Choices())
