"""Learn the statistical body from several thousand posed bodies of anny and from draped garments.

    python -m models.body_shape.train bodies BODIES.npz --women 400 --seed 31      # 4 stances each; two seconds a woman
    python -m models.body_shape.train cloth CLOTH.npz SCENE ...                    # scene folders of tests/scenes.make; a second each
    python -m models.body_shape.train fit BODIES.npz ...                           # writes body_shape.npz
    python -m models.body_shape.train dress CLOTH.npz                              # writes the cloth into it, prints what card.toml says

From the repository's root, with the dependency group `scenes` (anny, torch); the first two stages only make numbers, the others need numpy
alone. Method: principal components of points and sections together, levels of the sections counted between hip, waist, bust and neck of
each body (see fitcheck/body/shape.py); and of how far the garment lies outside them. Every body is also taken mirrored.

Long, because the four stages of one training share their names of points and levels.
"""

import argparse
import hashlib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fitcheck.body.shape import KNOTS, STATURE_MM

Floats = NDArray[np.float64]
HERE = Path(__file__).parent
PROGRAM_NAMES = {
    "back_neck": "back_neck_point",
    "front_neck": "front_neck_point",
    "side_neck": "side_neck_point",
    "seat_back": "seat",
    "underarm": "underarm_point",
}
# in knots: from 10 % below the hip to 25 % of the way from neck to crown, about 15 mm apart
LEVELS = np.r_[np.arange(0.9, 1, 0.02), np.arange(9) / 9 + 1, np.arange(12) / 12 + 2, np.arange(14) / 14 + 3, np.linspace(4, 4.25, 5)]
DIRECTIONS = np.radians(np.arange(0, 360, 5))
HEIGHTS_MM = np.arange(40.0, 1620.0, 10.0)
NUMBERS, CLOTH_NUMBERS = 40, 6
PARTS = 10  # of the drapes; what the numbers leave over in each is told by the others
POINT_WEIGHT = 6.0  # a point counts as much as so many tangents of the sections
ELBOW_WEIGHT = 0.5  # where the arm is need only be told to some centimetres, and it varies by 30
STATURES_MM = (1430.0, 1860.0)
POSTURES = 4
USUAL_SHARE = 0.3  # of the stances: arms held back as the first scenes have them
# The rule that picks the shoulder point finds the one or the other of two vertices 7 mm apart, by the woman's height; the middle is learnt.
OTHER_HEIGHT = 0.45
UNIFORM = {
    "height": (0.15, 0.7),
    "weight": (0.24, 0.94),
    "age": (0.5, 0.95),
    "cupsize": (0.26, 0.88),
    "firmness": (0.25, 0.75),
    "muscle": (0.3, 0.7),
    "proportions": (0.3, 0.7),
}
LOCAL_SD = {  # each in half of the women
    "breast-trans-up": 0.3,
    "breast-dist-incr": 0.15,
    "breast-volume-vert-up": 0.12,
    "torso-vshape-incr": 0.15,
    "torso-scale-horiz-incr": 0.072,
    "torso-scale-depth-incr": 0.09,
    "hip-scale-horiz-incr": 0.072,
    "hip-scale-depth-incr": 0.09,
    "hip-waist-up": 0.09,
    "buttocks-volume-incr": 0.15,
    "stomach-tone-incr": 0.15,
    "measure-shoulder-dist-incr": 0.12,
    "measure-neck-circ-incr": 0.09,
    "measure-waist-circ-incr": 0.12,
    "measure-napetowaist-dist-incr": 0.09,
    "measure-underbust-circ-incr": 0.09,
    "upperlegs-height-incr": 0.09,
    "head-trans-forward": 0.09,
    "head-scale-depth-incr": 0.09,
    "head-scale-vert-incr": 0.09,
    "neck-scale-vert-incr": 0.09,
}


def sections(points: Floats, edges: NDArray[np.intp], heights: Floats) -> Floats:
    """Support function (len(heights), len(DIRECTIONS)) of the sections of a mesh, mm; NaN where there is none."""
    ends = points[edges]
    low_first = np.where((ends[:, 0, 1] <= ends[:, 1, 1])[:, None, None], ends, ends[:, ::-1])
    low, high = low_first[np.argsort(low_first[:, 0, 1])].swapaxes(0, 1)
    outwards = np.stack([np.cos(DIRECTIONS), np.sin(DIRECTIONS)])
    found = np.full((len(heights), len(DIRECTIONS)), np.nan)
    for i, height in enumerate(heights):
        at = np.flatnonzero(high[: np.searchsorted(low[:, 1], height, side="right"), 1] > height)
        if len(at) >= 6:
            share = (height - low[at, 1]) / (high[at, 1] - low[at, 1])
            found[i] = ((low[at] + share[:, None] * (high[at] - low[at]))[:, [0, 2]] @ outwards).max(axis=0)
    return found


def body_frame(points_m: Floats, landmarks: dict[str, Floats]) -> Floats:
    """Subject frame in metres to fitcheck's body frame in mm: x to her left, y up, z forward, origin between the shoulder points."""
    middle = (landmarks["shoulder_point_L"] + landmarks["shoulder_point_R"]) / 2
    return np.asarray(np.column_stack([points_m[:, 0] - middle[0], points_m[:, 2], middle[1] - points_m[:, 1]]) * 1000)


def edges_of(faces: NDArray[np.intp]) -> NDArray[np.intp]:
    """Every edge of triangles or quads once, (E, 2)."""
    return np.unique(np.sort(np.stack([faces, np.roll(faces, -1, 1)], -1).reshape(-1, 2), axis=1), axis=0)


def named(landmarks: dict[str, Floats]) -> list[tuple[str, int]]:
    """(fitcheck's name, side) of the scene maker's landmarks; side 0 left, 1 right, -1 on the midline."""
    split = [(n[:-2], "LR".index(n[-1])) if n[-2:] in ("_L", "_R") else (n, -1) for n in landmarks]
    return [(PROGRAM_NAMES.get(name, name), side) for name, side in split]


def trunk_edges(body: Any, quads: NDArray[np.intp], skin_weights: Floats) -> NDArray[np.intp]:
    """Edges of trunk, neck and legs: no arms, no head."""
    head = body.weight(skin_weights, lambda bone: bone in ("head", "eye.L", "eye.R", "neck03"))
    edges = edges_of(quads)
    return np.asarray(edges[((body.arm_weight(skin_weights) < 0.3) & (head < 0.5))[edges].all(axis=1)])


def draw_woman(random: np.random.Generator) -> tuple[dict[str, float], dict[str, float]]:
    """Phenotype and local shape parameters."""
    phenotype = {name: float(random.uniform(*span)) for name, span in UNIFORM.items()}
    if random.uniform() < 0.35:
        phenotype |= {"african": float(random.uniform(0, 0.6)), "asian": float(random.uniform(0, 0.6))}
    return phenotype, {name: float(random.normal(0, sd)) for name, sd in LOCAL_SD.items() if random.uniform() < 0.5}


def draw_posture(random: np.random.Generator) -> dict[str, float]:
    """Degrees, wider than the scenes'."""
    from tests.scenes import stances

    u, n = random.uniform, random.normal
    usual = {"arm_add": 24 + n(0, 3), "arm_back": 44 + n(0, 5), "elbow_flex": -22 + n(0, 5), "arm_back_right_extra": n(0, 2.5)}
    held = {
        "head_forward": u(-2, 14),
        "upper_back_round": u(-4, 11),
        "lordosis": u(-6, 11),
        # as in the first scenes in half of the women, and further back in the others: in a survey the acromion is 26 +/- 15 mm before C7
        "shoulder_forward": u(-3, 9) if u() < 0.5 else u(-8, 7),
        "shoulder_drop": u(-6, 5),
        "leg_add": 4 + n(0, 1.2),
    }
    return held | stances.one_sided(random) | stances.head(random) | (usual if u() < USUAL_SHARE else stances.arms(random))


def make_bodies(out: Path, women: int, seed: int) -> None:
    """Points and sections of many posed bodies."""
    from tests.scenes import landmarks, mesh
    from tests.scenes.body import build
    from tests.scenes.spec import Phenotype, Posture, Woman

    random, points, hulls, who = np.random.default_rng(seed), [], [], []
    names: list[tuple[str, int]] = []
    neutral, pick, other = landmarks.standard_body(), dict(landmarks.standard()), landmarks.standard(OTHER_HEIGHT)
    finer, quads = mesh.subdivide(neutral.quads, len(neutral.v))
    v, used, triangles = finer @ neutral.v, np.unique(quads), mesh.triangles(quads)
    trunk = trunk_edges(neutral, quads, np.asarray(finer @ neutral.skin_weights))
    for side, sign in (("L", 1), ("R", -1)):
        foot = used[(v[used, 0] * sign > 0) & (np.abs(v[used, 2] - 0.045) < 0.01)]
        pick["heel_" + side] = int(foot[v[foot, 1].argmax()])
    for number in range(women):
        phenotype, local = draw_woman(random)
        woman = Woman(phenotype=Phenotype(**phenotype), local=local)
        for _ in range(POSTURES):
            one = woman.model_copy(update={"posture": Posture(**draw_posture(random))})
            built = build(one)
            posed = finer @ built.v
            normals, bones = mesh.normals(posed, triangles), landmarks.shoulder_bones(one, pick, other)
            at = {name: (posed[i] + posed[other.get(name, i)]) / 2 for name, i in pick.items()}
            at |= {name: landmarks.over_bone(bone, posed, normals, used)[0] for name, bone in bones.items()}
            at |= {"crown": posed[used][posed[used, 2].argmax()]}
            at |= {"elbow_" + side: built.heads["lowerarm01." + side] for side in "LR"}
            body = body_frame(posed, at)
            for side, sign in (("L", 1), ("R", -1)):  # the fullest point of the upper back is no fixed vertex
                x, y = body[:, 0] * sign, posed[:, 2]
                blade = (x > 50) & (x < 120) & (y > at["underarm_" + side][2] - 0.05) & (y < at["shoulder_point_" + side][2] - 0.06)
                back = np.intersect1d(np.flatnonzero(blade), trunk)
                at["shoulder_blade_" + side] = posed[back[posed[back, 1].argmax()]]
            names = named(at)
            points.append(body_frame(np.stack(list(at.values())), at))
            hulls.append(sections(body, trunk, HEIGHTS_MM).astype(np.float32))
            who.append(number)
    np.savez(out, names=[n for n, _ in names], sides=np.array([s for _, s in names], np.int8), points=points, hull=hulls, who=who)


def make_cloth(out: Path, scenes: Sequence[Path]) -> None:
    """How far the garment lies outside the skin, at the levels of the model, in the drape of every scene folder of tests/scenes.make."""
    from tests.scenes import landmarks, mesh
    from tests.scenes.body import build
    from tests.scenes.spec import Spec

    found = []
    for folder in scenes:
        spec = Spec.model_validate_json((folder / "spec.json").read_text("utf-8"))
        woman = build(spec.subject)
        finer, quads = mesh.subdivide(woman.quads, len(woman.v))
        skin, weights = np.asarray(finer @ woman.v), np.asarray(finer @ woman.skin_weights)
        at, _ = landmarks.on_skin(spec.subject, skin, quads)
        with np.load(folder / "drape.npz") as file:
            garment, triangles = file["x"] / 1000.0, file["T"].astype(int)
        heights = np.interp(LEVELS, np.arange(len(KNOTS)), knots(body_frame(np.stack(list(at.values())), at), named(at)))
        inner = sections(body_frame(skin, at), trunk_edges(woman, quads, weights), heights)
        outer = sections(body_frame(garment, at), edges_of(triangles), heights)
        size = STATURE_MM / (at["crown"][2] * 1000)
        found.append(np.where(np.isnan(outer), np.nan, np.maximum(outer - inner, 0) * size))
    np.savez(out, cloth=found)


def knots(points: Floats, names: list[tuple[str, int]]) -> Floats:
    """Heights of KNOTS, (6,), of points (N, 3)."""
    return np.array(
        [np.mean([p[1] for p, (name, _) in zip(points, names, strict=True) if name in knot]) if knot else 0.0 for knot in KNOTS]
    )


def mirrored(hull: Floats) -> Floats:
    """Sections (..., D) of the mirror images."""
    return np.asarray(hull[..., (len(DIRECTIONS) // 2 - np.arange(len(DIRECTIONS))) % len(DIRECTIONS)])


def fit(bodies: Sequence[Path], out: Path) -> None:
    """Principal components, and the rest they leave in women not learnt from (every fifth); written to `out`."""
    with np.load(bodies[0]) as file:
        names = [(str(n), int(s)) for n, s in zip(file["names"], file["sides"], strict=True)]
    files = [np.load(path) for path in bodies]
    points, raw = (np.concatenate([file[part] for file in files]).astype(float) for part in ("points", "hull"))
    who = np.concatenate([file["who"] for file in files])
    stature = points[:, names.index(("crown", -1)), 1]
    fits = (stature > STATURES_MM[0]) & (stature < STATURES_MM[1])
    points, raw, who, size = points[fits], raw[fits], who[fits], STATURE_MM / stature[fits]
    hull = np.empty((len(points), len(LEVELS), len(DIRECTIONS)))
    for i, (p, sections_mm) in enumerate(zip(points, raw, strict=True)):
        at = (np.interp(LEVELS, np.arange(len(KNOTS)), knots(p, names)) - HEIGHTS_MM[0]) / (HEIGHTS_MM[1] - HEIGHTS_MM[0])
        low = np.clip(np.floor(at).astype(int), 0, len(HEIGHTS_MM) - 2)
        share = (at - low)[:, None]
        hull[i] = (1 - share) * sections_mm[low] + share * sections_mm[low + 1]
    other = [names.index((name, {0: 1, 1: 0}.get(side, -1))) for name, side in names]
    points, hull = points * size[:, None, None], hull * size[:, None, None]
    points = np.concatenate([points, points[:, other] * [-1, 1, 1]])
    table = np.column_stack([points.reshape(len(points), -1), np.concatenate([hull, mirrored(hull)]).reshape(len(points), -1)])
    table = table[np.isfinite(table).all(axis=1)] if np.isnan(table).any() else table
    held = np.tile(who % 5 == 0, 2)
    of_points = [ELBOW_WEIGHT if name == "elbow" else POINT_WEIGHT for name, _ in names]
    weight = np.r_[np.repeat(of_points, 3), np.ones(hull[0].size)]
    mean = table[~held].mean(axis=0)
    _, spread, axes = np.linalg.svd((table[~held] - mean) * weight, full_matrices=False)
    basis = (axes[:NUMBERS] * spread[:NUMBERS, None] / np.sqrt((~held).sum())).T / weight[:, None]
    off = (table[held] - mean) * weight
    rest = np.sqrt((((off - off @ np.linalg.pinv(basis * weight[:, None]).T @ (basis * weight[:, None]).T) / weight) ** 2).mean(axis=0))
    n = points[0].size
    f32 = {
        "points": mean[:n].reshape(-1, 3),
        "points_sd": rest[:n].reshape(-1, 3),
        "points_basis": basis[:n].reshape(-1, 3, NUMBERS),
        "levels": LEVELS,
        "hull": mean[n:].reshape(len(LEVELS), -1),
        "hull_sd": rest[n:].reshape(len(LEVELS), -1),
    }
    with np.load(out) as file:  # cloth learnt before stays
        cloth = {name: file[name] for name in ("cloth", "cloth_basis", "cloth_sd", "worn") if name in file.files}
    np.savez_compressed(
        out,
        **cloth,
        names=np.array([name for name, _ in names]),
        sides=np.array([side for _, side in names], np.int8),
        hull_basis=basis[n:].reshape(len(LEVELS), -1, NUMBERS).astype(np.float16),
        **{name: values.astype(np.float32) for name, values in f32.items()},
    )
    print("sha256", hashlib.sha256(out.read_bytes()).hexdigest(), "bodies", len(points), "held back", int(held.sum()))
    for name, side in names:
        print(name, side, rest[:n].reshape(-1, 3)[names.index((name, side))].round(1))
    print(
        "left over in bodies not learnt from, rms mm: points", np.sqrt((rest[:n] ** 2).mean()), "sections", np.sqrt((rest[n:] ** 2).mean())
    )


def dress(cloth_file: Path, out: Path) -> None:
    """How garments lie outside the skin, into the tables of `out`: mean, principal components, and the rest in drapes not learnt from."""
    with np.load(cloth_file) as file:
        cloth = file["cloth"]
    drapes = len(cloth)
    worn = np.isfinite(cloth[:, :, 0]).mean(axis=0)
    table = np.nan_to_num(np.concatenate([cloth, mirrored(cloth)])).reshape(2 * drapes, -1)
    mean, spread, axes = _components(table)
    rest, part = np.empty_like(table), np.tile(np.arange(drapes) % PARTS, 2)
    for number in range(PARTS):
        held = part == number
        other_mean, _, other_axes = _components(table[~held])
        off = table[held] - other_mean
        rest[held] = off - off @ other_axes.T @ other_axes
    size = (len(LEVELS), len(DIRECTIONS))
    with np.load(out) as file:
        body = {name: file[name] for name in file.files}
    found = {
        "cloth": mean.reshape(size),
        "cloth_basis": (axes * spread[:, None] / np.sqrt(len(table))).T.reshape(*size, CLOTH_NUMBERS),
        "cloth_sd": np.sqrt((rest**2).mean(axis=0)).reshape(size),
        "worn": worn,
    }
    np.savez_compressed(out, **(body | {name: values.astype(np.float32) for name, values in found.items()}))
    print("sha256", hashlib.sha256(out.read_bytes()).hexdigest(), "drapes", drapes)
    print("cloth, rms mm: varies by", np.sqrt(table.var(axis=0).mean()), "left over in drapes not learnt from", np.sqrt((rest**2).mean()))


def _components(table: Floats) -> tuple[Floats, Floats, Floats]:
    """Mean (M,) of rows (N, M), and their first CLOTH_NUMBERS singular values and axes."""
    mean = table.mean(axis=0)
    _, spread, axes = np.linalg.svd(table - mean, full_matrices=False)
    return mean, spread[:CLOTH_NUMBERS], axes[:CLOTH_NUMBERS]


def main() -> None:
    """Parse and run one stage."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    stages = parser.add_subparsers(dest="stage", required=True)
    stage = stages.add_parser("bodies")
    stage.add_argument("out", type=Path)
    stage.add_argument("--women", type=int, default=400)
    stage.add_argument("--seed", type=int, default=31)
    stage = stages.add_parser("cloth")
    stage.add_argument("out", type=Path)
    stage.add_argument("scenes", type=Path, nargs="+")
    stage = stages.add_parser("fit")
    stage.add_argument("bodies", type=Path, nargs="+")
    stage = stages.add_parser("dress")
    stage.add_argument("cloth", type=Path)
    given = parser.parse_args()
    if given.stage == "bodies":
        make_bodies(given.out, given.women, given.seed)
    elif given.stage == "cloth":
        make_cloth(given.out, given.scenes)
    elif given.stage == "fit":
        fit(given.bodies, HERE / "body_shape.npz")
    else:
        dress(given.cloth, HERE / "body_shape.npz")


if __name__ == "__main__":
    main()
