"""Arrows of pointer stickers followed to their tips: pasted by known homographies, bent, covered and left out."""

import cv2
import numpy as np
import pytest
from vision.printed import at, cloth, lying, paste, printed_sticker
from vision.samples import as_photo

from fitcheck.vision.stickers.find_stickers import find_point_markers
from fitcheck.vision.stickers.pattern_fit import StickerFit
from fitcheck.vision.stickers.pointer_arrow import FLAT_SD_MM, PLANE_SD_MM, follow_arrow


@pytest.mark.parametrize("px_per_mm", [0.8, 1.1, 2.0])
@pytest.mark.parametrize("kind", ["head", "line", "strip"])
def test_pointer_tip(kind, px_per_mm):
    """Pasted pointers at several turns and tilts: the tip, not the sticker's centre, within a pixel (0.7 mm on large photos)."""
    for i, (spin, tilt) in enumerate(((0, 0), (75, 30), (170, 45), (260, 20))):
        side = round(160 * px_per_mm)
        to_photo = lying((side / 2, side / 2), px_per_mm, spin, tilt, 40.0 * i)
        rgb = paste(cloth(side, side, i), printed_sticker(64, kind), to_photo) + np.random.default_rng(i).normal(0, 2, (side, side, 1))
        photo = as_photo(
            cv2.copyMakeBorder(np.clip(rgb, 0, 255).astype(np.uint8), 0, round(2000 * px_per_mm) - side, 0, 0, cv2.BORDER_REPLICATE)
        )
        (sighting,) = find_point_markers(photo)
        assert (sighting.name, sighting.side, sighting.kind) == ("shoulder_point", "wearer_left", "pointer")
        error = np.hypot(*(sighting.xy_px - at(to_photo, 0, 40)))
        assert error < max(1.0, 0.7 * px_per_mm)
        assert error < 3 * sighting.sd_px


def test_pointer_on_a_bent_surface_follows_the_arrow():
    """Beyond the sticker the surface turns away by 50 degrees, so on the sticker's plane the tip would lie 8 px further."""
    flat = lying((100, 110), 1.0)
    rgb = paste(cloth(200, 200), printed_sticker(65, "head"), flat)
    rows = np.arange(200.0)
    edge = at(flat, 0, 18)[1]
    above = edge - rows
    source = np.where(above > 0, edge - above / np.cos(np.radians(50)), rows)
    x, y = np.meshgrid(np.arange(200.0), source)
    bent = cv2.remap(rgb.astype(np.float32), x.astype(np.float32), y.astype(np.float32), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    tip = np.array([at(flat, 0, 40)[0], edge - (edge - at(flat, 0, 40)[1]) * np.cos(np.radians(50))])
    photo = as_photo(cv2.copyMakeBorder(bent.astype(np.uint8), 0, 1800, 0, 0, cv2.BORDER_REPLICATE), "right")
    (sighting,) = find_point_markers(photo)
    assert at(flat, 0, 40)[1] < tip[1] - 7
    assert np.hypot(*(sighting.xy_px - tip)) < 1.0


@pytest.mark.parametrize("number", [64, 67])
def test_a_covered_arrow_head_on_the_bust_does_not_shorten_the_arrow(number):
    """From 30 mm on the arrow lies under cloth. On the bust, which is flat, its end is known from print; elsewhere it ends there."""
    to_photo = lying((100, 110), 1.1)
    rgb = paste(cloth(200, 200), printed_sticker(number, "head"), to_photo)
    covered = round(at(to_photo, 0, 31)[1])
    rgb[:covered] = cloth(200, 200)[:covered]
    (sighting,) = find_point_markers(as_photo(cv2.copyMakeBorder(rgb.astype(np.uint8), 0, 2000, 0, 0, cv2.BORDER_REPLICATE)))
    error = np.hypot(*(sighting.xy_px - at(to_photo, 0, 40)))
    assert (error < 1.5 and sighting.sd_px > 1.5) == (sighting.name == "bust_point")


def test_pointer_without_an_arrow_says_how_unsure_it_is():
    to_photo = lying((100, 110), 1.0, 30)
    rgb = paste(cloth(200, 200), printed_sticker(65), to_photo)
    (sighting,) = find_point_markers(as_photo(cv2.copyMakeBorder(rgb.astype(np.uint8), 0, 1800, 0, 0, cv2.BORDER_REPLICATE)))
    assert np.hypot(*(sighting.xy_px - at(to_photo, 0, 40))) < 2
    assert sighting.sd_px > 3


def square_on(scale: float = 1.0) -> StickerFit:
    """A sticker seen square on at 2 px a mm in the photo, its middle at (100, 120); the fit in pixels of the photo times `scale`."""
    shape = np.array([[100.0, 31.0, 0, 0, 0, 0], [120.0, 0, -31.0, 0, 0, 0]]) * scale
    shape[:, 0] += 0.5 * scale - 0.5
    return StickerFit(64, shape, 0.05, 0.99, 200.0)


def drawn(tip_mm: float, aside_mm: float = 0.0) -> np.ndarray:
    """A white ground with a black shaft and head from the paper's edge (15.5 mm above the middle) up to `tip_mm`."""
    k = 8
    fine = np.full((160 * k, 200 * k, 3), 235, np.uint8)

    def px(x_mm: float, y_mm: float) -> tuple[int, int]:
        return round((100.5 + 2 * x_mm) * k), round((120.5 - 2 * y_mm) * k)

    cv2.fillPoly(fine, [np.array([px(-1, 15), px(1, 15), px(1 + aside_mm, tip_mm - 7), px(aside_mm - 1, tip_mm - 7)])], (20, 20, 20))
    cv2.fillPoly(fine, [np.array([px(aside_mm - 4, tip_mm - 8), px(aside_mm + 4, tip_mm - 8), px(aside_mm, tip_mm)])], (20, 20, 20))
    return cv2.GaussianBlur(cv2.resize(fine, (200, 160), interpolation=cv2.INTER_AREA), (0, 0), 0.7)


@pytest.mark.parametrize("tip_mm", [30.0, 40.0, 50.0])
@pytest.mark.parametrize("scale", [1.0, 0.75])
def test_a_drawn_tip_lies_where_it_was_drawn_however_long_it_looks(tip_mm, scale):
    """On the picture 2 px a mm: 30 mm up is 60 px. Printed the tip is 40 mm up; bent surfaces make it look shorter or longer."""
    tip = follow_arrow(drawn(tip_mm), square_on(scale), scale, 2.0 * scale)
    assert tip.xy_px == pytest.approx([100, 120 - 2 * tip_mm], abs=1.0)
    assert tip.sd_px < 2
    assert np.abs(tip.path_px[:, 0] - 100).max() < 1.5
    assert tip.path_px[0, 1] > tip.path_px[-1, 1]  # from the paper up


def test_an_arrow_that_leans_aside_is_followed_aside():
    tip = follow_arrow(drawn(38.0, aside_mm=2.5), square_on(), 1.0, 2.0)
    assert tip.xy_px == pytest.approx([105, 44], abs=1.2)


@pytest.mark.parametrize(("flat", "sd_mm"), [(False, PLANE_SD_MM), (True, FLAT_SD_MM)])
def test_without_an_arrow_the_paper_is_continued(flat, sd_mm):
    """40 mm above the middle are 80 px; on a flat bust the doubt is less."""
    tip = follow_arrow(np.full((160, 200, 3), 235, np.uint8), square_on(), 1.0, 2.0, flat)
    assert tip.xy_px == pytest.approx([100, 40])
    assert tip.sd_px == pytest.approx(2 * sd_mm)
    assert len(tip.path_px) == 0


def test_a_broad_shadow_is_no_arrow():
    rgb = np.full((160, 200, 3), 235, np.uint8)
    rgb[:90, 80:120] = 120  # 20 mm wide
    assert len(follow_arrow(rgb, square_on(), 1.0, 2.0).path_px) == 0
