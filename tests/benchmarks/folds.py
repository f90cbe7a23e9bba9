"""Folds against the draped truth, and against scikit-image's Frangi filter in the same run.

    python -m tests.benchmarks.folds SCENE ...

Each scene is a folder with photos and the folds.json that tests/scenes writes beside them. Scored as curve detection by length with a
band of 10 mm: a found stretch is right within 10 mm of a true crest (for a ridge) or hollow (for a valley) of a fold at least 3 mm high
(upper quartile along it) and 60 mm long, visible and seen from within 60 degrees; found stretches beside lower or shorter true folds
count neither way (`strict`: they count as wrong). Direction errors are those of the right stretches. Frangi's filter gets the same crop
at 2.5 mm a pixel, the same bridged brightness less its mean around, and the same places where folds are looked for, at three scales that
cover the same folds, 10 to 45 mm wide from flank to flank; its response, cut at the threshold that suits it best on the scenes given, is
thinned to curves of at least 40 mm. Times are the best of five on one thread; ours is everything from the photo on.
"""

import json
import sys
import time
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from skimage.filters import frangi
from skimage.morphology import skeletonize

from fitcheck.core.camera import Photo, Scale
from fitcheck.core.records import Pose, SeamLine, Sighting
from fitcheck.photo.card.scale import scales_from_cards
from fitcheck.photo.load import find_views, load_photo
from fitcheck.vision.cloth.find_cloth import Cloth, find_cloth
from fitcheck.vision.folds.bare_cloth import STEP_MM, BareCloth, bare_cloth, mean_of_known
from fitcheck.vision.folds.fold_maps import fold_maps
from fitcheck.vision.folds.trace_folds import RIM_MM, SHORTEST_MM, find_folds
from fitcheck.vision.lines.seams import find_seams
from fitcheck.vision.person.pose import find_people
from fitcheck.vision.stickers.find_stickers import find_point_markers
from tests.scenes.read_truth import Lines, true_lines

BAND_MM = 10.0
STEP_PX = 2.0
FRANGI_MM = (4.0, 6.5, 10.0)
FLATTEN_MM = 20.0
REPEATS = 5
View = tuple[Photo, Pose, Scale, tuple[Sighting, ...], tuple[SeamLine, ...], Cloth]


def views_of(folder: Path) -> list[View]:
    photos = [load_photo(file, view) for view, file in find_views(folder).items()]
    found = []
    for photo, scale in zip(photos, scales_from_cards(photos, 100.0), strict=True):
        pose = find_people(photo)
        assert pose is not None
        assert scale is not None
        stickers, cloth = find_point_markers(photo, pose=pose), find_cloth(photo.rgb, pose)
        found.append((photo, pose, scale, stickers, find_seams(photo, pose, stickers, scale.mm_per_px, cloth), cloth))
    return found


def dense(lines: Lines) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points every STEP_PX, whether on a ridge, and directions in degrees."""
    points, ridge, way = [np.zeros((0, 2))], [np.zeros(0, bool)], [np.zeros(0)]
    for kind, px in lines:
        s = np.r_[0, np.cumsum(np.hypot(*np.diff(px, axis=0).T))]
        at = np.arange(0, s[-1], STEP_PX)
        if len(at) < 3:
            continue
        q = np.stack([np.interp(at, s, px[:, i]) for i in (0, 1)], 1)
        along = np.gradient(q, axis=0)
        points.append(q)
        ridge.append(np.full(len(q), kind == "ridge"))
        way.append(np.degrees(np.arctan2(along[:, 1], along[:, 0])))
    return np.concatenate(points), np.concatenate(ridge), np.concatenate(way)


def score(wanted: Lines, low: Lines, found: Lines, mm_per_px: float) -> np.ndarray | tuple[Any, ...]:
    """Lengths (mm): true, found of them, found, right, beside lower folds; and direction errors."""
    (tp, tk, tw), (lp, lk, _), (fp, fk, fw) = dense(wanted), dense(low), dense(found)

    def near(p: np.ndarray, k: np.ndarray, q: np.ndarray, qk: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        if not len(p) or not len(q):
            return np.zeros(len(p), bool), np.zeros(len(p), int)
        gap = np.where(k[:, None] == qk[None], np.hypot(*(p[:, None] - q[None]).transpose(2, 0, 1)), np.inf)
        return gap.min(1) <= BAND_MM / mm_per_px, gap.argmin(1)

    recalled, _ = near(tp, tk, fp, fk)
    right, which = near(fp, fk, tp, tk)
    beside, _ = near(fp, fk, lp, lk)
    turn = np.abs((fw[right] - tw[which[right]] + 90) % 180 - 90) if right.any() else np.zeros(0)
    step = STEP_PX * mm_per_px
    return np.array([len(tp), recalled.sum(), len(fp), right.sum(), (beside & ~right).sum()]) * step, turn


def report(name: str, scores: list[Any]) -> str:
    true, recalled, found, right, beside = np.sum([s[0] for s in scores], axis=0)
    turn = np.concatenate([s[1] for s in scores])
    recall, precision = recalled / max(true, 1e-9), right / max(found - beside, 1e-9)
    f1 = 2 * recall * precision / max(recall + precision, 1e-9)
    angle = f"{np.median(turn):.1f}" if len(turn) else "-"
    return (
        f"{name:28s} true {true:5.0f} mm  found {found:5.0f} mm  recall {recall:.2f}  precision {precision:.2f} "
        f"(strict {right / max(found, 1e-9):.2f})  F1 {f1:.2f}  direction {angle} deg"
    )


def our_folds(view: View) -> Lines:
    cloth = bare(view)
    maps = fold_maps(cloth)
    return [] if maps is None else [(fold.kind, fold.points_px) for fold in find_folds(view[0].view, cloth, maps)[0]]


def bare(view: View) -> BareCloth:
    photo, _, scale, stickers, seams, cloth = view
    return bare_cloth(photo, cloth, stickers, seams, scale.mm_per_px)


def flattened(cloth: BareCloth) -> np.ndarray:
    """Brightness as a share of its mean over FLATTEN_MM around, less 1; 0 where it is not known."""
    known = (cloth.hangs & (cloth.brightness > 0)).astype(np.float32)
    mean, _ = mean_of_known(cloth.brightness * known, known, FLATTEN_MM)
    return (cloth.brightness / np.maximum(mean, 1e-4) - 1) * known


def frangi_responses(picture: np.ndarray) -> dict[str, np.ndarray]:
    sigmas = [scale / STEP_MM for scale in FRANGI_MM]
    return {kind: frangi(picture, sigmas=sigmas, black_ridges=kind == "valley") for kind in ("ridge", "valley")}


def frangi_lines(responses: dict[str, np.ndarray], cloth: BareCloth, cut: float) -> Lines:
    lines: Lines = []
    for kind, response in responses.items():
        thin = skeletonize((response > cut) & (cloth.inward_mm > RIM_MM))
        count, labels = cv2.connectedComponents(thin.astype(np.uint8), connectivity=8)
        for label in range(1, count):
            y, x = np.nonzero(labels == label)
            points = np.stack([x, y], 1).astype(float)
            axis = np.linalg.svd(points - points.mean(0), full_matrices=False)[2][0] if len(points) > 2 else np.ones(2)
            points = points[np.argsort(points @ axis)]
            if np.hypot(*(points[-1] - points[0])) * STEP_MM >= SHORTEST_MM:
                lines.append((kind, cloth.in_photo(points)))
    return lines


def best_time(work: Any) -> float:
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def main(*scenes: str) -> None:
    cv2.setNumThreads(1)
    ours, given, spent = [], [], np.zeros(2)
    for scene in scenes:
        truth = json.loads((Path(scene) / "folds.json").read_text())["views"]
        own, taken = [], 0.0
        for view in views_of(Path(scene)):
            wanted, low = true_lines(truth.get(view[0].view, []))
            scale, cloth = view[2].mm_per_px, bare(view)
            own.append(score(wanted, low, our_folds(view), scale))
            picture = flattened(cloth)
            given.append((frangi_responses(picture), cloth, wanted, low, scale))
            times = best_time(lambda view=view: our_folds(view)), best_time(lambda picture=picture: frangi_responses(picture))
            taken += times[0]
            spent += times
        print(report(Path(scene).name, own), f" {1000 * taken:.0f} ms for {len(own)} photos")
        ours += own
    print(report("all", ours))
    peak = max(float(r.max()) for responses, *_ in given for r in responses.values())
    trials = []
    for cut in peak * np.geomspace(1e-4, 0.5, 12):
        scores = [score(w, low, frangi_lines(r, cloth, cut), mm) for r, cloth, w, low, mm in given]
        true, recalled, found, right, beside = np.sum([s[0] for s in scores], axis=0)
        trials.append((2 * recalled * right / max(recalled * (found - beside) + right * true, 1e-9), cut, scores))
    best = max(trials, key=lambda trial: trial[0])
    print(report("Frangi at its best threshold", best[2]))
    ours_ms, frangi_ms = 1000 * spent
    print(f"all photos: ours, whole, {ours_ms:.0f} ms, Frangi's filter alone {frangi_ms:.0f} ms, ratio {ours_ms / frangi_ms:.2f}")


if __name__ == "__main__":
    main(*sys.argv[1:])
