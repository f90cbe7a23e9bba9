"""Films against photos of the same fittings: python -m tests.benchmarks.film SCENES_FOLDER [...] [--sides 1080x1440]

Every folder below with four photos and truth.json is drawn as a film (`tests/film/drawn_film.py`) and checked; beside it its photos,
brought to the film's size. Prints whether the views were told right, the errors of all observables and points, how often the 95 %
intervals hold the truth, the alterations named by both, and how long reading took against decoding.
"""

import json
import resource
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np

from fitcheck.core.camera import Photo
from fitcheck.core.errors import FitcheckError
from fitcheck.core.records import VIEWS
from fitcheck.film.read_film import as_photos, read_film, save_views
from fitcheck.photo.load import load_photo
from fitcheck.pipeline import check_fit
from tests.benchmarks.accuracy import Tally, compare, covered
from tests.film.drawn_film import Shot, write_film


def main(arguments: list[str]) -> None:
    sides = next((word.partition("=")[2] for word in arguments if word.startswith("--sides")), "1080x1440")
    shot = Shot(sides=tuple(map(int, sides.split("x"))), rate=30, stand_s=3.5, turn_s=2.0)
    scenes = sorted(path.parent for folder in arguments if folder[0] != "-" for path in Path(folder).rglob("truth.json"))
    filmed, still, right, seconds = Tally(), Tally(), 0, []
    for k, scene in enumerate(scenes):
        truth = json.loads((scene / "truth.json").read_text())
        with tempfile.TemporaryDirectory() as folder:
            film = write_film(scene, Path(folder) / "fitting.mp4", replace(shot, seed=k, order=_order(k)))
            seconds.append((_decoding_s(film), *_timed(film)))
            views = read_film(film)
            photos = as_photos(views, save_views(views, Path(folder) / "views"))
        right += _right(views, _order(k), shot)
        for name, seen, tally in (("film", photos, filmed), ("photos", [_at(scene, view, shot) for view in VIEWS], still)):
            try:
                result = check_fit(seen, drawn=False)
            except FitcheckError as error:
                print(f"{scene.name} {name}: {error}")
                continue
            compare(result, truth, tally, "")
            print(
                f"{scene.name:24s}{name:8s}",
                ", ".join(f"{s.amount.id} {s.amount.side} {s.amount.amount_mm:+.1f}" for s in result.round.steps),
            )
    print(f"\nviews told right: {right} of {4 * len(scenes)}")
    for name, tally in (("film", filmed), ("photos", still)):
        for what, rows in (("observables", tally.observables()), ("points", tally.of("point x", "point y", "point z"))):
            errors, held = abs(rows[:, 0]), covered(rows)
            print(f"{name:8s}{what:14s}{len(rows):6d}  {np.median(errors):5.2f} / {np.percentile(errors, 95):5.2f}   covered {held:.2f}")
    decoding, reading, processor = np.array(seconds).T
    print(f"reading / decoding: {np.median(reading / decoding):.2f}; processor time of reading {np.median(processor):.1f} s")
    print(f"memory at most {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


def _order(k: int) -> tuple[str, ...]:
    """Another beginning and another direction for each film."""
    views = VIEWS[k % 4 :] + VIEWS[: k % 4]
    return tuple(views if k % 2 else views[::-1])


def _right(views, order, shot: Shot) -> int:
    each = shot.stand_s + shot.turn_s
    return sum(abs(filmed.start_s - each * order.index(filmed.view)) < each / 2 for filmed in views)


def _decoding_s(film: Path) -> float:
    begin, reader = time.perf_counter(), cv2.VideoCapture(str(film))
    while reader.grab():
        pass
    return time.perf_counter() - begin


def _timed(film: Path) -> tuple[float, float]:
    begin, used = time.perf_counter(), time.process_time()
    read_film(film)
    return time.perf_counter() - begin, time.process_time() - used


def _at(scene: Path, view: str, shot: Shot) -> Photo:
    photo = load_photo(scene / f"{view}.jpg", view)
    return replace(photo, rgb=cv2.resize(photo.rgb, shot.sides, interpolation=cv2.INTER_AREA), focal_px=None)


if __name__ == "__main__":
    main(sys.argv[1:])
