"""What the network is shown, and that its answer fits the picture."""

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from fitcheck.core.errors import ModelError
from fitcheck.core.weights import weights
from fitcheck.vision.folds import fold_maps
from fitcheck.vision.folds.bare_cloth import BareCloth
from fitcheck.vision.folds.fold_maps import BLOCK_PX, network_input

SHAPE = (301, 171)


def a_crest(tilt_deg: float = 50.0, high_mm: float = 8.0) -> BareCloth:
    """A trunk in slanting light with one upright crest in its middle third."""
    y, x = np.mgrid[: SHAPE[0], : SHAPE[1]] * 2.5
    off = (x - x.mean()) / (x.max() / 2) * 0.8
    height = high_mm * np.exp(-0.5 * ((x - 215) / 9) ** 2) / (1 + np.exp((np.abs(y - 380) - 150) / 10))
    down, right = np.gradient(height, 2.5)
    normal = np.stack([off - right, -down, np.sqrt(1 - off**2)])
    normal /= np.linalg.norm(normal, axis=0)
    light = np.radians(tilt_deg)
    brightness = 0.5 * np.maximum(-np.sin(light) * normal[0] + np.cos(light) * normal[2], 0) + 0.12
    hangs = np.ones(SHAPE, bool)
    inward = cv2.distanceTransform(np.pad(hangs.astype(np.uint8), 1), cv2.DIST_L2, 3)[1:-1, 1:-1] * 2.5
    return BareCloth(brightness.astype(np.float32), hangs, hangs, inward, np.zeros(2), np.ones(2))


def test_a_crest_is_read_where_the_cloth_is_highest() -> None:
    maps = fold_maps.fold_maps(a_crest())
    assert maps.ridge.shape == maps.valley.shape == maps.height_mm.shape == SHAPE
    rows = slice(120, 185)
    assert np.median(np.abs(maps.ridge[rows, 30:-30].argmax(1) + 30 - 215 / 2.5)) < 2.5
    assert np.median(maps.ridge[rows].max(1)) > 0.5


def test_a_smooth_trunk_has_no_folds() -> None:
    maps = fold_maps.fold_maps(a_crest(high_mm=0.0))
    assert maps.ridge[:, 15:-15].max() < 0.3
    assert maps.valley[:, 15:-15].max() < 0.3


def test_a_darker_exposure_says_the_same() -> None:
    cloth = a_crest()
    darker = replace(cloth, brightness=cloth.brightness * np.float32(0.37))
    assert network_input(darker) == pytest.approx(network_input(cloth), abs=1e-4)


def test_the_picture_is_filled_up_to_whole_blocks_outside_the_garment() -> None:
    told = network_input(a_crest())
    assert told.shape == (4, 320, 192)
    assert all(size % BLOCK_PX == 0 for size in told.shape[1:])
    assert not told[:, SHAPE[0] :].any()
    assert not told[:, :, SHAPE[1] :].any()


def test_missing_weights_are_said_so(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "folds").mkdir()
    (tmp_path / "folds" / "card.toml").write_text('file = "folds.onnx"\nsha256 = "0"\n')
    monkeypatch.setenv("FITCHECK_MODELS", str(tmp_path))
    fold_maps._net.cache_clear()
    weights.cache_clear()
    with pytest.raises(ModelError):
        fold_maps.fold_maps(a_crest())
    weights.cache_clear()


def test_a_strip_of_cloth_is_not_read() -> None:
    cloth = a_crest()
    strip = np.s_[:, :39]
    narrow = replace(cloth, **{name: getattr(cloth, name)[strip] for name in ("brightness", "hangs", "shows", "inward_mm")})
    assert fold_maps.fold_maps(narrow) is None
