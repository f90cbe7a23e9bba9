"""How well point stickers are found: python -m tests.benchmarks.markers SCENE_FOLDER [...]

Each SCENE_FOLDER holds front|right|back|left.jpg and truth.json as the scene maker writes them. Prints what was found and missed
by how squarely the sticker faces the camera, the error of the named point by kind, whether the stated sd is honest, false finds and time.
"""

import json
import sys
import time
from collections import defaultdict
from pathlib import Path

import cv2
import numpy as np

from fitcheck.core.camera import Photo
from fitcheck.core.points import MARKED_POINTS
from fitcheck.core.records import VIEWS
from fitcheck.vision.person.pose import find_people
from fitcheck.vision.stickers.find_stickers import find_point_markers

CLASSES = ((0.5, 1.01, "facing > 0.5"), (0.35, 0.5, "0.35-0.5"), (0.25, 0.35, "0.25-0.35"), (-1.0, 0.25, "below 0.25"))


def main(folders: list[str]) -> None:
    """Run over the scenes and print."""
    seen: dict[str, list[bool]] = defaultdict(list)
    errors: dict[str, list[tuple[float, float]]] = defaultdict(list)
    missed, wrong, seconds = [], [], []
    for folder in map(Path, folders):
        truth = json.loads((folder / "truth.json").read_text())
        for view in VIEWS:
            told = truth["views"][view]
            rgb = np.ascontiguousarray(cv2.imread(str(folder / f"{view}.jpg"))[:, :, ::-1])
            photo = Photo(view, f"{view}.jpg", "", rgb, None, "")
            pose = find_people(photo)
            card = np.concatenate([np.array(c) for c in told["card"]["corners_px"].values()])
            started = time.perf_counter()
            sightings = find_point_markers(photo, cv2.convexHull(card.astype(np.float32))[:, 0], pose)
            seconds.append(time.perf_counter() - started)
            by_key = {(s.name, s.side, s.kind): s for s in sightings}
            for name, marker in told["point_markers"].items():
                if "id" not in marker:
                    continue
                point = MARKED_POINTS[marker["id"]]
                sighting = by_key.pop((point.name, point.side, point.kind), None)
                if sighting is None and not marker["visible"]:
                    continue
                label = next(text for low, high, text in CLASSES if low < marker["facing"] <= high)
                if marker["visible"]:
                    seen[label].append(sighting is not None)
                if sighting is None:
                    missed.append(f"{folder.name} {view} {name} {marker['facing']:.2f}")
                    continue
                target = marker["centre_px"] if point.kind == "centred" else told["landmarks"][name]["px"]
                offset = sighting.xy_px - np.array(target)
                errors[f"{point.kind}, {label}"].append((float(np.hypot(*offset)), float(np.abs(offset).max() / sighting.sd_px)))
                if "-v" in sys.argv:
                    print(folder.name, view, name, marker["facing"], offset.round(2), round(sighting.sd_px, 2), sighting.flags)
            wrong += [f"{folder.name} {view} {s.name} {s.side} {s.kind} at {s.xy_px.round()}" for s in by_key.values()]
    for *_, label in CLASSES:
        print(f"{label}: found {sum(seen[label])} of {len(seen[label])}")
    for kind, pairs in sorted(errors.items()):
        px, ratio = np.array(pairs).T
        print(f"{kind}: {len(px)}, px median {np.median(px):.2f} 95 % {np.percentile(px, 95):.2f}; within 2 sd {np.mean(ratio < 2):.2f}")
    print("missed:", *missed or ["none"], sep="\n  ")
    print("false:", *wrong or ["none"], sep="\n  ")
    print(f"time per photo: median {np.median(seconds) * 1000:.0f} ms, most {max(seconds) * 1000:.0f} ms")


if __name__ == "__main__":
    main([argument for argument in sys.argv[1:] if argument != "-v"])
