"""Films with known truth, drawn from the four photos of a fitting: she sways, and turns between the views."""

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path

import av
import cv2
import numpy as np

from fitcheck.core.records import VIEWS
from fitcheck.photo.load import load_photo
from fitcheck.vision.person.pose import find_people


@dataclass(frozen=True)
class Shot:
    """How a film is taken.

    Attributes
    ----------
    sides : tuple of int
        Width and height.
    sway_px : float
        Standard deviation of the sway at the head, for 1000 px of height.
    order : tuple of str
        Views in the order in which she shows them.
    """

    sides: tuple[int, int] = (1080, 1440)
    rate: int = 20
    stand_s: float = 2.5
    turn_s: float = 1.5
    sway_px: float = 1.5
    noise: float = 2.5
    kbits: int = 16000
    codec: str = "libx264"
    order: tuple[str, ...] = VIEWS
    seed: int = 1
    turned: int = 0
    uneven: bool = False


def write_film(folder: Path, out: Path, shot: Shot = Shot()) -> Path:
    """Draw a film of the fitting whose photos lie in a folder."""
    rng = np.random.default_rng(shot.seed)
    stills = [_still(folder / f"{view}.jpg", shot.sides) for view in shot.order]
    with av.open(str(out), "w") as film:
        stream = film.add_stream(shot.codec, rate=shot.rate)
        stream.width, stream.height = shot.sides if shot.turned in (0, 180) else shot.sides[::-1]
        stream.pix_fmt = "yuv420p"
        stream.bit_rate = shot.kbits * 1000
        stream.options = {"preset": "ultrafast"}
        stream.time_base = stream.codec_context.time_base = Fraction(1, 600)
        at = 0.0
        for picture in _pictures(stills, shot, rng):
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(np.rot90(picture, shot.turned // 90)), format="rgb24")
            frame.pts, frame.time_base = round(at * 600), Fraction(1, 600)
            at += (1 + (0.4 * rng.uniform(-1, 1) if shot.uneven else 0.0)) / shot.rate
            for packet in stream.encode(frame):
                film.mux(packet)
        for packet in stream.encode():
            film.mux(packet)
    return out


def _still(path: Path, sides: tuple[int, int]):
    """A photo at the film's size, and where she is in it, softly."""
    photo = load_photo(path, "front")
    pose = find_people(photo)
    rgb = cv2.resize(photo.rgb, sides, interpolation=cv2.INTER_AREA)
    mask = cv2.resize(pose.mask.astype(np.float32), sides)
    rows = np.flatnonzero(mask.max(axis=1) > 0.5)
    soft = cv2.GaussianBlur(cv2.dilate(mask, np.ones((9, 9))), (0, 0), 9)
    up = np.clip((rows[-1] - np.arange(sides[1])) / np.ptp(rows), 0, 1)
    return rgb, soft.astype(np.float32), up.astype(np.float32)


def _pictures(stills, shot, rng):
    for k, still in enumerate(stills):
        if k:
            yield from _turn(stills[k - 1], still, shot, rng)
        n = round(shot.stand_s * shot.rate)
        sway = _sway(n, shot, rng)
        for dx, dy in sway:
            yield _noisy(_moved(still, dx, dy), shot, rng)


def _sway(n, shot, rng):
    """Sway at the head in pixels: smooth noise with a correlation of half a second, as of someone who stands still."""
    sd = 0.5 * shot.rate
    rough = rng.normal(size=(n + 8 * round(sd), 2))
    smooth = cv2.GaussianBlur(rough, (1, 8 * round(sd) + 1), sigmaX=0.1, sigmaY=sd)[4 * round(sd) :][:n]
    return smooth * np.sqrt(2 * np.sqrt(np.pi) * sd) * [shot.sway_px, 0.2 * shot.sway_px] * shot.sides[1] / 1000


def _moved(still, dx, dy):
    rgb, soft, up = still
    height, width = soft.shape
    across, down = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    by = soft * up[:, None]
    return cv2.remap(rgb, across - by * np.float32(dx), down - by * np.float32(dy), cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)


def _turn(a, b, shot, rng):
    """A quarter turn: she narrows to one side, changes, and widens again; drawn roughly, as nothing is measured in it."""
    n = round(shot.turn_s * shot.rate)
    height, width = a[1].shape
    across, down = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    for i in range(n):
        t = i / n
        rgb, soft, _ = a if t < 0.5 else b
        narrow = 1 - 0.5 * np.sin(np.pi * t)
        middle = float((soft.sum(axis=0) * np.arange(width)).sum() / soft.sum())
        picture = cv2.remap(rgb, (middle + (across - middle) * (1 + (1 / narrow - 1) * soft)).astype(np.float32), down, cv2.INTER_LINEAR)
        yield _noisy(cv2.blur(picture, (9, 1)), shot, rng)


def _noisy(picture, shot, rng):
    """With the grain of a sensor: one drawn field, laid anew each time."""
    grain = _grain(shot.noise, shot.seed, picture.shape[0] + 64, picture.shape[1] + 64)
    y, x = rng.integers(0, 64, 2)
    return cv2.add(picture, grain[y : y + picture.shape[0], x : x + picture.shape[1]], dtype=cv2.CV_8U)


@cache
def _grain(sd, seed, height, width):
    one = np.random.default_rng(seed).normal(0, sd, (height, width)).round().astype(np.int16)
    return np.repeat(one[:, :, None], 3, axis=2)
