"""The same fittings by different set-ups: python -m tests.benchmarks.floor SCENE [...]

Each SCENE is a folder of the scene maker with floor sheets in its spec. Its photos are checked four times: by card and pole, by the card
alone, by card and floor sheets, and by the sheets alone; what is left out is not looked for. Prints, for each set-up, the height common
to all points (mean, sd), errors of points in space with stickers and without (median, 95th percentile),
and how far focal lengths scatter about the true ones. The prints are taken to be measured by the long bar.
"""

import json
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np

from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.floor_sheet import FLOOR_BAR_MM
from fitcheck.core.records import VIEWS
from fitcheck.core.settings import Settings
from fitcheck.photo.load import load_photo
from fitcheck.pipeline import check_fit
from fitcheck.stages import agree
from tests.benchmarks.accuracy import GRADES, true_points

Instead = dict[str, Callable[..., Any]]
NO_SHEETS: Instead = {"find_sheets": lambda rgb: ()}
NO_CARD: Instead = {"scales_from_cards": lambda photos, *others: [None] * len(photos)}
NO_POLE: Instead = {"above_floor": lambda photos, scales, told_mm=None: dict(scales)}
SET_UPS: dict[str, Instead] = {
    "card and pole": NO_SHEETS,
    "card": NO_SHEETS | NO_POLE,
    "card and sheets": NO_POLE,
    "sheets": NO_CARD,
}


@dataclass
class Tally:
    """Of one set-up: the common height of every fitting, errors of points by whether they had a sticker, focal lengths."""

    common: list[float] = field(default_factory=list)
    points: dict[bool, list[float]] = field(default_factory=lambda: {True: [], False: []})
    focal: list[float] = field(default_factory=list)


def run(folder: Path, tallies: dict[str, Tally]) -> None:
    truth = json.loads((folder / "truth.json").read_text())
    points = true_points(truth)
    photos = [load_photo(folder / f"{view}.jpg", view) for view in VIEWS]
    for name, instead in SET_UPS.items():
        with patch.multiple(agree, **instead):
            try:
                check = check_fit(photos, Settings(FittingFacts(card_bar_mm=FLOOR_BAR_MM)), drawn=False)
            except NothingMeasuredError as error:
                print(f"{folder.name}, {name}: {error}")
                continue
        tally, heights = tallies[name], []
        for landmark in check.landmarks:
            if (landmark.name, landmark.side) in points:
                error_mm = landmark.position_mm - points[landmark.name, landmark.side]
                marked = min((s.grade for s in landmark.sightings), key=GRADES.index, default="none") == "marker"
                tally.points[marked].append(float(np.linalg.norm(error_mm)))
                heights.append(error_mm[1])
        tally.common.append(float(np.median(heights)))
        for result in check.photos:
            if result.scale is not None:
                true_px = truth["views"][result.photo.view]["camera"]["K"][0][0]
                tally.focal.append(float(result.scale.camera.matrix[0, 0] / true_px - 1))


def main(folders: list[str]) -> None:
    tallies = {name: Tally() for name in SET_UPS}
    for folder in map(Path, folders):
        run(folder, tallies)
    print(f"{'':18s}{'common height':>22s}{'with stickers':>22s}{'without':>22s}{'focal length':>14s}")
    for name, tally in tallies.items():
        if not tally.common:
            continue
        cells = [f"{np.mean(tally.common):+.2f}, sd {np.std(tally.common, ddof=1) if len(tally.common) > 1 else np.nan:.2f} mm"]
        for marked in (True, False):
            errors = np.array(tally.points[marked] or [np.nan])
            cells.append(f"{np.median(errors):.2f} / {np.percentile(errors, 95):.2f} mm ({len(errors)})")
        print(f"{name:18s}" + "".join(f"{cell:>22s}" for cell in cells) + f"{100 * np.std(tally.focal):12.2f} %")


if __name__ == "__main__":
    main(sys.argv[1:])
