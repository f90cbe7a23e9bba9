"""The trunk's outline against the truth, beside GrabCut from the same mask: python -m tests.benchmarks.outline FOLDER [...] [--each]

Every scene below the folders with truth.json, photos and drape.npz (the draped cloth: vertices `x` in mm of the subject frame, triangles
`T`) is taken. The true outline is the extent of the projected cloth in every row between armpit and hem. Compared there, on the same
photo in the same run, are the border of the pose model's mask, OpenCV's GrabCut begun from that mask (sure inside and outside of a band
around its border, five rounds, on the trunk's part of the photo), and ours (`vision.person.silhouette`). Distances are square to the true
outline. A place counts where the mask's border lies within `NEAR_MM` of the truth (elsewhere an arm is in the way) and ours says an edge.
`2 sd`: share of our points within twice their stated sd. Time: per photo, pose and mask given.
"""

import json
import sys
import time
from collections import defaultdict
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from fitcheck.core.camera import Photo
from fitcheck.core.records import VIEWS, Floats, Pose
from fitcheck.photo.load import load_photo
from fitcheck.vision.person.pose import find_people, px_per_mm
from fitcheck.vision.person.silhouette import torso_edges
from tests.scenes.read_truth import in_view

ROW_STEP_PX = 4
NEAR_MM = 30.0
BAND_MM = 12.0  # half of GrabCut's band of doubt: as far as ours searches, and a little
MARGIN_MM = 80.0  # of the picture given to GrabCut around the trunk
ROUNDS = 5
BELOW_ARMPIT_MM, ABOVE_HEM_MM = 10.0, 15.0


def true_outline(truth: dict[str, Any], view: str, drape: dict[str, Any]) -> tuple[Floats, Floats]:
    """Rows, shape (N,), and columns of the cloth's left and right extent there, shape (2, N)."""
    of_view = truth["views"][view]
    camera = of_view["camera"]
    points, _ = in_view(drape["x"].astype(float), of_view)
    marks = of_view["landmarks"]
    top = max(marks[f"underarm_{side}"]["px"][1] for side in "LR") + BELOW_ARMPIT_MM * _px_per_mm(truth, view)
    bottom = min(_hem(points, drape["T"]), camera["size_px"][1] - 1.0) - ABOVE_HEM_MM * _px_per_mm(truth, view)
    rows = np.arange(np.ceil(top), bottom, ROW_STEP_PX)
    edges = np.unique(np.sort(np.concatenate([drape["T"][:, [i, (i + 1) % 3]] for i in range(3)]).astype(int), axis=1), axis=0)
    a, b = points[edges[:, 0]], points[edges[:, 1]]
    columns = np.full((2, len(rows)), np.nan)
    for i, row in enumerate(rows):
        cut = (a[:, 1] - row) * (b[:, 1] - row) < 0
        share = (row - a[cut, 1]) / (b[cut, 1] - a[cut, 1])
        at = a[cut, 0] + share * (b[cut, 0] - a[cut, 0])
        if len(at):
            columns[:, i] = at.min(), at.max()
    return rows, columns


def _px_per_mm(truth: dict[str, Any], view: str) -> float:
    camera = truth["views"][view]["camera"]
    return float(camera["K"][0][0]) / float(np.linalg.norm(np.array(camera["t_mm"]) + [0, 0, 1e-9]))


def _hem(points: Floats, triangles: Any) -> float:
    """Highest row of the cloth's lower border."""
    edges = np.sort(np.concatenate([triangles[:, [i, (i + 1) % 3]] for i in range(3)]).astype(int), axis=1)
    border, times = np.unique(edges, axis=0, return_counts=True)
    rim = points[np.unique(border[times == 1])]
    middle = np.median(points[:, 1])
    return float(rim[rim[:, 1] > middle + 0.5 * (points[:, 1].max() - middle), 1].min())


def grab_cut(photo: Photo, pose: Pose, rows: Floats) -> Any:
    """Person mask, shape (H, W), refined by GrabCut around the given rows."""
    scale = px_per_mm(pose)
    columns = np.flatnonzero(pose.mask[int(rows[0]) : int(rows[-1])].any(0))
    margin = round(MARGIN_MM * scale)
    y0, y1 = max(0, int(rows[0]) - margin), int(rows[-1]) + margin
    x0, x1 = max(0, int(columns[0]) - margin), int(columns[-1]) + margin
    part = pose.mask[y0:y1, x0:x1].astype(np.uint8)
    size = 2 * round(BAND_MM * scale) + 1
    band = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    state = np.where(part > 0, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    state[cv2.erode(part, band) > 0] = cv2.GC_FGD
    state[cv2.dilate(part, band) == 0] = cv2.GC_BGD
    crop = np.ascontiguousarray(photo.rgb[y0:y1, x0:x1, ::-1])
    cv2.grabCut(crop, state, None, np.zeros((1, 65)), np.zeros((1, 65)), ROUNDS, cv2.GC_INIT_WITH_MASK)
    refined = pose.mask.copy()
    refined[y0:y1, x0:x1] = (state == cv2.GC_FGD) | (state == cv2.GC_PR_FGD)
    return refined


def borders(mask: Any, rows: Floats, columns: Floats) -> Floats:
    """The mask's left and right border in each row, shape (2, N): of all changes of the row the one of that way nearest to the truth."""
    found = np.full(columns.shape, np.nan)
    for i, row in enumerate(rows):
        change = np.diff(mask[int(row)].astype(np.int8))
        for side, way in ((0, 1), (1, -1)):
            at = np.flatnonzero(change == way) + 0.5
            if len(at) and np.isfinite(columns[side, i]):
                found[side, i] = at[np.abs(at - columns[side, i]).argmin()]
    return found


def compare(photo: Photo, truth: dict[str, Any], drape: dict[str, Any]) -> dict[str, Any] | None:
    """Signed distances (+ outside) of the three outlines in px, our sds, px per mm, and the seconds taken."""
    pose = find_people(photo)
    rows, columns = true_outline(truth, photo.view, drape)
    if pose is None or len(rows) < 3:
        return None
    begun = time.perf_counter()
    ours = torso_edges(photo.rgb, pose, rows)
    between = time.perf_counter()
    cut = grab_cut(photo, pose, rows)
    ended = time.perf_counter()
    scale = _px_per_mm(truth, photo.view)
    square = 1 / np.hypot(1, np.gradient(columns, rows, axis=1))  # of a distance along the row
    outwards = square * np.array([[-1.0], [1.0]])
    off = {
        "mask": (borders(pose.mask, rows, columns) - columns) * outwards,
        "GrabCut": (borders(cut, rows, columns) - columns) * outwards,
        "ours": (ours.edges_px - columns) * outwards,
    }
    there = np.abs(off["mask"]) < NEAR_MM * scale
    counted = there & np.isfinite(off["ours"]) & np.isfinite(off["GrabCut"])
    return {
        "off": {name: value[counted] for name, value in off.items()},
        "sd": (ours.sds_px * square)[counted],
        "scale": np.full(int(counted.sum()), scale),
        "share": counted.sum() / max(1, there.sum()),
        "seconds": {"ours": between - begun, "GrabCut": ended - between},
    }


def figures(results: list[dict[str, Any]]) -> str:
    """Lines of figures of some photos together."""
    scale = np.concatenate([r["scale"] for r in results])
    lines = []
    for name in ("mask", "GrabCut", "ours"):
        off = np.concatenate([r["off"][name] for r in results])
        px, mm = (np.percentile(np.abs(v), [50, 95]) for v in (off, off / scale))
        seconds = [r["seconds"].get(name, 0.0) for r in results]
        lines.append(
            f"  {name:8s} px {px[0]:5.2f} {px[1]:6.2f}   mm {mm[0]:5.2f} {mm[1]:6.2f}   bias px {np.median(off):+5.2f}"
            + (f"   ms {1000 * np.median(seconds):7.1f}" if any(seconds) else "")
        )
    off, sd = np.concatenate([r["off"]["ours"] for r in results]), np.concatenate([r["sd"] for r in results])
    lines[-1] += (
        f"   2 sd {np.mean(np.abs(off) < 2 * sd):.2f}   sd px {np.median(sd):.2f}   share {np.mean([r['share'] for r in results]):.2f}"
    )
    times = [r["seconds"]["GrabCut"] / r["seconds"]["ours"] for r in results]
    lines[-1] += f"   faster x {np.median(times):.0f} (least {min(times):.0f})"
    return "\n".join(lines)


def main(arguments: list[str]) -> None:
    folders = [Path(word) for word in arguments if not word.startswith("--")]
    by_view: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for path in sorted(path.parent for folder in folders for path in folder.rglob("drape.npz")):
        truth, drape = json.loads((path / "truth.json").read_text()), dict(np.load(path / "drape.npz"))
        for view in VIEWS:
            result = compare(load_photo(path / f"{view}.jpg", view), truth, drape)
            if result is not None and len(result["sd"]):
                by_view[view].append(result)
                if "--each" in arguments:
                    print(f"{path.name} {view}\n{figures([result])}", flush=True)
    for view, results in by_view.items():
        print(f"{view}, {len(results)} photos\n{figures(results)}")
    print(f"all\n{figures([result for results in by_view.values() for result in results])}")


if __name__ == "__main__":
    main(sys.argv[1:])
