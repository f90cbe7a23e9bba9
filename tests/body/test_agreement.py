"""Which view a photo is, and whether all show the same woman, from drawn poses."""

import numpy as np
import pytest
import rig

from fitcheck.body.agreement import looks_like, lying, odd_ones_out
from fitcheck.core.records import Pose, Sighting


def pose(across: float, ahead: float, height: int = 1700) -> Pose:
    """Shoulder breadth and nose as shares of a trunk of 500 px; the figure fills `height` rows."""
    px = np.full((33, 2), 750.0)
    px[[11, 12]] = [[750 + 250 * across, 500], [750 - 250 * across, 500]]
    px[[23, 24]] = [[750 + 120 * across, 1000], [750 - 120 * across, 1000]]
    px[0], px[7], px[8] = (750 + 500 * ahead, 300), (750, 300), (750, 300)
    px[[29, 30], 1] = 100 + height
    mask = np.zeros((2000, 1500), bool)
    mask[100 : 100 + height, 700:800] = True
    return Pose(px, np.zeros((33, 3)), np.ones(33), mask)


@pytest.mark.parametrize(
    ("across", "ahead", "view"), [(0.7, 0, "front"), (-0.7, 0, "back"), (0.02, 0.15, "right"), (-0.03, -0.15, "left"), (0.32, 0.02, None)]
)
def test_view_from_shoulders_and_nose(across, ahead, view):
    assert looks_like(pose(across, ahead), []) == view


def test_a_sticker_that_only_one_view_shows_decides():
    seat = Sighting("seat", None, "front", "marker", np.zeros(2), 0.3)
    assert looks_like(pose(0.7, 0), [seat]) == "back"


def test_a_sticker_that_hangs_on_the_edge_of_a_half_tissue_turns_no_side_view():
    hanging = Sighting("waist_back", None, "left", "marker", np.zeros(2), 0.3)
    assert looks_like(pose(-0.03, -0.15), [hanging]) == "left"
    assert looks_like(pose(-0.03, -0.15), [hanging, Sighting("seat", None, "left", "marker", np.zeros(2), 0.3)]) == "back"
    assert looks_like(pose(0.32, 0.02), [hanging]) == "back"


@pytest.mark.parametrize(("turn_deg", "lies"), [(0, False), (17, False), (90, True), (-90, True), (180, True)])
def test_a_picture_that_was_not_turned_upright(turn_deg: float, lies: bool) -> None:
    upright = pose(0.7, 0)
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    turned = (upright.points_px - 750) @ np.array([[c, s], [-s, c]]) + 750
    assert lying(Pose(turned, upright.points_mm, upright.visibility, upright.mask)) == lies


def test_heights_and_colours_must_agree():
    scale = rig.scale_at()
    views = ("front", "right", "back")
    poses = {view: pose(0.7, 0, 1700) for view in views}
    grey = {view: np.array([60.0, 2.0, 5.0]) for view in views}
    # in the side view she stands further back, so the same figure looks smaller
    poses["right"] = pose(0, 0.1, round(1700 * (2900 - 15) / (2900 + 133)))
    scales = dict.fromkeys(views, scale)
    assert odd_ones_out(poses, scales, grey) == set()
    assert odd_ones_out({**poses, "back": pose(-0.7, 0, 1580)}, scales, grey) == {"back"}
    assert odd_ones_out(poses, scales, {**grey, "back": np.array([60.0, -30.0, 5.0])}) == {"back"}


def test_a_figure_cut_by_the_picture_has_no_height():
    scale = rig.scale_at()
    cut = pose(0.7, 0, 1700)
    cut.mask[:100, 700:800] = True
    others = {view: pose(0.7, 0, 1700) for view in ("right", "back")}
    scales = dict.fromkeys(("front", "right", "back"), scale)
    assert "front" not in odd_ones_out({"front": cut, **others}, scales, {})
