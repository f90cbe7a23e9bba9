"""Learn how the lines of each seam run: python models/seams/train.py FOLDER_OF_SCENES [--real FOLDER_OF_PICTURES]

FOLDER holds scenes of tests/scenes. Each goes through the whole check; every line found on its cloth is compared with the truth: the seam
most of it lies on (6 px), or none. Lines are learnt from again with the frame of the trunk shaken, as pose and outlines err, and in
pieces, as lines break; stray marks are thrown on the cloth, and lines that pictures of garments without pen give (--real) are no seams.
Writes seams.npz beside this file. A softmax over measures and their squares, fitted by L-BFGS with a quadratic penalty.
"""

import argparse
import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any
from unittest import mock

import cv2
import numpy as np
from scipy.optimize import minimize

from fitcheck import pipeline
from fitcheck.core.records import VIEWS, Pose, View
from fitcheck.photo.load import load_photo
from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.cloth.trunk_frame import TrunkFrame, trunk_frame
from fitcheck.vision.lines import seams
from fitcheck.vision.lines.pen_lines import find_curves
from fitcheck.vision.lines.seam_scores import NO_SEAM, SEAMS, measures, terms, view_kind
from fitcheck.vision.trace.curves import Curve

ON_PX, MOST, FEW = 6.0, 0.6, 0.25  # a line is a seam's where MOST of it lies on it, and no seam's where FEW of it does; else it is left out
SHAKEN, IN_PIECES = 4, 0.5  # times each line is learnt from again; share of them that is broken
SHAKE = {"shoulders": 0.012, "trunk": 0.025, "half": 0.05, "outline": 0.015, "scale": 0.02}  # sd, shares of trunk, width and scale
STRAYS, STRAY_WEIGHT, REAL_WEIGHT = 16, 3.0, 30.0  # a photo's strays count as three lines, all lines of real pictures as thirty
RIM = 0.3  # share of a line with cloth on one side from which it is a rim
PENALTY = 0.1
FAR_SIDE = {"right": "_L", "left": "_R"}

Lines = list[tuple[str, np.ndarray, str, float]]  # kind of view, measures, what it is, weight


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("scenes", type=Path)
    parser.add_argument("--real", type=Path)
    options = parser.parse_args()
    rng = np.random.default_rng(0)
    lines: Lines = []
    for truth in sorted(options.scenes.rglob("truth.json")):
        lines += of_scene(recorded(truth.parent), json.loads(truth.read_text()), _hidden(truth.parent), rng)
    if options.real:
        lines += of_real([found for file in sorted(options.real.glob("*.jpg")) for found in without_pen(file)], rng)
    np.savez_compressed(Path(__file__).parent / "seams.npz", **learn(lines))


def recorded(scene: Path) -> list[tuple[list[Curve], TrunkFrame]]:
    """Lines and frame of each photo, as the whole check names them."""
    calls: list[tuple[list[Curve], TrunkFrame]] = []
    inner = seams.name_seams

    def listen(curves: list[Curve], frame: TrunkFrame, *rest: Any) -> Any:
        calls.append((curves, frame))
        return inner(curves, frame, *rest)

    photos = [load_photo(scene / f"{view}.jpg", view) for view in VIEWS if (scene / f"{view}.jpg").exists()]
    with mock.patch.object(seams, "name_seams", listen):
        pipeline.check_fit(photos)
    return calls


def without_pen(file: Path) -> Iterator[tuple[list[Curve], TrunkFrame]]:
    """Lines of one picture of a garment, hung or lying, with a frame of a usual trunk laid on its middle."""
    rgb = cv2.cvtColor(cv2.imread(str(file)), cv2.COLOR_BGR2RGB)
    rgb = cv2.resize(np.rot90(rgb).copy() if rgb.shape[1] > rgb.shape[0] else rgb, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    h, w = rgb.shape[:2]
    at = {0: (0.5, 0.08), 11: (0.66, 0.24), 12: (0.34, 0.24), 13: (0.85, 0.45), 14: (0.15, 0.45), 15: (0.9, 0.65), 16: (0.1, 0.65)}
    points = np.zeros((33, 2))
    for joint, place in (at | {23: (0.61, 0.74), 24: (0.39, 0.74)}).items():
        points[joint] = np.array(place) * (w, h)
    mask = np.zeros((h, w), bool)
    mask[int(0.05 * h) : int(0.95 * h), int(0.04 * w) : int(0.96 * w)] = True
    pose, mm_per_px = Pose(points, np.zeros((33, 3)), np.ones(33), mask), 480 / (0.5 * h)
    cloth = find_cloth(rgb, pose)
    yield find_curves(rgb, cloth, [], mm_per_px), trunk_frame(pose, cloth, "front", mm_per_px)


def of_scene(calls: Sequence[tuple[list[Curve], TrunkFrame]], truth: dict[str, Any], hidden: set[str], rng: np.random.Generator) -> Lines:
    """All that is learnt from one scene."""
    lines: Lines = []
    for curves, frame in calls:
        kind, true = view_kind(frame.view), true_seams(truth["views"][frame.view]["seams"], hidden)
        named = [(curve, name) for curve in curves if (name := seam_of(curve, frame, true)) is not None]
        for shaken in [frame, *(shake(frame, rng) for _ in range(SHAKEN))]:
            for curve, name in named:
                lines.append((kind, measures(curve, shaken), name, 1 / (SHAKEN + 1)))
                if name not in NO_SEAM and rng.uniform() < IN_PIECES:
                    lines.append((kind, measures(piece(curve, rng), shaken), name, 0.5 / (SHAKEN + 1)))
        for stray in (stray_mark(frame, [c.change for c in curves], rng) for _ in range(STRAYS)):
            if not any((_nearest(stray.points_px, line)[0] < 18 / frame.mm_per_px).mean() > 0.5 for line, _ in true.values()):
                lines.append((kind, measures(stray, frame), "stray", STRAY_WEIGHT / STRAYS))
    return lines


def of_real(found: Sequence[tuple[list[Curve], TrunkFrame]], rng: np.random.Generator) -> Lines:
    """Lines that are no seams, in every kind of view."""
    views: tuple[View, ...] = ("front", "back", "right")
    runs = [(curves[i], replace(frame, view=v)) for curves, frame in found for v in views for i in rng.permutation(len(curves))[:15]]
    each = REAL_WEIGHT * len(views) / max(len(runs), 1)
    return [(view_kind(frame.view), measures(curve, frame), "stray", each) for curve, frame in runs]


def true_seams(seams_of_view: dict[str, Any], hidden: set[str]) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Points of each drawn seam a pixel apart, and whether they are seen."""
    drawn = {}
    for key, line in seams_of_view.items():
        if key[:-2] in hidden or key in hidden or key.startswith("front_edge") or len(line["px"]) < 2:
            continue
        points = np.array(line["px"], float)
        along = np.r_[0, np.cumsum(np.hypot(*np.diff(points, axis=0).T))]
        t = np.arange(0, along[-1], 1.0)
        seen = np.interp(t, along, np.array(line["visible"], float)) > 0.5
        drawn[key] = (np.stack([np.interp(t, along, points[:, i]) for i in (0, 1)], 1), seen)
    return drawn


def seam_of(curve: Curve, frame: TrunkFrame, true: dict[str, tuple[np.ndarray, np.ndarray]]) -> str | None:
    """What a line is; None where that cannot be said."""
    kind, best, share, seen = view_kind(frame.view), "", 0.0, 0.0
    for key, (line, visible) in true.items():
        away, near = _nearest(curve.points_px, line)
        here, shown = float((away < ON_PX).mean()), float(visible[near][away < ON_PX].mean()) if (away < ON_PX).any() else 0.0
        if here * (0.1 + shown) > share * (0.1 + seen):  # the far side's seam lies behind the near one's in a side view
            best, share, seen = key, here, shown
    none = "rim" if curve.edge > RIM else "other"
    if share < FEW:
        return none
    name = best.removesuffix("_L").removesuffix("_R")
    if share < MOST or seen < 0.4:
        return None
    if name not in SEAMS[kind] or best.endswith(FAR_SIDE.get(frame.view, "-")):
        return "other"
    return name


def _nearest(points: np.ndarray, line: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    away = np.hypot(*(points[:, None] - line[None]).transpose(2, 0, 1))
    return away.min(1), away.argmin(1)


def shake(frame: TrunkFrame, rng: np.random.Generator) -> TrunkFrame:
    """The frame as another pose and outline would have it."""
    width = float(np.median(np.ptp(frame.outline_px, axis=1)))
    return replace(
        frame,
        shoulder_px=frame.shoulder_px + rng.normal(0, SHAKE["shoulders"] * frame.trunk_px, 2),
        half_px=frame.half_px * float(np.exp(rng.normal(0, SHAKE["half"]))),
        trunk_px=frame.trunk_px * float(np.exp(rng.normal(0, SHAKE["trunk"]))),
        outline_px=frame.outline_px + rng.normal(0, SHAKE["outline"] * width, 2),
        mm_per_px=frame.mm_per_px * float(np.exp(rng.normal(0, SHAKE["scale"]))),
    )


def piece(curve: Curve, rng: np.random.Generator) -> Curve:
    """A quarter or more of a line."""
    n = len(curve.points_px)
    size = max(6, int(n * rng.uniform(0.25, 0.9)))
    first = int(rng.integers(0, max(1, n - size + 1)))
    return replace(curve, points_px=curve.points_px[first : first + size], seen=curve.seen[first : first + size])


def stray_mark(frame: TrunkFrame, inks: list[np.ndarray], rng: np.random.Generator) -> Curve:
    """A straight mark anywhere on the trunk, in one of the photo's pens."""
    aside = rng.uniform(-1.6, 1.6) * max(frame.half_px, 0.2 * frame.trunk_px)
    centre = frame.shoulder_px + np.array([aside, rng.uniform(-0.25, 1.4) * frame.trunk_px])
    length, turn = np.exp(rng.uniform(np.log(8), np.log(350))) / frame.mm_per_px, rng.uniform(0, np.pi)
    points = centre + np.linspace(-0.5, 0.5, max(4, int(length / 2)))[:, None] * length * np.array([np.cos(turn), np.sin(turn)])
    ink = inks[int(rng.integers(len(inks)))] if inks else np.array([-0.6, 0.8, 0.5])
    return Curve(points, np.ones(len(points), bool), 0.4, ink, float(rng.uniform() < 0.2) * float(rng.uniform()))


def learn(lines: Lines) -> dict[str, np.ndarray]:
    """Weights for every kind of view."""
    learnt: dict[str, np.ndarray] = {}
    for kind, names in SEAMS.items():
        every = (*NO_SEAM, *names)
        mine = [line for line in lines if line[0] == kind]
        x, weight = np.array([line[1] for line in mine]), np.array([line[3] for line in mine])
        target = np.array([[name == line[2] for name in every] for line in mine], float)
        seams_only = x[target[:, len(NO_SEAM) :].any(1)]
        mean, sd = seams_only.mean(0), seams_only.std(0) + 1e-3
        learnt |= {f"{kind}_mean": mean, f"{kind}_sd": sd, f"{kind}_weights": _softmax(terms(x, mean, sd), target, weight)}
    return learnt


def _softmax(x: np.ndarray, target: np.ndarray, weight: np.ndarray) -> np.ndarray:
    shape = (x.shape[1], target.shape[1])
    penalised = np.r_[0.0, np.ones(shape[0] - 1)][:, None]  # all but the constant

    def loss(flat: np.ndarray) -> tuple[float, np.ndarray]:
        w = flat.reshape(shape)
        z = x @ w
        z -= z.max(1, keepdims=True)
        log_p = z - np.log(np.exp(z).sum(1, keepdims=True))
        gradient = x.T @ ((np.exp(log_p) - target) * weight[:, None]) + 2 * PENALTY * penalised * w
        return -float((weight * (log_p * target).sum(1)).sum()) + PENALTY * float((penalised * w * w).sum()), gradient.ravel()

    best = minimize(loss, np.zeros(shape[0] * shape[1]), jac=True, method="L-BFGS-B", options={"maxiter": 300})
    return np.asarray(best.x.reshape(shape))


def _hidden(scene: Path) -> set[str]:
    spec = scene / "spec.json"
    return set(json.loads(spec.read_text()).get("hide_lines", [])) if spec.exists() else set()


if __name__ == "__main__":
    main()
