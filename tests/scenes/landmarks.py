"""Named body landmarks as vertex numbers of the subdivided body.

They are picked once, on one standard woman in the model's neutral pose, and carried by vertex number to every other body and posture, so
that a landmark is the same anatomical spot on all of them. (Picked on each body anew, the same rules jump between neighbouring vertices:
up to 24 mm at the side of the neck, 33 mm under the arm.) L and R are the wearer's.

The shoulder point is a bone that a finger feels, the outer end of the acromion, and the body model's skin is no bone: its vertex slides
0.5 mm for every degree that the arm swings (22 mm from hanging to 44 degrees back). The acromion sits on shoulder blade and collar bone.
With the arm raised aside less than 30 degrees, or to the front less than 60, the blade hardly moves; only beyond them does it turn by
one degree for two of the arm (Inman, Saunders and Abbott 1944, from memory). With the arm drawn back nearly all of the motion is the
arm's, until the blade tips forward by some 10 degrees at the end of its reach (common teaching of anatomy, from memory; 6 cm from the
blade's axis that is 10 mm). So the point takes part in `BONE_SHARE` of the arm's swing about the stance in which the first scenes stand,
where it is the vertex itself; clavicles carry it wholly.
"""

from functools import cache

import numpy as np

from . import mesh
from .body import Body, build
from .mesh import Bools, Floats, Ints, Map
from .spec import Phenotype, Posture, Woman

STANDARD_HEIGHT = 0.4  # of the model, 0..1
BONE_SHARE = 0.4  # 9 of the skin's 22 mm from hanging to 44 degrees back; estimate from what the head of this file says

SHOULDERS = ("shoulder_point_L", "shoulder_point_R")


def standard_body(height: float = STANDARD_HEIGHT) -> Body:
    """The woman of that height in neutral pose."""
    return build(Woman(phenotype=Phenotype(height=height)), posed=False)


@cache
def finer() -> tuple[Map, Ints]:
    """Map to the subdivided body of every woman, and its quads."""
    neutral = standard_body()
    return mesh.subdivide(neutral.quads, len(neutral.v))


@cache
def standard(height: float = STANDARD_HEIGHT) -> dict[str, int]:
    """Vertex number of every landmark on the subdivided body, picked on a woman of that height."""
    neutral = standard_body(height)
    fine, quads = finer()
    return pick(neutral, fine @ neutral.v, quads, np.asarray(fine @ neutral.skin_weights))


def pick(neutral: Body, v: Floats, quads: Ints, skin_weights: Floats) -> dict[str, int]:
    """Vertex number of every landmark.

    Parameters
    ----------
    neutral : Body
        In neutral pose.
    v, quads, skin_weights : ndarray
        Of the subdivided neutral body, metres.
    """
    heads = neutral.heads
    ids = np.unique(quads)
    x, y, z = v[ids].T
    arm = neutral.arm_weight(skin_weights)[ids]

    def least(mask: Bools, key: Floats) -> int:
        j = np.flatnonzero(mask)
        return int(ids[j[np.argmin(key[j])]])

    neck_z, middle = heads["neck01"][2], np.abs(x) < 0.002
    out = {
        "back_neck": least(middle & (y > 0), np.abs(z - (neck_z - 0.005))),
        "front_neck": least(middle & (y < heads["neck01"][1]), np.abs(z - (heads["clavicle.L"][2] + 0.015))),
    }
    beside_neck_y = 0.55 * v[out["back_neck"], 1] + 0.45 * v[out["front_neck"], 1]
    for side, sign in (("L", 1), ("R", -1)):
        out_x, joint = x * sign, heads["upperarm01." + side]
        neck = (np.abs(y - beside_neck_y) < 0.012) & (out_x > 0.03) & (out_x < 0.12) & (z > neck_z - 0.07) & (z < neck_z + 0.06)
        out["side_neck_" + side] = least(neck, np.abs((z - neck_z) - (out_x - 0.055)))
        over_joint = (np.abs(out_x - (abs(joint[0]) - 0.005)) < 0.012) & (np.abs(y - joint[1]) < 0.02) & (z > joint[2])
        out["shoulder_point_" + side] = least(over_joint, -z)
        out["bust_point_" + side] = least((out_x > 0.04) & (out_x < 0.14) & (z > joint[2] - 0.26) & (z < joint[2] - 0.05), y)
        out["underarm_" + side] = least((arm > 0.25) & (arm < 0.6) & (out_x > 0.08) & (z < joint[2]), z)
    ring = neutral.waist_ring
    waist_z = v[ring, 2].mean()
    out["waist_front"] = least(middle & (y < 0) & (np.abs(z - waist_z) < 0.1), np.abs(z - waist_z))
    out["waist_back"] = least(middle & (y > 0) & (np.abs(z - waist_z) < 0.1), np.abs(z - waist_z))
    out["waist_side_L"], out["waist_side_R"] = int(ring[v[ring, 0].argmax()]), int(ring[v[ring, 0].argmin()])
    hip_z = heads["upperleg01.L"][2]
    for side, sign in (("L", 1), ("R", -1)):
        out["hip_side_" + side] = least((np.abs(z - hip_z) < 0.008) & (np.abs(x) < 0.25) & (arm < 0.3), -x * sign)
    out["seat_back"] = least(middle & (y > 0) & (z > hip_z - 0.1), np.abs(z - hip_z))
    head = neutral.weight(skin_weights, lambda bone: bone == "head")[ids] > 0.5
    widest = np.abs(x[head]).max()
    for side, sign in (("L", 1), ("R", -1)):
        outer_ear = head & (x * sign > 0.93 * widest)
        front_y, ear_z, ear_x = y[outer_ear].min() + 0.004, z[outer_ear].mean(), np.abs(x[outer_ear]).mean()
        out["ear_" + side] = least(head & (x * sign > 0.02), np.hypot(y - front_y, z - ear_z) + 0.3 * np.abs(np.abs(x) - ear_x))
    return out


def arms_at_bone(p: Posture) -> Posture:
    """The posture in which the skin above the acromion lies where the bone is in posture `p`."""
    usual = Posture()

    def damped(name: str, middle: float) -> float:
        return middle + BONE_SHARE * (float(getattr(p, name)) - middle)

    return p.model_copy(
        update={
            "arm_add": damped("arm_add", usual.arm_add),
            "arm_back": damped("arm_back", usual.arm_back),
            "arm_add_right_extra": damped("arm_add_right_extra", 0.0),
            "arm_back_right_extra": damped("arm_back_right_extra", 0.0),
        }
    )


def shoulder_bones(woman: Woman, *picked: dict[str, int]) -> dict[str, Floats]:
    """Where the bones under the shoulder points are; the middle where several vertices stand for one."""
    other = build(woman.model_copy(update={"posture": arms_at_bone(woman.posture)}))
    fine, _ = finer()
    return {name: np.mean([(fine[pick[name]] @ other.v)[0] for pick in picked], axis=0) for name in SHOULDERS}


def over_bone(bone: Floats, v: Floats, normals: Floats, used: Ints) -> tuple[Floats, Floats]:
    """The skin over a bone and its normal; between vertices 7 mm apart the skin is taken to be flat."""
    near = used[np.linalg.norm(v[used] - bone, axis=1).argmin()]
    return bone - (bone - v[near]) @ normals[near] * normals[near], normals[near]


def on_skin(woman: Woman, v: Floats, quads: Ints) -> tuple[dict[str, Floats], dict[str, Floats]]:
    """Every landmark of a posed woman, and the skin's normal there.

    Parameters
    ----------
    v, quads : ndarray
        Her subdivided body.
    """
    normals, pick, used = mesh.normals(v, mesh.triangles(quads)), standard(), np.unique(quads)
    points, facing = ({name: part[i] for name, i in pick.items()} for part in (v, normals))
    if arms_at_bone(woman.posture) != woman.posture:
        for name, bone in shoulder_bones(woman, pick).items():
            points[name], facing[name] = over_bone(bone, v, normals, used)
    return points | {"crown": v[used[v[used, 2].argmax()]]}, facing
