"""Whole checks against the truth of drawn scenes: python tests/benchmarks/accuracy.py SCENES_FOLDER [...]

Every folder below with front|right|back|left.jpg and truth.json is checked. Prints what each scene was told to alter; then, per observable, n,
bias, median and 95th percentile of the absolute error, the technical error of measurement (sqrt(sum d^2 / 2N)) and the share of 95 % intervals
that hold the truth; and the same for the solved body points, the turns, and the shoulder seam gap per kind of sticker.
"""

import json
import sys
from collections import defaultdict
from pathlib import Path

import numpy as np

from fitcheck.core.records import VIEWS, FitCheck
from fitcheck.photo.load import load_photo
from fitcheck.pipeline import check_fit

NAMES = {
    "back_neck": "back_neck_point",
    "front_neck": "front_neck_point",
    "side_neck": "side_neck_point",
    "seat_back": "seat",
    "underarm": "underarm_point",
}
SIDES = {"L": "wearer_left", "R": "wearer_right"}
Errors = dict[str, list[tuple[float, float]]]


def truth_for(truth: dict, key: str) -> float | None:
    word = key.replace("behind_tip", "behind_at_tip").replace("behind_neck", "behind_at_neck").replace("tilt_", "tilt_deg_")
    return truth["observables_mm"].get({"shoulder_height_difference": "shoulder_right_lower"}.get(word, word))


def true_points(truth: dict) -> dict:
    """Body-frame positions: x to her left, y up, z forward, origin between the shoulder points."""
    raw = {k: np.array(v) for k, v in truth["landmarks"].items()}
    origin = (raw["shoulder_point_L"] + raw["shoulder_point_R"]) / 2
    points = {}
    for word, p in raw.items():
        name, side = (word[:-2], SIDES[word[-1]]) if word[-2:] in ("_L", "_R") else (word, None)
        points[NAMES.get(name, name), side] = np.array([p[0] - origin[0], p[2], origin[1] - p[1]])
    return points


def compare(result: FitCheck, truth: dict, errors: Errors, kind: str) -> None:
    for m in result.measurements:
        true = truth_for(truth, m.key)
        if true is not None:
            errors[f"{m.id} {m.at}".strip()].append((m.value - true, m.sd))
            if (m.id, m.at) == ("shoulder_seam_behind", "tip"):
                errors[f"  seam behind tip, {kind}"].append((m.value - true, m.sd))
    points = true_points(truth)
    for landmark in result.landmarks:
        if (landmark.name, landmark.side) in points:
            grade = min((s.grade for s in landmark.sightings), key=["placed", "marker", "dot", "detected"].index, default="none")
            for axis in range(3):
                error = landmark.position_mm[axis] - points[landmark.name, landmark.side][axis]
                errors[f"point {'xyz'[axis]}, {grade}"].append((error, landmark.sd_mm[axis]))
    for photo in result.photos:
        if photo.standing:
            view = truth["views"][photo.photo.view]
            errors["turn of a view (deg)"].append((photo.standing.turn_deg - view["yaw_err_deg"], photo.standing.turn_sd_deg))


def main(folders: list[str]) -> None:
    errors: Errors = defaultdict(list)
    for path in sorted(p.parent for folder in folders for p in Path(folder).rglob("truth.json")):
        truth = json.loads((path / "truth.json").read_text())
        result = check_fit([load_photo(path / f"{view}.jpg", view) for view in VIEWS])
        spec = path / "spec.json"
        kind = json.loads(spec.read_text()).get("markers", "aruco") if spec.exists() else "unknown stickers"
        compare(result, truth, errors, kind)
        told = [f"{s.amount.id} {s.amount.side} {s.amount.amount_mm:+.1f} ({s.amount.sd_mm:.1f})" for s in result.round.steps]
        later = [f"{a.id} {a.side} {a.amount_mm:+.1f}" for a in result.round.later]
        print(f"{path.name:28s} {', '.join(told) or 'nothing to alter'}{'; later ' + ', '.join(later) if later else ''}")
        print(f"{'':28s} truth: {truth['cause'].get('note', '')}; flags {[r.flags for r in result.photos if r.flags]} {result.flags}")
    print(f"\n{'':34s}{'n':>4s}{'bias':>8s}{'median':>8s}{'95 %':>8s}{'TEM':>8s}{'covered':>9s}")
    for name, rows in errors.items():
        e, sd = np.array(rows).T
        covered = np.mean(np.abs(e) < 1.96 * sd)
        tem = np.sqrt((e**2).sum() / (2 * len(e)))
        print(f"{name:34s}{len(e):4d}{e.mean():8.2f}{np.median(abs(e)):8.2f}{np.percentile(abs(e), 95):8.2f}{tem:8.2f}{covered:9.2f}")
    every = np.concatenate([np.array(rows) for name, rows in errors.items() if not name.startswith(("point", "turn", " "))])
    print(f"{'all observables':34s}{len(every):4d}{'':32s}{np.mean(np.abs(every[:, 0]) < 1.96 * every[:, 1]):9.2f}")


if __name__ == "__main__":
    main(sys.argv[1:] or ["sample_images"])
