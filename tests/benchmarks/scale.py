"""How far the camera found by the scale card is from the truth, over a folder of scenes.

python -m tests.benchmarks.scale SCENES [--no-focal] [--calibrated]

--no-focal: as if the files no longer told the focal length. --calibrated: with a profile of that camera, measured by
`fitcheck.photo.card.calibrate` from drawn photos of a card held in the hand by the same lens.

One line a photo: camera position in the card frame [mm], card to camera rotation [deg], true vertical against the card's upright [deg],
mm per pixel [%], where body landmarks land when projected [px], milliseconds.
"""

import json
import sys
import time
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np

from fitcheck.core.camera import LensProfile, Photo
from fitcheck.core.points import card_corners_mm
from fitcheck.core.records import Floats
from fitcheck.photo.card.calibrate import calibrate
from fitcheck.photo.card.scale import scales_from_cards
from fitcheck.photo.load import load_photo

sys.path.insert(0, str(Path(__file__).parents[1]))
from photo.conftest import Card, paste_card

TILTS = ((20, 20), (0, 30), (-20, 20), (30, 0), (0, 0), (-30, 5), (22, -22), (5, -30), (-22, -22))


def true_pose(view: dict[str, dict[str, object]]) -> tuple[Floats, Floats, Floats]:
    """Card frame to camera from the true corners, and the true vertical in the camera's frame."""
    camera, card = view["camera"], view["card"]["corners_px"]
    seen = np.array([card[str(k)] for k in range(12)]).reshape(-1, 2)
    _, turn, shift = cv2.solvePnP(card_corners_mm().reshape(-1, 3), seen, np.array(camera["K"]), np.array(camera["dist"]))
    return cv2.Rodrigues(turn)[0], shift.ravel(), np.array(camera["R_world_to_cam"])[:, 2]


def drawn_profile(camera: dict[str, object], model: str) -> LensProfile:
    """Calibrate a lens by nine drawn photos of the card."""
    matrix, bending, size = np.array(camera["K"]), camera["dist"], tuple(camera["size_px"])
    photos = []
    for i, (yaw, pitch) in enumerate(TILTS):
        reach = 600 / matrix[0, 0] * np.array(size) / 6
        card = Card(600, reach[0] * (i % 3 - 1), reach[1] * (i // 3 - 1), yaw, pitch, 0, matrix[0, 0], size, bending=tuple(bending[:2]))
        picture = np.full(size[::-1], 150, np.uint8)
        paste_card(picture, replace(card, light_spreads=True))
        noisy = np.clip(picture + np.random.default_rng(i).normal(0, 1.5, picture.shape), 0, 255).astype(np.uint8)
        photos.append(Photo("front", f"{i}.jpg", "", np.dstack([noisy] * 3), None, model))
    return calibrate(photos)


def angle_deg(a: Floats) -> float:
    return float(np.degrees(np.arccos(np.clip((np.trace(a) - 1) / 2, -1, 1))))


def main(scenes: Path, keep_focal: bool, calibrated: bool) -> None:
    rows: list[tuple[float, ...]] = []
    profiles: dict[str, LensProfile] = {}
    for truth_file in sorted(scenes.glob("*/truth.json")):
        truth = json.loads(truth_file.read_text())
        photos = [load_photo(truth_file.parent / f"{name}.jpg", name) for name in truth["views"]]
        if not keep_focal:
            photos = [replace(photo, focal_px=None) for photo in photos]
        camera = truth["views"][photos[0].view]["camera"]
        if calibrated and (lens := f"{camera['K'][0][0]:.0f} {camera['dist']}") not in profiles:
            profiles[lens] = drawn_profile(camera, photos[0].camera_model)
        lenses = [profiles[lens]] if calibrated else []
        start = time.perf_counter()
        scales = scales_from_cards(photos, lenses=lenses)
        ms = 1000 * (time.perf_counter() - start) / len(photos)
        for photo, scale in zip(photos, scales, strict=True):
            if scale is None:
                print(f"{truth_file.parent.name:26s}{photo.view:6s} no card found")
                continue
            view = truth["views"][photo.view]
            turn, shift, up = true_pose(view)
            found = scale.camera
            mm = float(np.linalg.norm(-found.rotation.T @ found.translation_mm + turn.T @ shift))
            vertical = float(np.degrees(np.arccos(np.clip(found.rotation[:, 1] @ up, -1, 1))))
            size = 100 * (scale.mm_per_px / (shift[2] / view["camera"]["K"][0][0]) - 1)
            focal = 100 * (found.matrix[0, 0] / view["camera"]["K"][0][0] - 1)
            turned = angle_deg(found.rotation @ turn.T)
            rows.append((mm, turned, vertical, size, focal, ms))
            print(
                f"{truth_file.parent.name:26s}{photo.view:6s}{scale.markers:3d} markers  camera {mm:6.1f} mm  rotation {turned:.2f} deg  "
                f"vertical {vertical:.2f} (sd {scale.plumb_sd_deg:.2f}) deg  size {size:+.2f} (sd {100 * scale.scale_sd:.2f}) %  "
                f"focal {focal:+.1f} (sd {100 * scale.focal_sd:.1f}) %  rms {scale.reprojection_px:.2f} px  "
                f"k1 {found.distortion[0]:+.3f}  {ms:.0f} ms  {' '.join(scale.flags)}"
            )
    table = np.array(rows)
    print("root mean square:", " ".join(f"{v:.2f}" for v in np.sqrt((table**2).mean(0))))
    print("largest:         ", " ".join(f"{v:.2f}" for v in np.abs(table).max(0)))


if __name__ == "__main__":
    main(Path(sys.argv[1]), "--no-focal" not in sys.argv, "--calibrated" in sys.argv)
