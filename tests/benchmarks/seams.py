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

from fitcheck.core.records import Photo, Pose, Sighting
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
        entry = {"visible": float((seen > 0.75).sum()), "found": 0.0, "off": np.zeros(0), "wrong": 0.0, "ends": {}, "sd": np.nan}
        if key in found:
            mine = dense(found[key].points_px)[0]
            away = nearest(mine, points)
            entry["off"] = away[away < 6]
            entry["wrong"] = float((away >= 6).sum())
            entry["found"] = (
                float((np.hypot(*(points[seen > 0.75][:, None] - mine[None]).transpose(2, 0, 1)).min(1) < NEAR_PX).sum())
                if (seen > 0.75).any()
                else 0.0
            )
            entry["sd"] = found[key].sd_px
            for which, i in (("first", 0), ("last", -1)):
                if visible[i]:
                    entry["ends"][which] = float(np.hypot(*(found[key].points_px[[0, -1]] - px[i]).T).min())
        out[key] = entry
    for key in found.keys() - out.keys():
        out[key] = {
            "visible": 0.0,
            "found": 0.0,
            "off": np.zeros(0),
            "wrong": float(len(dense(found[key].points_px)[0])),
            "ends": {},
            "sd": np.nan,
        }
    return out


def noisy_pose(truth: dict, mask: np.ndarray, seed: int) -> Pose:
    """A pose as a network might give it: the truth's points, 15 px off."""
    rng = np.random.default_rng(seed)
    marks = truth["landmarks"]
    points = np.zeros((33, 2))
    for i, name in {11: "shoulder_point_L", 12: "shoulder_point_R", 23: "hip_side_L", 24: "hip_side_R", 7: "ear_L", 8: "ear_R"}.items():
        points[i] = np.array(marks[name]["px"]) + rng.normal(0, 10, 2)
    return Pose(points, np.zeros((33, 3)), np.ones(33), mask)


def main(folder: Path, only: list[str]) -> None:
    cv2.setNumThreads(1)
    from pose_cache import pose_of, sightings_of

    total: dict = defaultdict(list)
    for scene in sorted(
        p for p in folder.iterdir() if (p / "truth.json").exists() and (not only or any(p.name.startswith(o) for o in only))
    ):
        truth = json.loads((scene / "truth.json").read_text())
        for view in ("front", "right", "back", "left"):
            rgb = cv2.cvtColor(cv2.imread(str(scene / f"{view}.jpg")), cv2.COLOR_BGR2RGB)
            photo = Photo(view, f"{view}.jpg", "", rgb, None, "")
            pose = pose_of(scene.name, view)
            begin = time.process_time()
            seams = find_seams(photo, pose, sightings_of(scene.name, view, truth["views"][view]), 0.9)
            spent = time.process_time() - begin
            print(f"{scene.name} {view} {1e3 * spent:.0f} ms")
            for key, e in judge(truth["views"][view], seams).items():
                if e["visible"] < 12 and e["wrong"] == 0 and not len(e["off"]):
                    continue
                total[(key[:-2] if key[-2:] in ("_L", "_R") else key, "side" if view in ("right", "left") else view)].append(e)
                off = e["off"]
                flag = " <<<" if e["wrong"] > 4 or (e["visible"] > 25 and e["found"] < 0.8 * e["visible"]) else ""
                print(
                    f"   {key:16s} visible {e['visible']:5.0f} found {e['found'] / max(e['visible'], 1):4.0%}"
                    f" off {np.median(off) if len(off) else np.nan:5.2f} {np.percentile(off, 95) if len(off) else np.nan:5.2f} sd {e['sd']:.2f}"
                    f" wrong {e['wrong']:4.0f} ends {' '.join(f'{k} {v:.1f}' for k, v in e['ends'].items())}{flag}"
                )
    print("ALL")
    for key, entries in sorted(total.items()):
        off = np.concatenate([e["off"] for e in entries])
        ends = [v for e in entries for v in e["ends"].values()]
        print(
            f"   {key[0]:14s} {key[1]:6s} n {len(entries):2d} found {sum(e['found'] for e in entries) / max(1, sum(e['visible'] for e in entries)):4.0%}"
            f" off {np.median(off) if len(off) else np.nan:5.2f} {np.percentile(off, 95) if len(off) else np.nan:5.2f}"
            f" wrong {sum(e['wrong'] for e in entries):5.0f} ends median {np.median(ends) if ends else np.nan:.1f} worst {max(ends, default=np.nan):.1f}"
        )


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
