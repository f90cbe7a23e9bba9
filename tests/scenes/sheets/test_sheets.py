"""The maker of photographed pieces is right by what can be reckoned by hand."""

import numpy as np
import pytest
from scenes.sheets.drafted import bodice, shape, skirt
from scenes.sheets.paper import printed
from scenes.sheets.photograph import LaidCard
from scenes.sheets.table_camera import above
from shapely import Polygon

CAMERA = above(np.array([100.0, 50.0]), 1000.0, 15.0, 40.0, 3.0, 3000.0, (-0.02, 0.004), (4000, 3000))


def test_the_camera_looks_at_its_target_and_up_is_up():
    plumb = above(np.zeros(2), 1000.0, 0.0, 0.0, 0.0, 3000.0, (0.0, 0.0), (4000, 3000))
    middle, right, lower = plumb.pixels(np.array([[0.0, 0.0], [100.0, 0.0], [0.0, 100.0]]))
    np.testing.assert_allclose(middle, [1999.5, 1499.5], atol=1e-6)
    np.testing.assert_allclose(right - middle, [300, 0], atol=1e-6)
    np.testing.assert_allclose(lower - middle, [0, 300], atol=1e-6)


def test_a_ray_comes_back():
    points = np.array([[0.0, 0.0], [300.0, -200.0], [-250.0, 240.0]])
    np.testing.assert_allclose(CAMERA.on_table(CAMERA.pixels(points)), points, atol=1e-4)
    ground = CAMERA.ground()
    column, row = 1203, 805
    np.testing.assert_allclose(ground[row, column], CAMERA.on_table(np.array([[column, row]], float))[0], atol=0.01)


def test_the_card_lies_flat_and_leans():
    flat = LaidCard(np.array([10.0, 20.0]), 90.0)
    np.testing.assert_allclose(flat.solid(np.array([[50.0, 0.0]])), [[10, 70, 0]], atol=1e-9)
    leaning = LaidCard(np.zeros(2), 0.0, lean_deg=30.0)
    low, high = leaning.solid(np.array([[0.0, 148.5], [0.0, -148.5]]))
    assert low[2] == pytest.approx(0.0)
    assert high[2] == pytest.approx(148.5)


@pytest.mark.parametrize(
    "piece", [bodice("front", 1.0, 15.0, True, True), bodice("back", 0.0, 10.0, False, False), skirt("skirt", 2.0, 15.0, True)]
)
def test_allowance_stands_all_round_but_at_a_fold(piece):
    seam, cut = Polygon(piece.seam_line), Polygon(piece.cutting_line)
    assert seam.is_valid
    assert cut.is_valid
    fold = float(piece.edges["centre"][0, 0])
    assert cut.bounds[0] == pytest.approx(fold if piece.on_fold else fold - piece.allowance)
    assert cut.contains(seam.buffer(-0.01))


def test_what_is_printed_lies_where_it_should():
    square = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])
    sheet = printed([shape("square", square)], ["solid"], square * 1.2 - 10, np.random.default_rng(1), 0.0, 0.0, 0.5)
    column, row = np.round((np.array([50.0, 0.0]) - sheet.corner) * 6).astype(int)
    assert sheet.ink[row, column] > 0.5
    assert sheet.ink[row + 20, column - 40] < 0.05
    assert sheet.mask.sum() / 36 == pytest.approx(120**2, rel=0.002)
