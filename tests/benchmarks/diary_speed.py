"""Every diary command on a large diary, as a process of its own: python -m tests.benchmarks.diary_speed [FITTINGS, 1000]."""

import json
import resource
import subprocess
import sys
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from diary.conftest import fit_check, new_fitting

from fitcheck.core.check import PostureValue
from fitcheck.core.fitting import FittingFacts, with_options
from fitcheck.core.settings import Settings
from fitcheck.diary.forgetting import delete_fitting, delete_wearer
from fitcheck.diary.recording import NewFitting, record
from fitcheck.diary.store import Diary
from fitcheck.diary_commands import recorder
from fitcheck.photo.load import find_views, load_photo
from fitcheck.pipeline import check_fit

SAMPLES = Path(__file__).parents[2] / "sample_images"

# as large as the result of a real fitting
PADDING_BYTES = 90_000


def fill(folder: Path, fittings: int) -> None:
    rng = np.random.default_rng(1)
    with Diary(folder, create=True) as diary:
        for k in range(fittings):
            posture = tuple(
                PostureValue(id, None, float(rng.normal(40, 2)), "mm", 2.0)
                for id in ("stature", "shoulder_height_difference", "hip_height_difference")
            )
            check = fit_check(k, posture=posture)
            new = new_fitting(check, f"wearer {k % 2}", f"garment {k % 60}", date(2020, 1, 1) + timedelta(days=k))
            data = json.loads(new.data)
            data["program"] = "x" * PADDING_BYTES
            record(diary, NewFitting(check, json.dumps(data), new.wearer, new.garment, {}, "copy", False, new.day))


def record_real(folder: Path) -> tuple[int, int]:
    """Two rounds of one garment, as real fittings are: measured, each with four photos of 2000 pixels, copied into the diary."""
    numbers = []
    for sample, day in (("forward_shoulder", "2019-01-01"), ("control", "2019-01-08")):
        facts = with_options(FittingFacts(), wearer="wearer 1", garment="with photos", date=day)
        paths = find_views(SAMPLES / sample)
        photos = [load_photo(path, view) for view, path in paths.items()]
        numbers.append(recorder(str(folder), facts).record(check_fit(photos, Settings(facts)), paths))
    return numbers[0], numbers[1]


def seconds(words: list[str]) -> tuple[float, float]:
    """The best of five runs of the whole process: elapsed, and processor time (which other programs' load leaves alone)."""
    best = [float("inf")] * 2
    for _ in range(5):
        begun, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, "-m", "fitcheck", *words], check=True, capture_output=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        best[0] = min(best[0], time.perf_counter() - begun)
        best[1] = min(best[1], after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return best[0], best[1]


def main(fittings: int = 1000) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "diary"
        begun = time.perf_counter()
        fill(folder, fittings)
        rounds = [str(number) for number in record_real(folder)]
        print(
            f"{fittings} fittings recorded in {time.perf_counter() - begun:.1f} s; {(folder / 'diary.sqlite').stat().st_size / 1e6:.0f} MB"
        )
        out = str(Path(name) / "page.html")
        place = ["--diary", str(folder)]
        commands = {
            "--help": ["--help"],
            "diary list": ["diary", "list", *place],
            "diary note": ["diary", "note", "text", "--fitting", "3", *place],
            "diary tape": ["diary", "tape", "wearer 1", "bust", "92", *place],
            "compare": ["compare", *place, "--out", out],
            "compare, 8 photos": ["compare", *rounds, *place, "--out", out],
            "profile": ["profile", "wearer 1", *place, "--out", out],
            "posture": ["posture", "wearer 1", *place, "--out", out],
        }
        for title, words in commands.items():
            elapsed, processor = seconds(words)
            print(f"{title:17s} {elapsed:5.2f} s elapsed, {processor:5.2f} s of processor time, whole process")
        with Diary(folder) as diary:
            begun = time.perf_counter()
            record(diary, new_fitting(fit_check("one more"), "wearer 1"))
            print(f"record            {time.perf_counter() - begun:5.2f} s within the check")
            begun = time.perf_counter()
            delete_fitting(diary, 1)
            print(f"delete one        {time.perf_counter() - begun:5.2f} s")
            begun = time.perf_counter()
            delete_wearer(diary, "wearer 0")
            print(f"delete half       {time.perf_counter() - begun:5.2f} s, {fittings} photos removed")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
