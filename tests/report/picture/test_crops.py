import base64
import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from fitcheck.core.check import FitCheck, PhotoResult
from fitcheck.report.picture.crops import Box, detail_boxes, jpeg_data, main_box
from fitcheck.report.picture.gaps import gaps_in


def inside(box: Box, result: PhotoResult) -> bool:
    height, width = result.photo.rgb.shape[:2]
    return 0 <= box.left < box.right <= width and 0 <= box.top < box.bottom <= height


def test_the_main_crop_holds_what_was_found_in_one_shape(check: FitCheck) -> None:
    for result in check.photos:
        box = main_box(result, gaps_in(result, check.measurements))
        assert inside(box, result)
        assert box.width / box.height == pytest.approx(3 / 4, abs=0.01)
        assert all(box.holds(s.xy_px) for s in result.sightings if s.grade != "detected")
        assert all(box.holds(p) for seam in result.seams for p in seam.points_px)
        assert box.bottom < 1300  # the legs are left out


def test_an_estimated_point_does_not_widen_the_crop(check: FitCheck, right: PhotoResult) -> None:
    ankle = replace(right.sightings[0], name="ankle", grade="detected", xy_px=np.array([560.0, 1850.0]))
    gaps = gaps_in(right, check.measurements)
    assert main_box(replace(right, sightings=(*right.sightings, ankle)), gaps) == main_box(right, gaps)


def test_without_anything_found_the_whole_photo_is_shown(right: PhotoResult) -> None:
    bare = replace(right, pose=None, scale=None, standing=None, sightings=(), seams=())
    assert main_box(bare, []) == Box(0, 0, 1500, 2000)
    assert detail_boxes(bare, [], 3) == []


def test_a_single_point_in_a_corner_stays_in_the_picture(right: PhotoResult) -> None:
    corner = replace(right.sightings[0], xy_px=np.array([-5.0, 3000.0]))
    assert inside(main_box(replace(right, pose=None, sightings=(corner,), seams=()), []), right)


def test_details_hold_their_gaps_and_near_gaps_share_one(check: FitCheck, right: PhotoResult) -> None:
    gaps = gaps_in(right, check.measurements)
    details = detail_boxes(right, gaps, 9)
    assert sorted(gap.item.key for _, held in details for gap in held) == sorted(gap.item.key for gap in gaps)
    assert all(box.holds(end, 0.1) and inside(box, right) for box, held in details for gap in held for end in gap.ends_px)
    shoulder = next(held for _, held in details if held[0].item.id == "shoulder_seam_behind")
    assert {gap.item.at for gap in shoulder} == {"tip", "neck"}
    assert len(detail_boxes(right, gaps, 2)) == 2


def test_a_detail_shows_a_centimetre_large_enough_on_a_phone(check: FitCheck, right: PhotoResult) -> None:
    (detail, *_) = detail_boxes(right, gaps_in(right, check.measurements), 1)
    assert right.scale is not None
    assert 10 / right.scale.mm_per_px * 343 / detail[0].width > 24  # CSS px on a 375 px phone


def test_the_jpeg_is_the_part_itself(right: PhotoResult) -> None:
    box = Box(600, 300, 900, 700)
    data = base64.b64decode(jpeg_data(right.photo.rgb, box, 400).removeprefix("data:image/jpeg;base64,"))
    image = Image.open(io.BytesIO(data))
    assert image.format == "JPEG"
    assert image.size == (300, 400)
    assert not image.getexif()
    assert np.abs(np.asarray(image, float) - right.photo.rgb[300:700, 600:900]).mean() < 3
    half = jpeg_data(right.photo.rgb, box, 200).removeprefix("data:image/jpeg;base64,")
    assert Image.open(io.BytesIO(base64.b64decode(half))).size == (150, 200)
