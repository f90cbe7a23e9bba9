"""Seam lines found in a folder of scenes, against their truth: python tests/benchmarks/seams.py SCENES [scene ...]

Per seam: share of the truth-visible length found under the right name, distance across (median, 95th percentile), error of visible end
points, length named wrongly (farther than 6 px from the seam of that name), time.
"""

import json
import sys
import time
from collections import defaultdict
from pathlib import Path

import cv2
import numpy as np

from fitcheck.core.records import Photo
from fitcheck.vision.markers import find_point_markers
from fitcheck.vision.pose import find_people
from fitcheck.vision.seams import find_seams

NEAR_PX = 4.0


def dense(points: np.ndarray, *values: np.ndarray, step: float = 1.0) -> list[np.ndarray]:
    """Points every `step` px, and values interpolated with them."""
    s = np.r_[0, np.cumsum(np.hypot(*np.diff(points, axis=0).T))]
    t = np.arange(0, s[-1], step)
    return [np.stack([np.interp(t, s, points[:, i]) for i in (0, 1)], 1), *(np.interp(t, s, v) for v in values)]


def nearest(points: np.ndarray, to: np.ndarray) -> np.ndarray:
    """Distance of each point from a dense polyline (perpendicular to it where it has a neighbour)."""
    gap = np.hypot(*(points[:, None] - to[None]).transpose(2, 0, 1))
    i = np.clip(gap.argmin(1), 1, len(to) - 2) if len(to) > 2 else gap.argmin(1)
    if len(to) <= 2:
        return gap.min(1)
    along = to[i + 1] - to[i - 1]
    along /= np.maximum(np.hypot(*along.T)[:, None], 1e-9)
    off = points - to[i]
    return np.where(gap.min(1) < 1.5, np.abs(off[:, 0] * along[:, 1] - off[:, 1] * along[:, 0]), gap.min(1))


def truth_key(name: str, side: str | None) -> str:
    return name + {None: "", "wearer_left": "_L", "wearer_right": "_R"}[side]


def judge(view_truth: dict, seams: tuple) -> dict:
    """Per truth key: (visible px, found px, distances, wrong px, end errors)."""
    out = {}
    found = {truth_key(s.name, s.side): s for s in seams}
    for key, line in view_truth["seams"].items():
        if key.startswith("front_edge"):
            continue
        px, visible = np.array(line["px"]), np.array(line["visible"], float)
        points, seen = dense(px, visible)
        seen = seen > 0.75
        entry = {"visible": float(seen.sum()), "found": 0.0, "off": np.zeros(0), "wrong": 0.0, "ends": {}, "sd": np.nan}
        if key in found:
            mine = dense(found[key].points_px)[0]
            away = nearest(mine, points)
            entry |= {"off": away[away < 6], "wrong": float((away >= 6).sum()), "sd": found[key].sd_px}
            gaps = np.hypot(*(points[:, None] - mine[None]).transpose(2, 0, 1)).min(1)
            entry["found"] = float((gaps[seen] < NEAR_PX).sum())
            tips = found[key].points_px[[0, -1]]
            entry["ends"] = {n: float(np.hypot(*(tips - px[i]).T).min()) for n, i in (("first", 0), ("last", -1)) if visible[i]}
        out[key] = entry
    for key in found.keys() - out.keys():
        length = float(len(dense(found[key].points_px)[0]))
        out[key] = {"visible": 0.0, "found": 0.0, "off": np.zeros(0), "wrong": length, "ends": {}, "sd": np.nan}
    return out


def main(folder: Path, only: list[str]) -> None:
    cv2.setNumThreads(1)
    total: dict = defaultdict(list)
    scenes = sorted(p for p in folder.iterdir() if (p / "truth.json").exists())
    for scene in scenes:
        if only and not any(scene.name.startswith(name) for name in only):
            continue
        truth = json.loads((scene / "truth.json").read_text())
        for view in ("front", "right", "back", "left"):
            rgb = np.ascontiguousarray(cv2.imread(str(scene / f"{view}.jpg"))[:, :, ::-1])
            photo = Photo(view, f"{view}.jpg", "", rgb, None, "")
            card = np.concatenate([np.array(c) for c in truth["views"][view]["card"]["corners_px"].values()])
            pose = find_people(photo)
            stickers = find_point_markers(photo, cv2.convexHull(card.astype(np.float32))[:, 0], pose)
            begin = time.process_time()
            seams = find_seams(photo, pose, stickers, 0.9)
            spent = time.process_time() - begin
            print(f"{scene.name} {view} {1e3 * spent:.0f} ms")
            for key, e in judge(truth["views"][view], seams).items():
                if e["visible"] < 12 and e["wrong"] == 0 and not len(e["off"]):
                    continue
                total[(key[:-2] if key[-2:] in ("_L", "_R") else key, "side" if view in ("right", "left") else view)].append(e)
                flag = " <<<" if e["wrong"] > 4 or (e["visible"] > 25 and e["found"] < 0.8 * e["visible"]) else ""
                ends = " ".join(f"{k} {v:.1f}" for k, v in e["ends"].items())
                print(f"   {key:16s} {row([e])} sd {e['sd']:.2f} ends {ends}{flag}")
    print("ALL")
    for (name, view), entries in sorted(total.items()):
        ends = [v for e in entries for v in e["ends"].values()]
        print(f"   {name:14s} {view:6s} {row(entries)} ends median {np.median(ends) if ends else np.nan:.1f}")


def row(entries: list[dict]) -> str:
    """Found share, distance across and wrong length of some entries together."""
    off = np.concatenate([e["off"] for e in entries])
    visible, found = sum(e["visible"] for e in entries), sum(e["found"] for e in entries)
    middle, most = (np.median(off), np.percentile(off, 95)) if len(off) else (np.nan, np.nan)
    wrong = sum(e["wrong"] for e in entries)
    return f"visible {visible:5.0f} found {found / max(1, visible):4.0%} off {middle:5.2f} {most:5.2f} wrong {wrong:4.0f}"


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
