"""One floor for all photos, with exact truth: ideal cameras over sheets that lie where they are put."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from fitcheck.core.records import VIEWS
from fitcheck.photo.camera.lens import Lens
from fitcheck.photo.floor.floor_fit import fit_floor
from fitcheck.photo.floor.one_floor import Seen, Setting, Thing

from ...floor_pictures import Lens as TrueLens
from ...floor_pictures import Lying, Shot, card_edges, sheet_sighting

SIZE = (1500, 2000)
FOCAL = 2400.0
LENS = TrueLens(FOCAL, SIZE, -0.02)
# the camera was moved and turned a little between the photos
SHOTS = {
    view: Shot(LENS, (100 + dx, 1100.0, 2800 + dz), 5 + turned, 1 - turned, turned)
    for view, dx, dz, turned in zip(VIEWS, (0, 9, -7, 4), (0, -6, 8, 3), (0.0, 0.3, -0.2, 0.1), strict=True)
}
SHEETS = {"left": Lying(-400, 30, 5), "right": Lying(420, -40, -4)}
UNKNOWN = Lens(FOCAL * 1.15, 0.35, guessed=True)
BY_FILE = Lens(FOCAL * 1.01, 1e-6, 0.01)


def sheets_seen(shown: dict[str, tuple[Thing, ...]] | None = None) -> list[Seen]:
    shown = shown or dict.fromkeys(VIEWS, ("left", "right"))
    return [
        Seen(view, which, sheet_sighting(SHOTS[view], which, SHEETS[which], seed=17 * k + (which == "left")).edges, 0.1)
        for k, view in enumerate(VIEWS)
        for which in shown[view]
        if which != "card"
    ]


def setting(seen: list[Seen], lens: Lens = UNKNOWN) -> Setting:
    return Setting(seen, dict.fromkeys(VIEWS, SIZE), dict.fromkeys(VIEWS, lens), {})


def upright_error_deg(pose: np.ndarray, shot: Shot) -> float:
    return float(np.degrees(np.arccos(np.clip(cv2.Rodrigues(pose[:3])[0][:, 1] @ shot.rotation[:, 1], -1, 1))))


def height_mm(pose: np.ndarray) -> float:
    return float((-cv2.Rodrigues(pose[:3])[0].T @ pose[3:])[1])


def test_two_sheets_alone_tell_the_lens_the_plumb_and_the_height_of_the_camera() -> None:
    fit = fit_floor(setting(sheets_seen()))
    assert fit is not None
    assert set(fit.poses) == set(VIEWS)
    for view in VIEWS:
        assert fit.lenses[view][0] == pytest.approx(FOCAL, rel=0.006)  # begun 15 % off
        assert upright_error_deg(fit.poses[view], SHOTS[view]) < 0.05
        assert height_mm(fit.poses[view]) == pytest.approx(1100.0, abs=7.0)
    # the right sheet lies 820 mm to the right and 70 mm nearer the camera, seen along the left one, which is turned by 5 degrees
    c, s = np.cos(np.radians(5)), np.sin(np.radians(5))
    x, _, z = fit.places["right", 0][3:]
    assert (x, z) == pytest.approx((820 * c - 70 * s, 820 * s + 70 * c), abs=1.0)
    assert np.sqrt(fit.covariance[0, 0]) < 0.01


@pytest.mark.parametrize("curl_mm", [6.0, 12.0])
def test_corners_that_stand_up_hardly_tilt_the_floor(curl_mm: float) -> None:
    """All eight curl alike: taken for flat, 6 mm put the camera 17 mm too high and the upright off by 0.3 degrees."""
    curled = {which: replace(lying, curl_mm=curl_mm) for which, lying in SHEETS.items()}
    seen = [
        Seen(view, which, sheet_sighting(SHOTS[view], which, lying, seed=17 * k + (which == "left")).edges, 0.1)
        for k, view in enumerate(VIEWS)
        for which, lying in curled.items()
    ]
    for lens in (BY_FILE, UNKNOWN):
        fit = fit_floor(setting(seen, lens))
        assert fit is not None
        for view in VIEWS:
            assert upright_error_deg(fit.poses[view], SHOTS[view]) < 0.06
            assert height_mm(fit.poses[view]) == pytest.approx(1100.0, abs=4.0)
        for bends in fit.curls_mm.values():
            np.testing.assert_allclose(bends.reshape(2, 4).sum(axis=0), curl_mm, rtol=0.25)


def test_what_a_lens_file_says_is_bettered() -> None:
    fit = fit_floor(setting(sheets_seen(), BY_FILE))
    assert fit is not None
    assert fit.lenses["front"][0] == pytest.approx(FOCAL, rel=0.004)


def test_one_sheet_is_enough_and_photos_may_show_different_ones() -> None:
    shown: dict[str, tuple[Thing, ...]] = {"front": ("left", "right"), "right": ("right",), "back": ("left",), "left": ("right",)}
    fit = fit_floor(setting(sheets_seen(shown), BY_FILE))
    assert fit is not None
    for view in VIEWS:
        assert upright_error_deg(fit.poses[view], SHOTS[view]) < 0.15


def test_without_a_sheet_there_is_no_floor() -> None:
    assert fit_floor(setting([])) is None


def test_a_crooked_wall_card_is_measured_and_not_believed() -> None:
    turn = cv2.Rodrigues(np.array([np.radians(2.0), 0, np.radians(3.0)]))[0]
    card = [Seen(view, "card", card_edges(SHOTS[view], (700, 1300, -900), turn), 0.1) for view in VIEWS]
    fit = fit_floor(setting([*sheets_seen(), *card], BY_FILE))
    assert fit is not None
    hung = cv2.Rodrigues(fit.places["card", 0][:3])[0]
    off = np.degrees(np.arccos(hung[1, 1]))
    assert off == pytest.approx(np.degrees(np.arccos(turn[1, 1])), abs=0.1)
    assert upright_error_deg(fit.poses["front"], SHOTS["front"]) < 0.05


@pytest.mark.parametrize("share", [0.97, 1.03])
def test_a_wall_card_of_another_size_beside_true_sheets_does_no_harm(share: float) -> None:
    """Smaller, it looks farther away; upright and height stay those of the floor (0.1 degrees and 4 mm at the camera)."""
    seen = []
    for view in VIEWS:
        edges = card_edges(SHOTS[view], (700, 1300, -900), np.eye(3))
        seen.append(Seen(view, "card", replace(edges, middles_mm=edges.middles_mm / share), 0.1))
    fit = fit_floor(setting([*sheets_seen(), *seen], BY_FILE))
    assert fit is not None
    assert fit.cost < 0.15 * sum(len(s.edges.normals) for s in [*sheets_seen(), *seen])
    for view in VIEWS:
        assert upright_error_deg(fit.poses[view], SHOTS[view]) < 0.1
        assert height_mm(fit.poses[view]) == pytest.approx(1100.0, abs=5.0)
