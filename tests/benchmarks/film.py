"""Films against photos of the same fittings: python -m tests.benchmarks.film FOLDER [...]

Every folder below with truth.json and a film fitting.mp4 or .mov (`tests/scenes/film.py`) is checked by its film, by its four photos at the
film's size, and by the photos as they are. Prints whether the views were told right and what each told to alter; then, of the fittings and
observables that all ways measured, the errors (mm; median, root mean square, 95th percentile), how often the 95 % intervals hold the truth,
and the film's errors over the photos'; and per film how long reading took beside what is allowed (1.5 times the decoding and one pose
inference a second of film) and the most memory that a process of its own took for it.
"""

import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np

from fitcheck.core.camera import Photo
from fitcheck.core.check import FitCheck
from fitcheck.core.errors import FitcheckError
from fitcheck.core.records import VIEWS
from fitcheck.film.open_film import lasts_s, looks
from fitcheck.film.read_film import FilmedView, as_photos, read_film, save_views
from fitcheck.photo.load import load_photo
from fitcheck.pipeline import check_fit
from fitcheck.vision.person.pose import find_people
from tests.benchmarks.accuracy import Tally, compare, covered
from tests.scenes.film_specs import set_up
from tests.scenes.spec import Spec

FILM, FILM_4K, PHOTOS_SO_SMALL, PHOTOS = "film", "film in 4K", "photos at its size", "photos"
GROUPS: dict[str, Callable[[Tally], np.ndarray]] = {
    "observables": lambda tally: tally.observables(),
    "points": lambda tally: tally.of("point x", "point y", "point z"),
}


@dataclass(frozen=True)
class Filmed:
    """One fitting: its set-up, how many views of the film were told right, and for each way that measured it how many observables it
    found and the errors of those that all ways found."""

    name: str
    kind: str
    right: int
    counts: dict[str, int]
    ways: dict[str, Tally]


def main(arguments: list[str]) -> None:
    if arguments[0] == "--read":
        print(json.dumps(_reading(Path(arguments[1]))))
        return
    scenes = sorted(path.parent for folder in arguments for path in Path(folder).rglob("truth.json"))
    table([fitting(scene) for scene in scenes])
    for film in [film for scene in scenes for film in _films(scene).values()]:
        own_process = [sys.executable, "-m", "tests.benchmarks.film", "--read", str(film)]
        took = json.loads(subprocess.run(own_process, stdout=subprocess.PIPE, check=True).stdout)
        print(f"{film.parent.name:10s}{film.stem:12s}" + ", ".join(f"{name} {value:.2f}" for name, value in took.items()), flush=True)


def fitting(scene: Path) -> Filmed:
    """Check one fitting by its films and its photos."""
    kind = set_up(Spec.model_validate_json((scene / "spec.json").read_text()))
    truth, seen, right = json.loads((scene / "truth.json").read_text()), {}, 0
    for way, film in _films(scene).items():
        with tempfile.TemporaryDirectory() as folder:
            views = read_film(film)
            seen[way] = as_photos(views, save_views(views, Path(folder)))
            right += _right(views, truth, scene.name) if way == FILM else 0
    seen[PHOTOS] = [load_photo(scene / f"{view}.jpg", view) for view in VIEWS]
    seen[PHOTOS_SO_SMALL] = [_at(photo, seen[FILM][0]) for photo in seen[PHOTOS]]
    results = {way: result for way, photos in seen.items() if (result := _checked(photos, f"{scene.name} {way}")) is not None}
    alike = set.intersection(*({m.key for m in result.measurements} for result in results.values())) if results else set()
    ways = {}
    for way, result in results.items():
        same = replace(result, measurements=tuple(m for m in result.measurements if m.key in alike))
        compare(same, truth, found := Tally(), "")
        ways[way] = found
        told = ", ".join(f"{s.amount.id} {s.amount.side} {s.amount.amount_mm:+.1f}" for s in result.round.steps)
        print(
            f"{scene.name:10s}{kind:17s}{way:20s}{len(result.measurements):4d}{_row(found.observables())}  {told or 'nothing'}", flush=True
        )
    return Filmed(scene.name, kind, right, {way: len(result.measurements) for way, result in results.items()}, ways)


def _checked(photos: Sequence[Photo], name: str) -> FitCheck | None:
    try:
        return check_fit(photos, drawn=False)
    except FitcheckError as error:
        print(f"{name}: {error}")
        return None


def table(fittings: Sequence[Filmed]) -> None:
    """Print how films did beside photos, of all and by set-up."""
    print(f"\nviews told right: {sum(one.right for one in fittings)} of {4 * len(fittings)}")
    print("observables found:", {way: sum(one.counts.get(way, 0) for one in fittings) for way in (FILM, PHOTOS_SO_SMALL, PHOTOS)})
    kinds = sorted({one.kind for one in fittings})
    for title, chosen in (("all", kinds), *((kind, [kind]) for kind in kinds)):
        _compared(title, [one.ways for one in fittings if one.kind in chosen], (FILM, PHOTOS_SO_SMALL, PHOTOS))
    if large := [one.ways for one in fittings if FILM_4K in one.ways]:
        _compared("filmed in 4K too", large, (FILM, FILM_4K, PHOTOS_SO_SMALL, PHOTOS))


def _films(scene: Path) -> dict[str, Path]:
    there = {way: [scene / f"{name}{suffix}" for suffix in (".mp4", ".mov")] for way, name in ((FILM, "fitting"), (FILM_4K, "fitting_4k"))}
    return {way: path for way, paths in there.items() for path in paths if path.exists()}


def _right(views: Sequence[FilmedView], truth: dict, name: str) -> int:
    """How many views were taken within the stand in which she showed them."""
    right = 0
    for filmed in views:
        start, end = truth["views"][filmed.view]["stands_s"]
        if start < (filmed.start_s + filmed.end_s) / 2 < end:
            right += 1
        else:
            print(f"{name}: {filmed.says}, but she stood so from {start:.1f} to {end:.1f} s")
    return right


def _at(photo: Photo, like: Photo) -> Photo:
    """A photo at the size of a film's picture."""
    height, width = like.rgb.shape[:2]
    by = width / photo.rgb.shape[1]
    small = cv2.resize(photo.rgb, (width, height), interpolation=cv2.INTER_AREA)
    return replace(photo, rgb=small, focal_px=None if photo.focal_px is None else photo.focal_px * by)


def _compared(title: str, fittings: Sequence[dict[str, Tally]], ways: Sequence[str]) -> None:
    whole = [found for found in fittings if all(way in found for way in ways)]
    print(f"\n{title}: {len(whole)} of {len(fittings)} fittings measured by all ways")
    for name, of in GROUPS.items():
        rows = {way: np.concatenate([of(found[way]) for found in whole]) for way in ways if whole}
        for way, found in rows.items():
            over = [by(rows[FILM]) / by(found) for by in (_rms, _median)]
            print(f"{name:13s}{way:20s}{_row(found)}  1080p film over this: rms {over[0]:.2f}, median {over[1]:.2f}")


def _row(rows: np.ndarray) -> str:
    return f"{len(rows):5d}{_median(rows):7.2f}{_rms(rows):7.2f}{np.percentile(abs(rows[:, 0]), 95):7.2f}  covered {covered(rows):.2f}"


def _median(rows: np.ndarray) -> float:
    return float(np.median(abs(rows[:, 0])))


def _rms(rows: np.ndarray) -> float:
    return float(np.sqrt(np.mean(rows[:, 0] ** 2)))


def _reading(film: Path) -> dict[str, float]:
    """Seconds that decoding and reading took, the most that reading may take, and the most memory, MB."""
    begin, reader = time.perf_counter(), cv2.VideoCapture(str(film))
    while reader.grab():
        pass
    decoding = time.perf_counter() - begin
    photo = Photo("front", "", "", next(looks(film)).rgb, None, "")
    find_people(photo)
    begin = time.perf_counter()
    find_people(photo)
    pose = time.perf_counter() - begin
    begin = time.perf_counter()
    read_film(film)
    reading = time.perf_counter() - begin
    status = Path("/proc/self/status").read_text().split()
    most = float(status[status.index("VmHWM:") + 1]) / 1024
    return {
        "lasts": lasts_s(film),
        "decoding": decoding,
        "reading": reading,
        "allowed": 1.5 * decoding + pose * lasts_s(film),
        "memory": most,
    }


if __name__ == "__main__":
    main(sys.argv[1:])
