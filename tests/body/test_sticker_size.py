"""A card printed at 95 % makes every sticker look 5 % too large; and stickers tell how far off the card's depth she stands."""

from dataclasses import replace

import numpy as np
import pytest
import rig

from fitcheck.body.adjust import adjust
from fitcheck.body.sticker_size import SIDE_MM, USUAL_INSET_PX, common_sd, printed_share, side_px, sticker_ratio, unlike_the_card
from fitcheck.core.camera import FloorSeen
from fitcheck.core.evidence import Evidence
from fitcheck.core.records import VIEWS, Sighting

ON_FLOOR = FloorSeen(("left", "right"), 12, None)
GROWTH_PX = 0.58  # white grows so far into a sticker's square of 31 mm where nothing else is known of the photo


def with_stickers(scale, size_mm, behind_mm=0.0):
    """The rig's points as centred stickers whose outer corners are drawn `size_mm` apart, less what white takes of them.

    She stands `behind_mm` further away than she should: the same picture as of a body that much smaller, but for the stickers.
    """
    points = rig.body()
    found = []
    size_mm -= GROWTH_PX * scale.mm_per_px
    for view, keys in rig.SEEN_IN.items():
        across = {"front": [1, 0, 0], "back": [-1, 0, 0], "right": [0, 0, 1], "left": [0, 0, -1]}[view]
        h = size_mm / 2
        for name, side in keys:
            corners = np.array([[-h, h], [h, h], [h, -h], [-h, -h]])
            at = points[name, side] + corners[:, :1] * np.array(across) + corners[:, 1:] * np.array([0, 1, 0])
            nearer = 1 - behind_mm / scale.distance_mm
            px = rig.pixels(scale, view, points[name, side] + nearer * (at - points[name, side]))
            found.append(Sighting(name, side, view, "marker", px.mean(0), 0.3, corners_px=px))
    return found


@pytest.mark.parametrize(
    ("size_mm", "odd"), [(31.0, False), (31.0 / 0.97, True), (31.0 / 0.95, True), (31.0 * 0.95, True), (31.0 * 1.01, False)]
)
def test_size_against_the_card(size_mm, odd):
    scale = replace(rig.scale_at(), inset_px=USUAL_INSET_PX)
    seen = with_stickers(scale, size_mm)
    ratio = sticker_ratio(adjust(Evidence(dict.fromkeys(VIEWS, scale), seen)), seen, dict.fromkeys(VIEWS, scale))
    assert ratio == pytest.approx(size_mm / 31.0, abs=0.02)
    assert bool(unlike_the_card(ratio, [scale])) == odd


def test_too_few_stickers_say_nothing():
    scale = rig.scale_at()
    seen = with_stickers(scale, 29.0)
    assert sticker_ratio(adjust(Evidence(dict.fromkeys(VIEWS, scale), seen)), seen[:3], dict.fromkeys(VIEWS, scale)) is None
    assert not unlike_the_card(None, [scale])


def test_one_photo_alone_says_nothing():
    """Its distance is not known to a percent, so neither is what a sticker measures."""
    scale = rig.scale_at()
    seen = with_stickers(scale, 29.0)
    front = [s for s in seen if s.view == "front"]
    assert sticker_ratio(adjust(Evidence(dict.fromkeys(VIEWS, scale), seen)), front, dict.fromkeys(VIEWS, scale)) is None


@pytest.mark.parametrize("behind_mm", [-60.0, 60.0])
def test_stickers_tell_that_she_stands_off_the_cards_depth(behind_mm):
    """60 mm of 2900 are 2 %: without the stickers' size she is measured too small or large by as much, with it by a fraction."""
    scale = replace(rig.scale_at(), depth_sd_mm=20.0, inset_px=0.355)
    seen = with_stickers(scale, 31.0, behind_mm)
    scales = dict.fromkeys(VIEWS, scale)
    without, sized = adjust(Evidence(scales, seen)), adjust(Evidence(scales, seen, sticker_share=1.0))
    truth = 1 + behind_mm / scale.distance_mm

    keys = [("back_neck_point", None), ("seat", None)]

    def size(points):
        return points[keys[0]][1] - points[keys[1]][1]

    errors = [abs(size(dict(zip(b.keys, b.positions_mm, strict=True))) / size(rig.body()) - truth) for b in (without, sized)]
    assert errors[0] > 0.012
    assert errors[1] < 0.5 * errors[0]
    assert sized.derive(lambda a, b: float(a[1] - b[1]), keys).sd < 0.8 * without.derive(lambda a, b: float(a[1] - b[1]), keys).sd


def test_white_that_grew_is_given_back():
    """Where the card's corners lie further inside their squares, white took more of the stickers too; seen longer side 31 px."""
    corners = np.array([[-15.5, 15.5], [15.5, 15.5], [15.5, -15.5], [-15.5, -15.5]]) + [749.5, 999.5]
    sticker = Sighting("waist_front", None, "front", "marker", corners.mean(0), 0.3, corners_px=corners)
    little, usual, much = (side_px(sticker, replace(rig.scale_at(), inset_px=inset)) for inset in (0.0, 0.355, 0.7))
    assert usual == side_px(sticker, rig.scale_at()) == pytest.approx(SIDE_MM + GROWTH_PX, abs=0.01)
    assert little < usual < much
    assert common_sd([replace(rig.scale_at(), inset_px=0.0)]) > common_sd([replace(rig.scale_at(), inset_px=0.355)])


def test_bent_slanted_or_doubted_stickers_do_not_count():
    corners = np.array([[-15.5, 15.5], [15.5, 15.5], [15.5, -15.5], [-15.5, -15.5]]) + [749.5, 999.5]
    sticker = Sighting("waist_front", None, "front", "marker", corners.mean(0), 0.3, corners_px=corners)
    slanted = (corners - corners.mean(0)) * [0.8, 1.0] + corners.mean(0)
    for other in ({"name": "shoulder_point"}, {"flags": ("marker_guessed",)}, {"corners_px": slanted}, {"kind": "pointer"}):
        assert side_px(replace(sticker, **other), rig.scale_at()) is None


@pytest.mark.parametrize(("size_mm", "share"), [(31.0 * 0.97, 0.97), (31.0, 1.0)])
def test_stickers_of_the_floor_sheets_printer_or_of_another_are_told_by_their_size(size_mm, share):
    """Sheets at 97 %: stickers of 30.1 mm came from the same printer, those of 31 mm from another; neither contradicts them."""
    scale = replace(rig.scale_at(), inset_px=USUAL_INSET_PX, print_share=0.97, floor=ON_FLOOR)
    seen = with_stickers(scale, size_mm)
    ratio = sticker_ratio(adjust(Evidence(dict.fromkeys(VIEWS, scale), seen)), seen, dict.fromkeys(VIEWS, scale))
    assert printed_share(ratio, [scale]) == share
    assert not unlike_the_card(ratio, [scale])


def test_stickers_at_94_percent_contradict_sheets_at_97():
    scale = replace(rig.scale_at(), inset_px=USUAL_INSET_PX, print_share=0.97, floor=ON_FLOOR)
    assert unlike_the_card(0.94, [scale]) == pytest.approx(0.031, abs=0.001)


def test_beside_sheets_one_percent_off_the_stickers_are_its_printers_and_doubted_by_as_much():
    scale = replace(rig.scale_at(), inset_px=USUAL_INSET_PX, print_share=0.99, floor=ON_FLOOR)
    assert printed_share(None, [scale]) == 0.99
    assert common_sd([scale]) == pytest.approx(np.hypot(0.003, 0.01), abs=1e-4)


def test_too_few_stickers_beside_sheets_at_97_percent_tell_no_size():
    assert printed_share(None, [replace(rig.scale_at(), print_share=0.97, floor=ON_FLOOR)]) is None


def test_a_card_alone_printed_off_size_leaves_the_stickers_size_open():
    assert common_sd([replace(rig.scale_at(), print_share=0.97)]) > 5 * common_sd([replace(rig.scale_at(), inset_px=0.355)])
    assert printed_share(0.97, [replace(rig.scale_at(), print_share=0.97)]) == 1.0
