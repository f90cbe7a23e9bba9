"""How long a placed point takes to be answered: python -m tests.benchmarks.again [FITTING_FOLDER] [RUNS]

After a whole check with everything loaded, her right shoulder point is put a little elsewhere in the right photo, each time by another
pixel, and the check is asked again with the stages kept; whole checks are timed in turn with it. Prints the median of each and the
ratio, and what the stages that run again take.
"""

import statistics
import sys
import time
from pathlib import Path

import numpy as np

from fitcheck.core.check import FitCheck
from fitcheck.core.records import Sighting
from fitcheck.core.settings import Settings
from fitcheck.photo.load import find_views, load_photo
from fitcheck.pipeline import check_fit
from fitcheck.stages.kept import Kept

POINT = ("shoulder_point", "wearer_right", "right")
PLACED_SD_PX = 2.0
WHOLE_EVERY = 4  # so many answers to one whole check


def main(folder: Path, runs: int) -> None:
    photos = [load_photo(path, view) for view, path in find_views(folder).items()]
    kept = Kept()
    place = _seen_at(check_fit(photos, kept=kept))
    again, whole, stages = [], [], []
    for i in range(runs):
        if i % WHOLE_EVERY == 0:
            start = time.perf_counter()
            check_fit(photos)
            whole.append(time.perf_counter() - start)
        marks: list[tuple[str, float]] = []
        start = time.perf_counter()
        check_fit(
            photos, _placed(place + [i - runs / 2, 0.0]), lambda stage, _, m=marks: m.append((stage, time.perf_counter())), kept, False
        )
        again.append(time.perf_counter() - start)
        ends = [*(t for _, t in marks[1:]), start + again[-1]]
        stages.append({stage: end - begun for (stage, begun), end in zip(marks, ends, strict=True)})
    answer, check = statistics.median(again), statistics.median(whole)
    print(f"whole check {check * 1000:.0f} ms; answer to a placed point {answer * 1000:.0f} ms; ratio {answer / check:.3f}")
    for stage in stages[0]:
        print(f"  {stage:36s}{statistics.median(run[stage] for run in stages) * 1000:6.0f} ms")


def _seen_at(check: FitCheck) -> np.ndarray:
    """Where her shoulder point was seen."""
    marks = [s for photo in check.photos for s in photo.sightings if (s.name, s.side, s.view) == POINT]
    return np.asarray(marks[0].xy_px)


def _placed(xy_px: np.ndarray) -> Settings:
    name, side, view = POINT
    return Settings(placed_points=(Sighting(name, side, view, "placed", xy_px, PLACED_SD_PX, kind="placed"),))


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "sample_images/forward_shoulder"), int(sys.argv[2]) if len(sys.argv) > 2 else 20)
