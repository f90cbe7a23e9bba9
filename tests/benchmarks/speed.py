"""How long a whole check takes against what it cannot do without: python -m tests.benchmarks.speed [FITTING_FOLDER] [RUNS]

In one run, alternating: decoding the four photos and one pose inference each, against the whole check with its report. Models are loaded
before. Prints the median of each, the ratio, and the largest memory the process ever held.
"""

import resource
import statistics
import sys
import tempfile
import time
from pathlib import Path

from fitcheck.photo.load import find_views, load_photo
from fitcheck.pipeline import check_fit
from fitcheck.report.write import write_report
from fitcheck.vision.person.pose import find_people


def main(folder: Path, runs: int) -> None:
    paths = find_views(folder)
    check_fit([load_photo(path, view) for view, path in paths.items()])
    floor, whole, stages = [], [], []
    with tempfile.TemporaryDirectory() as out:
        for _ in range(runs):
            start = time.perf_counter()
            for view, path in paths.items():
                find_people(load_photo(path, view))
            floor.append(time.perf_counter() - start)
            start = time.perf_counter()
            marks: list[tuple[str, float]] = [("open", start)]
            photos = [load_photo(path, view) for view, path in paths.items()]
            result = check_fit(
                photos, progress=lambda stage, share, marks=marks: marks.append((stage.split(": ")[-1], time.perf_counter()))
            )
            marks.append(("report", time.perf_counter()))
            write_report(result, Path(out), "cm")
            end = time.perf_counter()
            whole.append(end - start)
            stages.append([(a, t1 - t0) for (a, t0), (_, t1) in zip(marks, [*marks[1:], ("", end)], strict=True)])
    need, took = statistics.median(floor), statistics.median(whole)
    print(f"decoding and one pose each {need * 1000:.0f} ms; whole check with report {took * 1000:.0f} ms; ratio {took / need:.2f}")
    for name in dict.fromkeys(name for name, _ in stages[0]):
        print(f"  {name:36s}{statistics.median(sum(t for n, t in run if n == name) for run in stages) * 1000:6.0f} ms")
    print(f"largest memory: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "sample_images/forward_shoulder"), int(sys.argv[2]) if len(sys.argv) > 2 else 7)
