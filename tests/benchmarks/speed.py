"""How long a check takes against what it cannot do without: python -m tests.benchmarks.speed [FITTING_FOLDER] [RUNS]

Warm, in one process, alternating: decoding the four photos and one pose inference each, against the whole check with its report.
Models are loaded before. Cold, processes of their own, alternating: one that only imports the pose package, as everybody does, and
runs it on the four photos; the same with the parts that fitcheck imports; `fitcheck check`. Prints the median of each by the clock
and in processor time (which other work on the machine disturbs less), the ratios, and the largest memory the warm process ever held.
"""

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from fitcheck.photo.load import find_views, load_photo, load_views
from fitcheck.pipeline import check_fit
from fitcheck.report.write import write_report
from fitcheck.vision.person.pose import find_people

POSE_ALONE = """
import sys
import mediapipe
import numpy
from mediapipe.tasks.python import BaseOptions, vision
from PIL import Image
options = vision.PoseLandmarkerOptions(BaseOptions(sys.argv[1]), num_poses=2, output_segmentation_masks=True)
landmarker = vision.PoseLandmarker.create_from_options(options)
for path in sys.argv[2:]:
    rgb = numpy.ascontiguousarray(Image.open(path).convert("RGB"))
    assert landmarker.detect(mediapipe.Image(image_format=mediapipe.ImageFormat.SRGB, data=rgb)).pose_landmarks
"""
OUR_POSE_ALONE = """
import sys
from pathlib import Path
from fitcheck.photo.load import load_photo
from fitcheck.vision.person.pose import find_people
for path in map(Path, sys.argv[1:]):
    assert find_people(load_photo(path, path.stem))
"""


def main(folder: Path, runs: int) -> None:
    warm(folder, runs)
    cold(folder, runs)


def warm(folder: Path, runs: int) -> None:
    paths = find_views(folder)
    check_fit([load_photo(path, view) for view, path in paths.items()])
    floor, whole, stages = [], [], []
    floor_cpu, whole_cpu = [], []
    with tempfile.TemporaryDirectory() as out:
        for _ in range(runs):
            start, used = time.perf_counter(), time.process_time()
            for view, path in paths.items():
                find_people(load_photo(path, view))
            floor.append(time.perf_counter() - start)
            floor_cpu.append(time.process_time() - used)
            start, used = time.perf_counter(), time.process_time()
            marks: list[tuple[str, float]] = [("open", start)]
            photos = load_views(paths)
            result = check_fit(
                photos, progress=lambda stage, share, photo=None, marks=marks: marks.append((stage.split(": ")[-1], time.perf_counter()))
            )
            marks.append(("report", time.perf_counter()))
            write_report(result, Path(out), "cm")
            end = time.perf_counter()
            whole.append(end - start)
            whole_cpu.append(time.process_time() - used)
            stages.append([(a, t1 - t0) for (a, t0), (_, t1) in zip(marks, [*marks[1:], ("", end)], strict=True)])
    need, took = statistics.median(floor), statistics.median(whole)
    print(f"warm: decoding and one pose each {need * 1000:.0f} ms; whole check with report {took * 1000:.0f} ms; ratio {took / need:.2f}")
    need, took = statistics.median(floor_cpu), statistics.median(whole_cpu)
    print(f"      processor time {need * 1000:.0f} ms and {took * 1000:.0f} ms; ratio {took / need:.2f}")
    for name in dict.fromkeys(name for name, _ in stages[0]):
        print(f"  {name:36s}{statistics.median(sum(t for n, t in run if n == name) for run in stages) * 1000:6.0f} ms")
    print(f"largest memory: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB")


def cold(folder: Path, runs: int) -> None:
    photos = [str(path) for path in find_views(folder).values()]
    model = str(Path(__file__).parents[2] / "models" / "pose_landmarker" / "pose_landmarker_full.task")
    took: dict[str, list[tuple[float, float]]] = {}
    with tempfile.TemporaryDirectory() as out:
        commands = {
            "pose package alone": ["-c", POSE_ALONE, model, *photos],
            "the parts used, alone": ["-c", OUR_POSE_ALONE, *photos],
            "fitcheck check": ["-m", "fitcheck", "check", str(folder), "--out", out],
        }
        for _ in range(runs):
            for name, words in commands.items():
                start, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
                subprocess.run([sys.executable, *words], check=True, capture_output=True, env=os.environ)
                after = resource.getrusage(resource.RUSAGE_CHILDREN)
                used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
                took.setdefault(name, []).append((time.perf_counter() - start, used))
    medians = {name: [statistics.median(times) for times in zip(*pairs, strict=True)] for name, pairs in took.items()}
    check, check_cpu = medians["fitcheck check"]
    print(f"cold: fitcheck check {check:.2f} s, processor time {check_cpu:.2f} s")
    for name in [*medians][:2]:
        clock, cpu = medians[name]
        print(f"  {name} {clock:.2f} s; ratio {check / clock:.2f}; processor time {cpu:.2f} s; ratio {check_cpu / cpu:.2f}")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "sample_images/forward_shoulder"), int(sys.argv[2]) if len(sys.argv) > 2 else 5)
