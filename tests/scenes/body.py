"""Parametric woman (anny: Apache-2.0 code, CC0 MakeHuman data) in a chosen posture.

Subject frame: metres, Z up, floor at z = 0, facing -Y, +X to the wearer's left.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from .mesh import Floats, Ints, rotation
from .spec import Posture, Woman

HIPS_TO_LEG, STANDING_KNEE_DEG = 0.25, 4.0  # how far the hip joints stand apart, of a leg's length; slant of thigh and shin as she stands
ARM_BONES = ("upperarm01", "upperarm02", "lowerarm01", "lowerarm02", "wrist")


@dataclass(frozen=True)
class Body:
    """A posed body.

    Attributes
    ----------
    v : ndarray, shape (n, 3)
    quads : ndarray of int, shape (m, 4)
    heads : dict
        Where each bone begins.
    skin_weights : ndarray, shape (n, bones)
        How much each bone carries each vertex.
    bones : tuple of str
    waist_ring : ndarray of int
        Vertices of the model's own waist line.
    """

    v: Floats
    quads: Ints
    heads: dict[str, Floats]
    skin_weights: Floats
    bones: tuple[str, ...]
    waist_ring: Ints

    def weight(self, skin_weights: Floats, wanted: Callable[[str], bool]) -> Floats:
        """Summed weight per vertex of the bones whose name is wanted."""
        return np.asarray(skin_weights[:, [i for i, bone in enumerate(self.bones) if wanted(bone)]].sum(1))

    def arm_weight(self, skin_weights: Floats) -> Floats:
        """How much arm and hand carry each vertex."""
        return self.weight(skin_weights, lambda bone: bone.split(".")[0] in ARM_BONES or bone.startswith(("finger", "metacarpal")))


@cache
def _model() -> Any:
    # anny and torch take seconds to load and are needed only here
    import anny
    import torch

    torch.set_num_threads(2)
    return anny.Anny(phenotypes="all", local_changes="all", topology="anny-quads-full").to(torch.float32)


def _turns(p: Posture) -> Iterator[tuple[str, str, float]]:
    """Bone, axis and degrees, in the order they are applied."""
    for bone, share in (("spine03", 0.25), ("spine02", 0.40), ("spine01", 0.35)):
        yield bone, "x", share * p.upper_back_round
    yield "neck01", "x", p.head_forward
    yield "neck02", "x", p.head_forward * 0.3
    yield "head", "x", -p.head_forward * 1.1 - p.upper_back_round * 0.75  # she still looks straight ahead
    for bone, share in (("neck01", 0.3), ("neck02", 0.2), ("head", 0.5)):
        yield bone, "z", share * p.head_turn
        yield bone, "y", -share * p.head_tilt
    yield "spine05", "x", -p.lordosis * 0.5
    yield "spine04", "x", -p.lordosis * 0.5
    yield "spine03", "x", p.lordosis * 0.8
    for side, sign in (("L", 1), ("R", -1)):
        forward = p.shoulder_forward + (p.shoulder_forward_right_extra if side == "R" else 0)
        drop = p.shoulder_drop - sign * p.shoulder_right_lower / 2
        yield "clavicle." + side, "z", -sign * forward
        yield "clavicle." + side, "y", sign * drop
        add, back = p.arm_add, p.arm_back
        if side == "R":
            add, back = add + p.arm_add_right_extra, back + p.arm_back_right_extra
        yield "upperarm01." + side, "y", sign * (add - drop)
        yield "upperarm01." + side, "x", back - p.upper_back_round * 0.8
        yield "lowerarm01." + side, "x", -p.elbow_flex
        yield "upperleg01." + side, "y", sign * p.leg_add
        yield "foot." + side, "y", -sign * p.leg_add
    yield from _pelvis_turns(p)


def _pelvis_turns(p: Posture) -> Iterator[tuple[str, str, float]]:
    """The pelvis tilted and aside; the trunk above it and the legs below stay upright, both feet on the floor."""
    if not (p.hip_right_lower or p.pelvis_left):
        return
    yield "root", "y", -p.hip_right_lower
    yield "spine05", "y", 0.6 * p.hip_right_lower
    yield "spine04", "y", 0.4 * p.hip_right_lower
    lower = "R" if p.hip_right_lower > 0 else "L"
    upright = math.cos(math.radians(STANDING_KNEE_DEG)) - HIPS_TO_LEG * abs(math.sin(math.radians(p.hip_right_lower)))
    knee = math.degrees(math.acos(upright)) - STANDING_KNEE_DEG
    for side in "LR":
        yield "upperleg01." + side, "y", p.hip_right_lower + p.pelvis_left
        yield "foot." + side, "y", -p.pelvis_left
    for bone, share in (("upperleg01.", -1.0), ("lowerleg01.", 2.0), ("foot.", -1.0)):
        yield bone + lower, "x", share * knee


def build(woman: Woman, posed: bool = True) -> Body:
    """The body of a woman; in the model's neutral pose where `posed` is False."""
    import torch
    from anny.anthropometry import BASE_MESH_WAIST_VERTICES

    model = _model()
    bones = tuple(model.bone_labels)
    pose = np.tile(np.eye(4), (len(bones), 1, 1))
    if posed:
        for bone, axis, deg in _turns(woman.posture):
            pose[bones.index(bone), :3, :3] = rotation(axis, deg) @ pose[bones.index(bone), :3, :3]
    with torch.no_grad():
        out = model(
            pose_parameters=torch.tensor(pose, dtype=torch.float32)[None],
            phenotype_kwargs={k: torch.tensor([value]) for k, value in woman.phenotype.model_dump().items()},
            local_changes_kwargs={k: torch.tensor([value]) for k, value in woman.local.items()},
        )
    v, quads = out["vertices"][0].numpy().astype(float), model.faces.numpy()
    floor = np.array([0, 0, v[np.unique(quads), 2].min()])
    heads = out["bone_poses"][0, :, :3, 3].numpy().astype(float) - floor
    skin_weights = np.zeros((len(v), len(bones)))
    carriers, shares = model.vertex_bone_indices.numpy(), model.vertex_bone_weights.numpy()
    for j in range(carriers.shape[1]):
        np.add.at(skin_weights, (np.arange(len(v)), carriers[:, j]), shares[:, j])
    place_of = {int(number): i for i, number in enumerate(model.base_mesh_vertex_indices.numpy())}
    ring = np.array([place_of[i] for i in BASE_MESH_WAIST_VERTICES])
    return Body(v - floor, quads, dict(zip(bones, heads, strict=True)), skin_weights, bones, ring)
