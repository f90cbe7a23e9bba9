"""What is asked about points put right by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from rig import scale_at

from fitcheck.body.placed import read_placed
from fitcheck.body.placed_doubt import believed, outside
from fitcheck.core.records import SeamLine, Sighting

# A body before the front camera whose shoulder point is seen at 800, 500, a millimetre to the pixel.
BODY = SimpleNamespace(
    views={"front": SimpleNamespace(project=lambda point: np.array([[800.0, 500.0]]), mm_per_px=lambda point: 1.0)},
    position=lambda name, side: np.zeros(3),
)
SCALES = {"front": scale_at()}


def placed(x, y, kind="placed"):
    return Sighting("shoulder_point", "wearer_left", "front", "placed", np.array([x, y], float), 2.0, kind=kind)


@pytest.mark.parametrize(
    ("xy", "words"),
    [
        ((400, 250), "Times 2 they would fit"),
        ((267, 166), "Times 3 they would fit"),
        ((1600, 1000), "Times 1/2 they would fit"),
        ((320, 200), "Times 2.5 they would fit"),
        ((500, 800), "The other way round they would fit"),
        ((800, 900), "counted from its top left corner?"),
    ],
)
def test_a_point_far_off_is_asked_about_and_hardly_counts(xy, words):
    asked = believed([placed(*xy)], [], BODY, SCALES)
    assert words in asked.questions[0]
    assert "did you mean pixels of the upright photo" in asked.questions[0]
    assert "sure = true" in asked.questions[0]
    away = np.hypot(xy[0] - 800, xy[1] - 500)
    assert asked.points[0].sd_px == pytest.approx(away, rel=0.01)
    assert asked.points[0].flags == ("placed_far",)


def test_a_point_near_the_body_or_her_sticker_or_insisted_on_is_believed():
    sticker = Sighting("shoulder_point", "wearer_left", "front", "marker", np.array([800.0, 880.0]), 0.2)
    for point, found in ((placed(830, 480), []), (placed(800, 900), [sticker]), (placed(400, 250, "placed_sure"), [])):
        assert believed([point], found, BODY, SCALES).points == (point,)
        assert believed([point], found, BODY, SCALES).questions == ()
    assert believed([placed(400, 250)], [], None, SCALES).questions == ()


def test_what_lies_outside_its_picture_is_named():
    sizes = {"front": (1500, 2000)}
    assert outside([placed(1499, 1999)], [], sizes) == ""
    said = outside([placed(2400, 500)], [], sizes)
    assert said == "Shoulder point (wearer left) at 2400, 500 lies outside the front photo, which has 1500 x 2000 pixels."
    assert "Waist at 10, 2500" in outside([], [SeamLine("waist", None, "front", np.array([[10.0, 10.0], [10.0, 2500.0]]), 1.0)], sizes)


def test_how_she_says_that_she_is_sure(tmp_path):
    (tmp_path / "placed.toml").write_text('[[point]]\nname = "waist_front"\nview = "front"\nxy = [1, 2]\nsure = true\n')
    points, _ = read_placed(tmp_path / "placed.toml", ["shoulder_point:wearer_left:left=1,2,sure", "waist_back:back=1,2"])
    assert [p.kind for p in points] == ["placed_sure", "placed_sure", "placed"]
