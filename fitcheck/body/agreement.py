"""Do the photos show what their names say, and all the same woman in the same clothes?"""

from collections.abc import Mapping, Sequence

import numpy as np

from fitcheck.core.camera import Scale
from fitcheck.core.pose_joints import EARS, HEELS, HIPS, LEFT_SHOULDER, NOSE, RIGHT_SHOULDER, SHOULDERS
from fitcheck.core.records import Floats, Pose, Sighting, View

# Shares of the trunk's length in the picture. Shoulders so far apart are a front or back view, so near each other a side view; between, or
# with a nose that points less ahead of the ears, nothing is said. Estimates, far from both on our scenes.
SQUARE_ON, SIDE_ON, NOSE_AHEAD = 0.40, 0.25, 0.05
ONLY_SEEN_FROM: dict[str, View] = {
    "back_neck_point": "back",
    "waist_back": "back",
    "seat": "back",
    "front_neck_point": "front",
    "waist_front": "front",
}
# The middle of the body lies this far before the card when she stands with the (nearer) side seam at its depth.
STANDS_AT_MM: dict[View, float] = {"front": 15.0, "right": -133.0, "back": -15.0, "left": -133.0}
HEIGHTS_DIFFER_MM = 70.0  # spread over the views of one of our scenes: about 20
COLOURS_DIFFER = 22.0  # CIELAB distance in a and b, from the usual one of three or more photos; estimate
TWO_COLOURS_DIFFER = COLOURS_DIFFER / 2  # of two photos, from the middle between them
EDGE_ROWS = 3  # a figure that begins or ends so near the picture's edge is cut off


def looks_like(pose: Pose, sightings: Sequence[Sighting]) -> View | None:
    """The view a photo seems to be, from the order of the shoulders, the way the nose points and the stickers seen; None when unsure.

    One sticker of the middle may hang on the edge of a half tissue, and so be seen from the side: against a plain pose it does not count.
    """
    stickers = [ONLY_SEEN_FROM[s.name] for s in sightings if s.name in ONLY_SEEN_FROM and s.grade == "marker" and not s.flags]
    posed = _posed_like(pose)
    if len(stickers) > 1 or (stickers and posed not in ("right", "left")):
        return max(set(stickers), key=stickers.count)
    return posed


def _posed_like(pose: Pose) -> View | None:
    """The same from the pose alone."""
    points = pose.points_px
    trunk = np.linalg.norm((points[list(SHOULDERS)] - points[list(HIPS)]).mean(axis=0))
    across = (points[LEFT_SHOULDER, 0] - points[RIGHT_SHOULDER, 0]) / max(float(trunk), 1.0)
    if abs(across) > SQUARE_ON:
        return "front" if across > 0 else "back"
    ahead = (points[NOSE, 0] - points[list(EARS), 0].mean()) / max(float(trunk), 1.0)
    if abs(across) < SIDE_ON and abs(ahead) > NOSE_AHEAD:
        return "right" if ahead > 0 else "left"
    return None


def lying(pose: Pose) -> bool:
    """Whether her trunk does not stand: the picture was not turned upright, or she is lying."""
    points = pose.points_px
    trunk = (points[list(HIPS)] - points[list(SHOULDERS)]).mean(axis=0)
    return bool(trunk[1] < abs(trunk[0]))


def odd_ones_out(poses: Mapping[View, Pose], scales: Mapping[View, Scale], colours: Mapping[View, Floats]) -> set[View]:
    """Views whose figure differs from the others in height or in the colour of the clothes."""
    odd: set[View] = set()
    measured = {view: figure_height_mm(view, poses[view], scales[view]) for view in poses if view in scales}
    heights = {view: height for view, height in measured.items() if height is not None}
    if len(heights) > 2:
        usual = float(np.median(list(heights.values())))
        odd |= {view for view, height in heights.items() if abs(height - usual) > HEIGHTS_DIFFER_MM}
    elif len(heights) == 2 and np.ptp(list(heights.values())) > HEIGHTS_DIFFER_MM:
        odd |= set(heights)
    if len(colours) > 1:
        chroma = np.array([colour[1:] for colour in colours.values()])
        usual_chroma = np.median(chroma, axis=0)
        far = np.linalg.norm(chroma - usual_chroma, axis=1) > (COLOURS_DIFFER if len(colours) > 2 else TWO_COLOURS_DIFFER)
        odd |= {view for view, is_far in zip(colours, far, strict=True) if is_far}
    return odd


def figure_height_mm(view: View, pose: Pose, scale: Scale) -> float | None:
    """Top of the figure to the heels, at the depth where she stands; None when the picture's edge cuts either off."""
    top = int(pose.mask.argmax()) // pose.mask.shape[1]  # the first row with anything of her, found without reading on
    heels = float(pose.points_px[list(HEELS), 1].mean())
    if not pose.mask[top].any() or top < EDGE_ROWS or heels > pose.mask.shape[0] - 1 - EDGE_ROWS:
        return None
    return float((heels - top) * scale.mm_per_px * (1 - STANDS_AT_MM[view] / scale.distance_mm))
