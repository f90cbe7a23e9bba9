"""Joint numbers of the pose, against the topology's own list of names."""

from fitcheck.core import pose_joints
from fitcheck.core.pose_joints import HEELS, of_side

# The 33 points in order, each side's own left first (Bazarevsky et al. 2020).
TOPOLOGY = ("nose", "left_eye_inner", "left_eye", "left_eye_outer", "right_eye_inner", "right_eye", "right_eye_outer") + tuple(
    f"{side}_{joint}"
    for joint in (
        *("ear", "mouth", "shoulder", "elbow", "wrist", "pinky", "index", "thumb"),
        *("hip", "knee", "ankle", "heel", "foot_index"),
    )
    for side in ("left", "right")
)
OTHER_NAMES = {"knuckle": "index", "toe": "foot_index"}


def test_every_joint_has_the_number_of_its_name():
    named = {name: value for name, value in vars(pose_joints).items() if name.startswith(("LEFT_", "RIGHT_"))}
    assert len(named) >= 20
    for name, number in named.items():
        side, joint = name.lower().split("_")
        assert TOPOLOGY[number] == f"{side}_{OTHER_NAMES.get(joint, joint)}"
    assert TOPOLOGY[pose_joints.NOSE] == "nose"


def test_the_joint_of_a_side():
    assert of_side(HEELS, "wearer_left") == 29
    assert of_side(HEELS, "wearer_right") == 30
