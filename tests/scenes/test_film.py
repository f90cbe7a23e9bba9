"""A figure that is a flat board with one dark spot: where the spot is in a film's picture is worked out by the camera alone."""

import json

import cv2
import numpy as np
import pytest

from tests.scenes.camera import Camera
from tests.scenes.film import READOUT_S, Rendered
from tests.scenes.film_specs import LENS_TOLD, draw_film_spec
from tests.scenes.motion import draw_motion

SPEC = draw_film_spec("film", 3, LENS_TOLD, size=(540, 960))
SPOT = np.array([0.0, 0.0, 1.35])
AXIS_Y, CHEST_Z = 0.0, 9.0  # far above her: no breath moves the board


def spot_px(time_s: float) -> np.ndarray:
    turn, shift = draw_motion(SPEC).place(time_s, AXIS_Y)
    return Camera(SPEC.camera, np.random.default_rng(0)).project(turn @ SPOT + shift)[0]


@pytest.fixture(scope="module")
def rendered(tmp_path_factory) -> Rendered:
    folder = tmp_path_factory.mktemp("film")
    (folder / "keys").mkdir()
    moments = draw_motion(SPEC).moments()
    across, up = np.meshgrid(np.arange(-0.25, 0.25, 0.006), np.arange(0.05, 1.65, 0.006))
    board = np.stack([across.ravel(), np.zeros(across.size), up.ravel()], 1)
    np.savez(folder / "points.npz", points=(1e4 * board).round().astype(np.int16))
    (folder / "film.json").write_text(
        json.dumps({"keys": [{"time_s": m.time_s, "kind": m.kind} for m in moments], "chest_z_m": CHEST_Z, "axis_y_m": AXIS_Y})
    )
    for i, moment in enumerate(moments):
        picture = np.full((960, 540, 3), 200, np.uint8)
        x, y = spot_px(moment.time_s)
        cv2.circle(picture, (round(16 * x), round(16 * y)), 16 * 9, (20, 20, 20), -1, cv2.LINE_AA, shift=4)
        cv2.imwrite(str(folder / "keys" / f"{i:04d}.jpg"), picture, [cv2.IMWRITE_JPEG_QUALITY, 98])
    return Rendered(folder, SPEC)


def seen_px(picture: np.ndarray) -> np.ndarray:
    dark = np.clip(150.0 - picture[:, :, 0], 0, None)
    rows, columns = np.mgrid[: dark.shape[0], : dark.shape[1]]
    return np.array([(columns * dark).sum(), (rows * dark).sum()]) / dark.sum()


def test_she_is_where_her_sway_takes_her_at_the_time_of_each_row(rendered):
    stand = rendered.motion.stands[0]
    moments = [m.time_s for m in rendered.motion.moments() if stand.start_s <= m.time_s <= stand.end_s]
    between = (np.array(moments[1:]) + moments[:-1]) / 2
    moved = [np.linalg.norm(spot_px(time_s) - spot_px(key)) for time_s, key in zip(between, moments, strict=False)]
    assert max(moved) > 0.5  # so that a picture only repeated would be seen
    for time_s in between:
        seen = seen_px(rendered.picture(time_s))
        assert np.abs(seen - spot_px(time_s + READOUT_S * seen[1] / 960)).max() < 0.15


def test_while_she_turns_the_spot_is_between_the_rendered_moments(rendered):
    stand = rendered.motion.stands[0]
    turning = [m.time_s for m in rendered.motion.moments() if m.kind == "turn" and m.time_s > stand.end_s][:2]
    time_s = sum(turning) / 2
    assert np.abs(seen_px(rendered.picture(time_s)) - spot_px(time_s)).max() < 1.5
