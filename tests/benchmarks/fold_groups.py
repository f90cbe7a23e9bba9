"""Groups of folds found by whole checks, against the groups that the true folds of the same scenes make.

    python -m tests.benchmarks.fold_groups SCENE ...     # from the root of the repository

Scenes are folders of tests/scenes.make with spec.json, truth.json, folds.json and drape.npz. The true folds are the stretches of folds.json
that are seen and at least as long as a found fold must be, their heights the medians along them, their widths read off the true relief as
the program reads them off its own; they are grouped by the same rules about the true landmarks (points without truth, as the shoulder
blade, stand where the check put them). Prints, for each reading, how many groups are significant in truth, as found, and in both; how
many the well-fitting controls show; and how far the cloth that a group takes up is from the true group's, as the ratio of the two.
"""

import json
import sys
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from fitcheck.core.check import FitCheck
from fitcheck.core.folds import Fold, FoldGroup
from fitcheck.core.records import View
from fitcheck.measure.fold_frame import BodyPlaces
from fitcheck.measure.folds import group_folds
from fitcheck.photo.load import find_views, load_photo
from fitcheck.pipeline import check_fit
from fitcheck.vision.folds.bare_cloth import STEP_MM
from fitcheck.vision.folds.trace_folds import SHORTEST_MM, FoldCurve, across, as_fold
from tests.benchmarks.accuracy import point_key
from tests.scenes.fold_truth import relative_height
from tests.scenes.read_truth import Stretch, height_picture, in_view, stretches

TRAINED_ON = "train_"  # names of scenes that the fold network has learnt from
MAD_TO_SD = 1.4826
Groups = dict[str, FoldGroup]


@dataclass(frozen=True)
class Scene:
    name: str
    control: bool
    true: Groups
    found: Groups


def read(folder: Path) -> Scene:
    photos = [load_photo(file, view) for view, file in find_views(folder).items()]
    result = check_fit(photos)
    true = group_folds(*true_folds(folder, result))
    by_key = [{group.key: group for group in groups} for groups in (true, result.fold_groups)]
    return Scene(folder.name, json.loads((folder / "spec.json").read_text())["note"] == "control", *by_key)


def true_folds(folder: Path, result: FitCheck) -> tuple[list[Fold], dict[View, BodyPlaces]]:
    """The folds of all views as the program would write them down, and where the body points lie in them."""
    truth, lines = (json.loads((folder / name).read_text()) for name in ("truth.json", "folds.json"))
    drape = np.load(folder / "drape.npz")
    x, triangles = drape["x"].astype(float), drape["T"].astype(int)
    height = relative_height(x, triangles, drape["rest"].astype(float))
    folds, places = [], {}
    for photo in result.photos:
        view = truth["views"][photo.photo.view]
        here = places_of(truth, view, photo.photo.view, result)
        places[photo.photo.view] = here
        zoom = here.mm_per_px / STEP_MM
        size = tuple(round(side * zoom) for side in photo.photo.rgb.shape[:2])
        relief = height_picture(view, x, triangles, height, lambda px, zoom=zoom: (px + 0.5) * zoom - 0.5, size)
        for stretch in stretches(lines["views"].get(photo.photo.view, [])):
            curve = curve_of(stretch, (stretch.px + 0.5) * zoom - 0.5, relief)
            if curve.length_mm >= SHORTEST_MM:
                folds.append(as_fold(curve, photo.photo.view, stretch.px))
    return folds, places


def curve_of(stretch: Stretch, points: np.ndarray, relief: np.ndarray) -> FoldCurve:
    steps = np.hypot(*np.diff(points, axis=0).T)
    s = np.r_[0, np.cumsum(steps)]
    dense = np.stack([np.interp(np.arange(0, s[-1], 1.0), s, column) for column in points.T], 1)  # a pixel apart, as found curves are
    _, width = across(dense, relief if stretch.kind == "ridge" else -relief)
    straightness = float(np.hypot(*(points[-1] - points[0])) / s[-1])
    return FoldCurve(stretch.kind, points, float(s[-1]) * STEP_MM, width, float(np.median(stretch.height_mm)), straightness)


def places_of(truth: dict[str, Any], view: dict[str, Any], name: View, result: FitCheck) -> BodyPlaces:
    known = {point_key(word): np.array(at["px"]) for word, at in view["landmarks"].items()}
    raw = {word: np.array(at) for word, at in truth["landmarks"].items()}
    origin = (raw["shoulder_point_L"] + raw["shoulder_point_R"]) / 2
    rest = {(mark.name, mark.side): mark.position_mm for mark in result.landmarks if (mark.name, mark.side) not in known}
    if rest:
        in_body = np.array(list(rest.values()))  # x to her left, y up, z forward, see accuracy.true_points
        px, _ = in_view(np.stack([in_body[:, 0] + origin[0], origin[1] - in_body[:, 2], in_body[:, 1]], 1), view)
        known |= dict(zip(rest, px, strict=True))
    _, seen = in_view(np.array(list(raw.values())), view)
    return BodyPlaces(name, known, float(seen[:, 2].mean() / np.mean(np.diag(view["camera"]["K"])[:2])))


def report(scenes: list[Scene]) -> None:
    """Print all figures of some scenes."""
    counts: dict[str, np.ndarray] = defaultdict(lambda: np.zeros(3, int))
    for scene in scenes:
        for key in scene.true.keys() | scene.found.keys():
            true, found = (key in groups and groups[key].significant for groups in (scene.true, scene.found))
            group = scene.found.get(key) or scene.true[key]
            counts[f"{group.id} {group.at}"] += (true, found, true and found)
    print(f"{'significant groups':44s}{'true':>6s}{'found':>6s}{'both':>6s}")
    for name, row in sorted(counts.items()):
        if row.any():
            print(f"{name:44s}" + "".join(f"{n:6d}" for n in row))
    print(f"{'all':44s}" + "".join(f"{n:6d}" for n in np.sum(list(counts.values()), axis=0)))
    controls = [scene for scene in scenes if scene.control]
    shown = [(scene.name, key, group) for scene in controls for key, group in scene.found.items() if group.significant]
    hung = sum(group.significant for scene in controls for group in scene.true.values())
    print(f"{len(controls)} controls: {len(shown)} significant groups found, {hung} true")
    for name, key, group in shown:
        print(f"  {name}: {key}, {group.view}, strength {group.strength:.1f}, takes up {group.take_up_mm:.2f} mm")
    for words, both in (("both significant", True), ("found significant", False)):
        logs = [
            np.log(group.take_up_mm / scene.true[key].take_up_mm)
            for scene in scenes
            for key, group in scene.found.items()
            if group.significant and key in scene.true and (scene.true[key].significant or not both)
        ]
        if logs:
            middle = float(np.median(logs))
            sd = MAD_TO_SD * float(np.median(np.abs(np.array(logs) - middle)))
            print(f"take-up over the true, {words}: n {len(logs)}, median {np.exp(middle):.2f}, robust sd of its logarithm {sd:.2f}")


def main(*folders: str) -> None:
    scenes = [read(Path(folder)) for folder in folders]
    known = [scene for scene in scenes if scene.name.startswith(TRAINED_ON)]
    new = [scene for scene in scenes if scene not in known]
    for words, some in (("scenes new to the network", new), ("scenes that the network has learnt from", known)):
        if some:
            print(f"\n{len(some)} {words}")
            report(some)


if __name__ == "__main__":
    main(*sys.argv[1:])
