"""A body for cloth to lie on: her left half, as a grid of distances to its skin. Millimetres, Z up, facing -Y, +X to her left.

    python -m tests.scenes.sewn.figure OUT.npz [--women 10] [--misfits 60] [--seed 1]

Writes the skins of women of different size and posture, and of others who differ from one of them by one to three causes.
"""

import argparse
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from scipy.interpolate import RegularGridInterpolator
from scipy.spatial import ConvexHull, cKDTree

from .. import landmarks, mesh
from ..body import build
from ..mesh import Floats
from ..observables import girths
from ..spec import Phenotype, Posture, Woman

CELL_MM = 5.0
MARGIN_MM = 45.0
CUT_ARM = 0.75  # skin that the arm carries by more than this is left out: the armhole is open below
NEAR_MM = 12.0  # nearer than this the skin is its tangent plane
BELOW_HIP_MM, ABOVE_NECK_MM = 160.0, 60.0


@dataclass(frozen=True)
class Skin:
    """Points of a body's skin and their normals, shape (n, 3), landmarks and girths, mm; what was changed, in words."""

    points: Floats
    normals: Floats
    landmarks: Mapping[str, Floats]
    girths: Mapping[str, float]
    causes: tuple[str, ...] = ()
    made_from: int = -1


@dataclass(frozen=True)
class Figure:
    """Distances to the skin, mm, negative inside, at `corner` + CELL_MM * index; landmarks and girths, mm; what taut cloth would lie on.

    `bridge` are planes (m, 4), unit normals outwards: the tightest skin without hollows over her trunk below the neck.
    """

    field: Floats
    corner: Floats
    points: Mapping[str, Floats]
    girths: Mapping[str, float]
    bridge: Floats

    def stands_off(self, points: Floats) -> Floats:
        """How far each of the points (n, 3) lies off her skin, or off a taut cloth over its hollows, mm, shape (n,)."""
        places = [self.corner[k] + CELL_MM * np.arange(n) for k, n in enumerate(self.field.shape)]
        skin = RegularGridInterpolator(places, self.field, bounds_error=False)(points)
        return np.asarray(np.fmin(skin, (points @ self.bridge[:, :3].T + self.bridge[:, 3]).max(axis=1)))


def skin(woman: Woman, causes: tuple[str, ...] = (), made_from: int = -1) -> Skin:
    """The trunk of a woman, her left half and a little more."""
    body = build(woman)
    finer, quads = mesh.subdivide(body.quads, len(body.v))
    v, skin_weights = finer @ body.v, np.asarray(finer @ body.skin_weights)
    lm = landmarks.on_skin(woman, v, quads)[0]
    arm = body.arm_weight(skin_weights)
    used = np.zeros(len(v), bool)
    used[np.unique(quads)] = True
    points = {name: place * 1000 for name, place in lm.items()}
    normals = mesh.normals(v, mesh.triangles(quads))
    tape = {name: float(girth or 0.0) for name, girth in girths(v, used & (arm < 0.3), lm).items()}
    v = v * 1000
    low, high = points["hip_side_L"][2] - BELOW_HIP_MM - 60, points["back_neck"][2] + ABOVE_NECK_MM + 60
    kept = used & (arm < CUT_ARM) & (v[:, 2] > low) & (v[:, 2] < high) & (v[:, 0] > -40)
    return Skin(v[kept], normals[kept], points, tape, causes, made_from)


def figure(one: Skin, workers: int = 1) -> Figure:
    """The grid of a skin."""
    low, high = one.landmarks["hip_side_L"][2] - BELOW_HIP_MM, one.landmarks["back_neck"][2] + ABOVE_NECK_MM
    trunk = one.points[(one.points[:, 2] > low) & (one.points[:, 2] < high)]
    least, most = trunk.min(0) - MARGIN_MM, trunk.max(0) + MARGIN_MM
    least[2], most[2], least[0] = low, high, -3 * CELL_MM
    shape = np.ceil((most - least) / CELL_MM).astype(int) + 1
    grid = np.stack(np.meshgrid(*(np.arange(n) * CELL_MM for n in shape), indexing="ij"), -1) + least
    places = grid.reshape(-1, 3)
    far, nearest = cKDTree(one.points).query(places, workers=workers)
    plane = ((places - one.points[nearest]) * one.normals[nearest]).sum(1)
    close = np.clip((2 * NEAR_MM - far) / NEAR_MM, 0, 1)
    field = close * plane + (1 - close) * np.sign(plane) * far
    return Figure(np.asarray(field.reshape(shape)), least, one.landmarks, one.girths, _bridge(one))


def _bridge(one: Skin) -> Floats:
    """Planes of the convex hull of both halves of her trunk from the waist up to where the neck begins."""
    at = one.landmarks
    nape, pit, beside = at["back_neck"], at["front_neck"], at["side_neck_L"]
    up = np.array([0.0, nape[2] - pit[2], pit[1] - nape[1]])
    up *= np.sign(up[2]) / np.linalg.norm(up)
    begins = (beside - nape) @ up * np.minimum(1.0, (one.points[:, 0] / beside[0]) ** 2)  # the neck's root rises to its sides
    trunk = one.points[(one.points[:, 2] > at["waist_front"][2]) & ((one.points - nape) @ up <= begins)]
    return np.asarray(ConvexHull(np.vstack([trunk, trunk * [-1, 1, 1]])).equations)


def draw_woman(rng: np.random.Generator) -> Woman:
    """Of any size, holding herself in the usual ways."""
    u = rng.uniform
    phenotype = Phenotype(
        height=u(0.25, 0.6),
        weight=u(0.38, 0.78),
        age=u(0.55, 0.9),
        cupsize=u(0.38, 0.7),
        firmness=u(0.35, 0.6),
        muscle=u(0.4, 0.6),
        proportions=u(0.4, 0.6),
    )
    posture = Posture(head_forward=u(0, 8), upper_back_round=u(-2, 4), lordosis=u(-3, 4), shoulder_forward=u(-1, 3), shoulder_drop=u(-2, 2))
    return Woman(phenotype=phenotype, posture=posture)


def _more(group: str, key: str, low: float, high: float) -> Callable[[Woman, np.random.Generator], Woman]:
    """A cause: one number of a woman raised."""

    def change(woman: Woman, rng: np.random.Generator) -> Woman:
        by = float(rng.uniform(low, high))
        if group == "local":
            return woman.model_copy(update={"local": {**woman.local, key: woman.local.get(key, 0.0) + by}})
        part = getattr(woman, group)
        return woman.model_copy(update={group: part.model_copy(update={key: getattr(part, key) + by})})

    return change


CAUSES = {
    "shoulders forward": _more("posture", "shoulder_forward", 3, 9),
    "upper back round": _more("posture", "upper_back_round", 3, 7),
    "upper back erect": _more("posture", "upper_back_round", -6, -3),
    "head forward": _more("posture", "head_forward", 4, 8),
    "hollow back": _more("posture", "lordosis", 4, 8),
    "shoulders sloping": _more("posture", "shoulder_drop", 2, 5),
    "shoulders square": _more("posture", "shoulder_drop", -5, -2),
    "bust fuller": _more("phenotype", "cupsize", 0.08, 0.2),
    "bust smaller": _more("phenotype", "cupsize", -0.2, -0.08),
    "bust lower": _more("local", "breast-trans-up", -0.5, -0.2),
    "heavier": _more("phenotype", "weight", 0.04, 0.1),
    "lighter": _more("phenotype", "weight", -0.1, -0.04),
    "taller": _more("phenotype", "height", 0.04, 0.1),
    "shorter": _more("phenotype", "height", -0.1, -0.04),
    "shoulders broad": _more("local", "measure-shoulder-dist-incr", 0.15, 0.4),
    "shoulders narrow": _more("local", "measure-shoulder-dist-incr", -0.4, -0.15),
    "hips wide": _more("local", "hip-scale-horiz-incr", 0.1, 0.25),
}


def draw_misfit(woman: Woman, rng: np.random.Generator) -> tuple[Woman, tuple[str, ...]]:
    """The same woman with one to three causes."""
    causes = tuple(str(name) for name in rng.choice(list(CAUSES), size=rng.integers(1, 4), replace=False))
    for cause in causes:
        woman = CAUSES[cause](woman, rng)
    return woman, causes


def save(path: Path, skins: list[Skin]) -> None:
    """All skins in one file."""
    parts: dict[str, Any] = {}
    for i, one in enumerate(skins):
        parts |= {f"{i}/points": one.points.astype(np.float32), f"{i}/normals": one.normals.astype(np.float16)}
        parts |= {f"{i}/at/{name}": place for name, place in one.landmarks.items()}
        parts |= {f"{i}/girth/{name}": np.array(girth) for name, girth in one.girths.items()}
        parts |= {f"{i}/causes": np.array(one.causes, dtype=str), f"{i}/from": np.array(one.made_from)}
    np.savez_compressed(path, **parts)


def load(path: Path) -> list[Skin]:
    """What `save` wrote."""
    with np.load(path) as held:
        parts = dict(held)
    found = []
    for i in range(1 + max(int(name.split("/")[0]) for name in parts)):
        own = {name.split("/", 1)[1]: part for name, part in parts.items() if name.startswith(f"{i}/")}
        at = {name.removeprefix("at/"): part for name, part in own.items() if name.startswith("at/")}
        tape = {name.removeprefix("girth/"): float(part) for name, part in own.items() if name.startswith("girth/")}
        points, normals = own["points"].astype(float), own["normals"].astype(float)
        found.append(Skin(points, normals, at, tape, tuple(str(word) for word in own["causes"]), int(own["from"])))
    return found


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path)
    parser.add_argument("--women", type=int, default=10)
    parser.add_argument("--misfits", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    rng = np.random.default_rng(options.seed)
    women = [draw_woman(rng) for _ in range(options.women)]
    skins = [skin(woman) for woman in women]
    for i in range(options.misfits):
        made_from = i % options.women
        skins.append(skin(*draw_misfit(women[made_from], rng), made_from))
        if i % 10 == 9:
            save(options.out, skins)
    save(options.out, skins)


if __name__ == "__main__":
    main()
