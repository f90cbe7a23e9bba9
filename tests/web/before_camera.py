"""Films for the browser's make-believe camera, drawn from the photos of a sample fitting; they are made anew each time."""

from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from web.opened import SAMPLES

Picture = NDArray[np.uint8]


def photo(view: str, fitting: str = "forward_shoulder") -> Picture:
    """A sample photo, blue first."""
    found = cv2.imread(str(SAMPLES / fitting / f"{view}.jpg"))
    assert found is not None
    return found


def before_camera(picture: Picture, size: tuple[int, int]) -> Picture:
    """As a lying camera of that width and height shows her: the whole height, and more of the wall to either side."""
    width, height = size
    by = height / picture.shape[0]
    small = cv2.resize(picture, None, fx=by, fy=by, interpolation=cv2.INTER_AREA)[:height]
    left = (width - small.shape[1]) // 2
    return cv2.copyMakeBorder(small, 0, 0, left, width - small.shape[1] - left, cv2.BORDER_REPLICATE)


def write_y4m(path: Path, seconds: Sequence[Picture]) -> Path:
    """A film of one picture a second, which the browser shows again and again."""
    height, width = seconds[0].shape[:2]
    with open(path, "wb") as file:
        file.write(f"YUV4MPEG2 W{width} H{height} F1:1 Ip A1:1 C420jpeg\n".encode())
        for picture in seconds:
            file.write(b"FRAME\n" + cv2.cvtColor(picture, cv2.COLOR_BGR2YUV_I420).tobytes())
    return path
