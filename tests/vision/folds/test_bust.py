"""The bust by its shading: drawn maps give what they were drawn with, and photos the truth's height."""

import json
from pathlib import Path

import numpy as np
import pytest

from fitcheck.photo.card.scale import scales_from_cards
from fitcheck.photo.load import load_photo
from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.folds.bare_cloth import STEP_MM, BareCloth, bare_cloth
from fitcheck.vision.folds.bust import SHARPER, find_bust
from fitcheck.vision.folds.fold_maps import FoldMaps, fold_maps
from fitcheck.vision.lines.seams import find_seams
from fitcheck.vision.person.pose import find_people
from fitcheck.vision.stickers.find_stickers import find_point_markers

SAMPLE = Path(__file__).parents[3] / "sample_images" / "forward_shoulder"
ZOOM = 0.7


def maps_about(places_px: list[tuple[float, float]], sd_px: float) -> tuple[BareCloth, FoldMaps]:
    """Maps of an empty garment with its bust points at places of the photo, spread by so many pixels of the bare cloth."""
    empty = np.zeros((320, 192), np.float32)
    y, x = np.mgrid[:160, :96] * 2 + 0.5  # blocks of two pixels
    bare = BareCloth(empty, empty > 0, empty > 0, empty, np.array([100.0, 200.0]), np.full(2, ZOOM))
    bust = []
    for place in places_px:
        at = (np.array(place) - bare.origin_px + 0.5) * ZOOM - 0.5
        likely = np.exp(-0.5 * ((x - at[0]) ** 2 + (y - at[1]) ** 2) / sd_px**2)
        bust.append(likely / likely.sum())
    return bare, FoldMaps(empty, empty, empty, np.array(bust, np.float32))


def test_points_and_their_doubt_are_those_of_the_maps() -> None:
    bare, maps = maps_about([(230.0, 330.0), (150.0, 333.0)], 1.6)
    left, right = find_bust("front", bare, maps)
    assert (left.side, right.side) == ("wearer_left", "wearer_right")
    assert left.xy_px == pytest.approx([230, 330], abs=0.05)
    assert right.xy_px == pytest.approx([150, 333], abs=0.05)
    assert left.sd_px == pytest.approx(SHARPER * 1.6 / ZOOM, rel=0.02)
    assert find_bust("right", bare, maps) == ()
    assert find_bust("front", *maps_about([(230.0, 330.0), (150.0, 333.0)], 1.2 * 12 / STEP_MM)) == ()


def test_the_height_of_the_bust_is_read_off_the_cloth() -> None:
    """Stickers lie on this bust, are bridged, and take some of its shading away: here 8 mm are allowed."""
    photo = load_photo(SAMPLE / "front.jpg", "front")
    (scale,) = scales_from_cards([photo], 100.0)
    pose = find_people(photo)
    stickers, cloth = find_point_markers(photo, pose=pose), find_cloth(photo.rgb, pose)
    bare = bare_cloth(photo, cloth, stickers, find_seams(photo, pose, stickers, scale.mm_per_px, cloth), scale.mm_per_px)
    truth = json.loads((SAMPLE / "truth.json").read_text())["views"]["front"]["landmarks"]
    found = find_bust("front", bare, fold_maps(bare))
    assert len(found) == 2
    for sighting in found:
        at = truth["bust_point_L" if sighting.side == "wearer_left" else "bust_point_R"]["px"]
        assert abs(sighting.xy_px - at)[1] * scale.mm_per_px < 8
