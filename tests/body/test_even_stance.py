"""Even and casual stances, joint by joint."""

import numpy as np
import pytest

from fitcheck.body.even_stance import stands_evenly
from fitcheck.core.pose_joints import (
    LEFT_ANKLE,
    LEFT_ELBOW,
    LEFT_HIP,
    LEFT_SHOULDER,
    LEFT_WRIST,
    RIGHT_ANKLE,
    RIGHT_ELBOW,
    RIGHT_HIP,
    RIGHT_SHOULDER,
    RIGHT_WRIST,
)
from fitcheck.core.records import Pose

HEIGHTS_PX = {
    (LEFT_SHOULDER, RIGHT_SHOULDER): 400.0,
    (LEFT_ELBOW, RIGHT_ELBOW): 700.0,
    (LEFT_WRIST, RIGHT_WRIST): 920.0,
    (LEFT_HIP, RIGHT_HIP): 900.0,
    (LEFT_ANKLE, RIGHT_ANKLE): 1700.0,
}


def standing(**lower_px: float) -> Pose:
    """Upright and even but for the joints named, which lie lower by so much."""
    px = np.full((33, 2), 500.0)
    for pair, row in HEIGHTS_PX.items():
        px[[*pair], 1] = row
    for joint, by in lower_px.items():
        px[globals()[joint], 1] += by
    return Pose(px, np.zeros((33, 3)), np.ones(33), np.zeros((2000, 1000), bool))


def test_even() -> None:
    assert stands_evenly(standing(), 1.0)


@pytest.mark.parametrize(
    "lower_px",
    [{"RIGHT_HIP": 40.0}, {"LEFT_WRIST": -150.0}, {"RIGHT_ELBOW": -80.0}, {"LEFT_ANKLE": 110.0}],
    ids=["weight on one leg", "hand in the pocket", "elbow out", "a foot forward"],
)
def test_casual(lower_px: dict[str, float]) -> None:
    assert not stands_evenly(standing(**lower_px), 1.0)
    assert stands_evenly(standing(**lower_px), 0.25)  # of a photo four times as fine: as many pixels are a quarter of the length


def test_a_low_shoulder_alone_is_no_casual_stance() -> None:
    """Her right shoulder, and with it the arm, hangs 25 mm lower."""
    assert stands_evenly(standing(RIGHT_SHOULDER=25.0, RIGHT_ELBOW=25.0, RIGHT_WRIST=25.0), 1.0)


def test_joints_out_of_sight_say_nothing() -> None:
    pose = standing(LEFT_WRIST=-300.0)
    pose.visibility[LEFT_WRIST] = 0.2
    assert stands_evenly(pose, 1.0)
