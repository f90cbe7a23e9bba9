"""What may befall a photo on its way, done to a drawn one so that its truth in mm stays what it was."""

import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from fitcheck.core.camera import Photo
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.points import CARD_COLUMNS, CARD_GAP_MM, CARD_MARKER_MM, CARD_ROWS, card_corners_mm
from fitcheck.photo.load import load_photo

Change = Callable[[Photo, dict], Photo]
AROUND_CARD_MM = 15.0  # of the sheet's white rim: it hides the old card where the new one is smaller


@dataclass(frozen=True)
class Perturbation:
    """A change of every photo of a fitting; `facts` is what the wearer would then say."""

    name: str
    change: Change
    facts: FittingFacts = field(default_factory=FittingFacts)


def with_card_at(share: float) -> Change:
    """The card printed at `share` of its size: the card's own plane shrinks about the card's middle."""

    def change(photo: Photo, view: dict) -> Photo:
        seen = view["card"]["corners_px"]
        mm = card_corners_mm()[:, :, :2].reshape(-1, 2)
        px = np.array([seen[str(k)] for k in range(CARD_COLUMNS * CARD_ROWS)]).reshape(-1, 2)
        to_px, _ = cv2.findHomography(mm, px)
        half = np.array([n * (CARD_MARKER_MM + CARD_GAP_MM) - CARD_GAP_MM + 2 * AROUND_CARD_MM for n in (CARD_COLUMNS, CARD_ROWS)]) / 2
        height, width = photo.rgb.shape[:2]
        to_old = to_px @ np.diag([1 / share, 1 / share, 1]) @ np.linalg.inv(to_px)
        shrunk = cv2.warpPerspective(photo.rgb, to_old, (width, height), flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP)
        rim = np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]]) * half * share
        inside = np.zeros((height, width), np.uint8)
        cv2.fillConvexPoly(inside, cv2.perspectiveTransform(rim[None], to_px)[0].round().astype(np.int32), 1)
        return replace(photo, rgb=np.where(inside[:, :, None] > 0, shrunk, photo.rgb))

    return change


def rolled(deg: float) -> Change:
    """The camera rolled about its axis; what leaves the picture is lost, what enters repeats its rim."""

    def change(photo: Photo, view: dict) -> Photo:
        height, width = photo.rgb.shape[:2]
        turn = cv2.getRotationMatrix2D(((width - 1) / 2, (height - 1) / 2), deg, 1.0)
        rgb = cv2.warpAffine(photo.rgb, turn, (width, height), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
        return replace(photo, rgb=rgb)

    return change


def jpeg(quality: int, size_px: tuple[int, int] | None = None) -> Change:
    """Saved once more, perhaps smaller, and opened as any photo.

    Raises PhotoError where it is refused.
    """

    def change(photo: Photo, view: dict) -> Photo:
        image = Image.fromarray(photo.rgb)
        small = image if size_px is None else image.resize(size_px, Image.Resampling.LANCZOS)
        with tempfile.TemporaryDirectory() as folder:
            small.save(Path(folder) / photo.name, quality=quality)
            opened = load_photo(Path(folder) / photo.name, photo.view)
        focal_px = None if photo.focal_px is None else photo.focal_px * small.width / image.width
        return replace(opened, focal_px=focal_px, camera_model=photo.camera_model)

    return change


def halved(photo: Photo, view: dict) -> Photo:
    """Half as many pixels each way."""
    rgb = cv2.resize(photo.rgb, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    return replace(photo, rgb=rgb, focal_px=None if photo.focal_px is None else photo.focal_px / 2)


def brighter(by: float) -> Change:
    """Every grey level times `by`, burnt out at white."""
    return lambda photo, view: replace(photo, rgb=np.clip(photo.rgb * by, 0, 255).round().astype(np.uint8))


def blurred(sd_px: float) -> Change:
    """Out of focus."""
    return lambda photo, view: replace(photo, rgb=cv2.GaussianBlur(photo.rgb, (0, 0), sd_px))


def noisy(sd: float) -> Change:
    """A dim room: independent noise of that many grey levels."""

    def change(photo: Photo, view: dict) -> Photo:
        noise = np.random.default_rng(len(photo.name)).normal(0, sd, photo.rgb.shape)
        return replace(photo, rgb=np.clip(photo.rgb + noise, 0, 255).round().astype(np.uint8))

    return change


def nameless(photo: Photo, view: dict) -> Photo:
    """Sent through a messenger that strips what the camera wrote."""
    return replace(photo, focal_px=None, camera_model="")


PERTURBATIONS = (
    Perturbation("as they are", lambda photo, view: photo),
    Perturbation("card at 97 %, bar told", with_card_at(0.97), FittingFacts(card_bar_mm=97)),
    Perturbation("card at 97 %, not told", with_card_at(0.97)),
    Perturbation("camera rolled 3 deg", rolled(3.0)),
    *(Perturbation(f"JPEG quality {quality}", jpeg(quality)) for quality in (15, 25, 30, 40, 60, 80)),
    *(Perturbation(f"900 x 1200, quality {quality}", jpeg(quality, (900, 1200))) for quality in (40, 60, 80)),
    Perturbation("half resolution", halved),
    Perturbation("brightness x 0.6", brighter(0.6)),
    Perturbation("brightness x 1.5", brighter(1.5)),
    *(Perturbation(f"blur sd {sd_px:g} px", blurred(sd_px)) for sd_px in (1.5, 3.0)),
    Perturbation("noise sd 6", noisy(6.0)),
    Perturbation("no EXIF", nameless),
)
