"""Every sentence that the camera's page can say is written once, recorded, and short."""

import io
import re
from pathlib import Path

import av
import pytest

from fitcheck.web.spoken import recording, sentences

WEB = Path(__file__).parents[2] / "fitcheck/web"
NAMES = sorted(sentences()[1])


def test_what_is_asked_for_is_written():
    """Names in the page's script and in the checks, against the table; and none is there for nothing."""
    script = (WEB / "static/camera.js").read_text("utf-8")
    asked = set(re.findall(r'yield "(\w+)"', (WEB / "live.py").read_text("utf-8")))
    asked |= {f"turn_{view}" for view in ("front", "right", "back", "left")}
    said = {name for name in NAMES if re.search(rf'"{name}"', script)}
    assert asked | said == set(NAMES)
    assert asked <= set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_recorded_and_short(name):
    """About a syllable in a fifth of a second; the count must be said within its second."""
    with av.open(io.BytesIO(recording(name))) as said:
        lasts_s = said.duration / 1e6
    words = len(sentences()[1][name].split())
    assert 0.15 * words < lasts_s < 0.8 * words + 0.5
    assert lasts_s < (1.0 if name in ("three", "two", "one") else 5.0)


@pytest.mark.parametrize("name", ["", "nothing", "../spoken", "language"])
def test_no_other_file_is_handed_out(name):
    assert recording(name) is None


def test_recordings_are_small():
    assert sum(len(recording(name)) for name in NAMES) < 250_000
