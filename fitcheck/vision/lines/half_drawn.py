"""How much is drawn on each side of the trunk, which tells a half tissue from what is worn beside it."""

from collections.abc import Sequence

import numpy as np

from fitcheck.core.camera import Photo
from fitcheck.core.pose_joints import HIPS, SHOULDERS
from fitcheck.core.records import SIDES, Pose, Side, Sighting
from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.cloth.trunk_frame import trunk_frame
from fitcheck.vision.cloth.which_half import image_side
from fitcheck.vision.lines.pen_lines import find_curves
from fitcheck.vision.lines.seam_scores import inked, run_of
from fitcheck.vision.lines.seams import hidden_by

FROM_MIDDLE_MM = 25.0  # nearer the middle lines may be either side's
LEAST_INK, MOST_EDGE = 0.5, 0.5  # as `inked`; share of a line with cloth on one side only: more is the rim of something


def drawn_mm(photo: Photo, pose: Pose, marks: Sequence[Sighting], mm_per_px: float) -> dict[Side, float]:
    """Length of the lines drawn on the cloth of each side in a front or back view."""
    middle = float(pose.points_px[[*SHOULDERS, *HIPS], 0].mean())
    found: dict[Side, float] = {}
    for side in SIDES:
        way = image_side(side, photo.view)
        cloth = find_cloth(photo.rgb, pose, way)
        frame = trunk_frame(pose, cloth, photo.view, mm_per_px)
        runs = [run_of(curve, frame) for curve in find_curves(photo.rgb, cloth, hidden_by(marks, mm_per_px), mm_per_px)]
        found[side] = sum(
            run.length_mm
            for run in runs
            if inked(run) > LEAST_INK
            and run.curve.edge < MOST_EDGE
            and way * (np.median(run.curve.points_px[:, 0]) - middle) * mm_per_px > FROM_MIDDLE_MM
        )
    return found
