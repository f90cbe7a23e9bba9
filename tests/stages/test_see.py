"""What each photo shows by itself."""

import json
from pathlib import Path

import numpy as np

from fitcheck.stages.see import see_photo

TRUTH = Path(__file__).parents[2] / "sample_images" / "forward_shoulder" / "truth.json"


def test_stickers_are_seen_where_the_drawing_program_put_them(staged):
    truth = json.loads(TRUTH.read_text())["views"]
    suffix = {"wearer_left": "_L", "wearer_right": "_R", None: ""}
    off = [
        np.linalg.norm(s.xy_px - truth[photo.view]["landmarks"][s.name + suffix[s.side]]["px"])
        for photo in staged.seen
        for s in photo.stickers
        if s.name + suffix[s.side] in truth[photo.view]["landmarks"]
    ]
    assert len(off) >= 10
    assert np.median(off) < 3


def test_a_seen_photo_knows_no_scale_yet(staged):
    assert all(photo.pose is not None and photo.scale is None and not photo.usable for photo in staged.seen)
    assert {s.kind for photo in staged.seen for s in photo.soles} == {"outline_bottom"}


def test_a_photo_of_nobody_is_flagged_and_has_no_stickers(staged):
    seen = see_photo(staged.photos[0], None)
    assert "no_person" in seen.flags
    assert seen.stickers == seen.soles == ()
