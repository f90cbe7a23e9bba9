"""The photos of the sample fittings and their truth, as tests of the pictures use them."""

import json
from functools import cache
from pathlib import Path

import cv2
import numpy as np

from fitcheck.core.camera import Photo

SAMPLES = Path(__file__).parents[2] / "sample_images"


def as_photo(rgb: np.ndarray, view: str = "front") -> Photo:
    return Photo(view, f"{view}.jpg", "", np.ascontiguousarray(rgb), None, "")


@cache
def sample(scene: str, view: str) -> Photo:
    return as_photo(cv2.imread(str(SAMPLES / scene / f"{view}.jpg"))[:, :, ::-1], view)


@cache
def truth(scene: str) -> dict:
    return json.loads((SAMPLES / scene / "truth.json").read_text())
