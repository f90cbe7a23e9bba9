"""Posture numbers against the truth of drawn scenes: python -m tests.benchmarks.posture SCENES_FOLDER [...]

Every folder below with front|right|back|left.jpg and truth.json is checked. The drawn body's own upper-back curve is not in the truth.
"""

import json
import sys
from collections import defaultdict
from pathlib import Path

import numpy as np

from fitcheck.core.records import VIEWS
from fitcheck.photo.load import load_photo
from fitcheck.pipeline import check_fit

NAMES = {
    "craniovertebral_angle": "craniovertebral_deg",
    "shoulder_forward": "shoulder_forward_of_C7",
    "shoulder_slope": "shoulder_slope_deg",
    "shoulder_height_difference": "shoulder_right_lower",
}
SIDES = {"wearer_left": "_L", "wearer_right": "_R", None: ""}


def true_numbers(truth: dict) -> dict[str, float]:
    """Numbers of the truth, and those that follow from its landmarks (there y runs to her back and z up)."""
    points = {name: np.array(xyz) for name, xyz in truth["landmarks"].items()}
    hips = (points["hip_side_L"] + points["hip_side_R"]) / 2
    up = points["back_neck"] - hips
    return truth["observables_mm"] | {
        "trunk_lean": float(np.degrees(np.arctan2(-up[1], up[2]))),
        "hip_height_difference": float(points["hip_side_L"][2] - points["hip_side_R"][2]),
    }


def main(folders: list[str]) -> None:
    errors: dict[tuple[str, str], list[tuple[float, float]]] = defaultdict(list)
    for path in sorted(p.parent for folder in folders for p in Path(folder).rglob("truth.json")):
        true = true_numbers(json.loads((path / "truth.json").read_text()))
        for one in check_fit([load_photo(path / f"{view}.jpg", view) for view in VIEWS]).posture:
            value = true.get(NAMES.get(one.id, one.id) + SIDES[one.side])
            if value is not None:
                errors[one.id, one.unit].append((one.value - value, one.sd))
    print(f"{'':30s}{'n':>4s}{'bias':>8s}{'median':>8s}{'largest':>9s}{'covered':>9s}")
    for (id, unit), rows in errors.items():
        e, sd = np.array(rows).T
        covered = np.mean(np.abs(e) < 1.96 * sd)
        print(f"{id:30s}{len(e):4d}{e.mean():8.2f}{np.median(abs(e)):8.2f}{abs(e).max():9.2f}{covered:9.2f}  {unit}")


if __name__ == "__main__":
    main(sys.argv[1:] or ["sample_images"])
