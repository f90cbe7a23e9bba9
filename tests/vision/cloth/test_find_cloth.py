"""The garment is told from the wall behind it and from skin, in light and in shade."""

from dataclasses import replace

import numpy as np
import pytest
from vision import cloth_scene
from vision.cloth_scene import GARMENT, photograph

from fitcheck.vision.cloth.find_cloth import STRIDE, find_cloth
from fitcheck.vision.cloth.log_colour import from_rgb, log_colour, to_rgb


@pytest.mark.parametrize("colour", [(225, 222, 214), (205, 180, 140), (40, 48, 82), (150, 35, 50), (160, 190, 225)])
def test_the_mask_is_the_garment(colour: tuple) -> None:
    cloth = find_cloth(photograph(colour), cloth_scene.pose())
    x0, y0 = cloth.box_px[:2]
    rows, cols = np.nonzero(cloth.mask)
    x, y = x0 + STRIDE * (cols + 0.5), y0 + STRIDE * (rows + 0.5)
    inside = (x > GARMENT[0] - 6) & (x < GARMENT[2] + 6) & (y > GARMENT[1] - 6) & (y < GARMENT[3] + 6)
    assert inside.all()
    area = (GARMENT[2] - GARMENT[0]) * (GARMENT[3] - GARMENT[1])
    assert STRIDE**2 * cloth.mask.sum() > 0.95 * area


def test_a_finer_photo_is_looked_at_in_larger_cells() -> None:
    picture, pose = photograph((225, 222, 214)), cloth_scene.pose()
    fine_pose = replace(pose, points_px=pose.points_px * 2, mask=np.repeat(np.repeat(pose.mask, 2, 0), 2, 1))
    coarse, fine = find_cloth(picture, pose), find_cloth(np.repeat(np.repeat(picture, 2, 0), 2, 1), fine_pose)
    assert fine.stride == 2 * coarse.stride
    assert np.allclose(np.array(fine.box_px) / 2, coarse.box_px, atol=8)
    assert fine.mask.sum() == pytest.approx(coarse.mask.sum(), rel=0.02)


def test_skin_on_cloth_of_like_colour_is_left_out() -> None:
    picture = photograph((205, 180, 140))
    picture[300:400, 160:240] = (190, 142, 125)  # a bare forearm before beige cloth
    pose = cloth_scene.pose()
    pose.points_px[13], pose.visibility[13] = (200, 350), 1.0
    cloth = find_cloth(picture, pose)
    assert not cloth.is_cloth(log_colour(picture)[350:351, 200:201]).any()
    assert cloth.is_cloth(log_colour(picture)[550:551, 200:201]).all()


def test_light_leaves_the_ratios_alone() -> None:
    bright, dim = np.full((1, 1, 3), (200, 150, 100), np.uint8), np.full((1, 1, 3), (100, 75, 50), np.uint8)
    a, b = log_colour(bright)[0, 0], log_colour(dim)[0, 0]
    assert a[0] - b[0] == pytest.approx(np.log(2), abs=0.06)
    assert np.allclose(a[1:], b[1:], atol=0.04)


def test_log_colour_is_undone() -> None:
    rgb = np.array([[[12, 200, 97], [255, 0, 31]]], np.uint8)
    assert np.allclose(to_rgb(log_colour(rgb).astype(float)), rgb + 6.0, atol=0.05)
    assert np.allclose(from_rgb(rgb + 6.0), log_colour(rgb), atol=1e-4)


def test_a_deep_red_is_one_cloth_whatever_its_last_trace_of_blue() -> None:
    """Of blue it has 8 to 24 grey levels, as creases and JPEG will have it: 0.8 in log colour, and no other cloth."""
    picture = photograph((170, 14, 22))
    trace = np.kron(np.random.default_rng(3).integers(-8, 9, (48, 35)), np.ones((16, 16)))[: picture.shape[0], : picture.shape[1]]
    picture[..., 2] = np.clip(picture[..., 2] + trace, 0, 255).astype(np.uint8)
    cloth = find_cloth(picture, cloth_scene.pose())
    assert not cloth.many_coloured
    assert STRIDE**2 * cloth.mask.sum() > 0.9 * (GARMENT[2] - GARMENT[0]) * (GARMENT[3] - GARMENT[1])


def patched() -> np.ndarray:
    """A garment of four colours in patches of 32 px, and a bare forearm across it."""
    picture = photograph((225, 222, 214))
    colours = np.array([(225, 222, 214), (40, 60, 150), (200, 60, 50), (60, 130, 70)])
    x0, y0, x1, y1 = GARMENT
    which = np.kron(np.random.default_rng(0).integers(0, 4, (20, 10)), np.ones((32, 32), int))[: y1 - y0, : x1 - x0]
    light = picture[y0:y1, x0:x1].mean(axis=2, keepdims=True) / 220
    picture[y0:y1, x0:x1] = np.clip(colours[which] * light, 0, 255).astype(np.uint8)
    picture[300:400, 160:240] = (190, 142, 125)
    return picture


def test_a_cloth_of_many_colours_is_known_by_its_place_on_her() -> None:
    picture, pose = patched(), cloth_scene.pose()
    pose.points_px[13], pose.visibility[13] = (200, 350), 1.0
    cloth = find_cloth(picture, pose)
    assert cloth.many_coloured
    assert cloth.own_share < 0.6
    y0 = cloth.box_px[1]
    y = y0 + STRIDE * (np.nonzero(cloth.mask)[0] + 0.5)
    assert (y > 90 - 0.13 * 510).all()  # shoulders at 90, hips at 600
    assert (y < 600 + 0.16 * 510).all()
    covered = (y > 90) & (y < 600)
    assert STRIDE**2 * covered.sum() > 0.9 * (GARMENT[2] - GARMENT[0]) * 510
    patch = log_colour(picture[450:451, 180:420])
    assert cloth.is_cloth(patch).all()
    assert not cloth.has_own_colour(patch).all()
    assert not cloth.is_cloth(log_colour(picture)[350:351, 200:201]).any()


def test_a_plain_cloth_shows_its_own_colour() -> None:
    assert find_cloth(photograph((225, 222, 214)), cloth_scene.pose()).own_share > 0.9
