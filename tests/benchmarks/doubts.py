"""Whether doubts are right: python -m tests.benchmarks.doubts SCENES_FOLDER [...] [--by GROUPING ...]

Every folder below with front|right|back|left.jpg, spec.json and truth.json is checked, with what the photos alone tell. Printed for every
group, observable by observable: n, bias, root mean square of the errors beside that of the standard deviations told, reduced chi-square
(1 where both agree), and the share of 95 % intervals that hold the truth. Groupings: `stickers` (marked, dots, unmarked, of full garments
and half tissues), `stance` (unmarked only: how far back the arms are, one shoulder before or below the other), `set` (the folder's name).
Without --by, stickers and stance.

`alike` is how alike the errors of both sides are (their correlation): the share of doubt that left and right have in common, beside the
share told.
"""

import json
import sys
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Measurement, Side
from fitcheck.core.settings import Settings
from fitcheck.photo.load import find_views, load_photo
from fitcheck.pipeline import check_fit
from tests.benchmarks.accuracy import true_half, truth_for

MARKED = {"none": "unmarked", "dots": "dots"}
USUAL_BACK_DEG, HANGING_DEG, HALF_BACK_DEG = 44.0, 14.0, 38.0  # as the scene maker's ways to stand are parted
ONE_SIDED_MM = 9.0
GROUPINGS = ("stickers", "stance", "set")


@dataclass(frozen=True)
class Reading:
    """One observable of one fitting beside the truth."""

    scene: str
    name: str
    side: Side | None
    error: float
    sd: float
    groups: dict[str, tuple[str, ...]]  # of each grouping those that it belongs to


def groups_of(scene: Path, spec: dict[str, Any], truth: dict[str, Any]) -> dict[str, tuple[str, ...]]:
    """The groups of a scene, by grouping."""
    marked, half = MARKED.get(spec.get("markers", "aruco"), "marked"), true_half(truth)
    kind = f"{marked}, {'half tissue' if half else 'full garment'}"
    back = spec.get("subject", {}).get("posture", {}).get("arm_back", USUAL_BACK_DEG)
    arms = "arms hang" if back < HANGING_DEG else "arms half back" if back < HALF_BACK_DEG else "arms far back"
    left, right = (np.array(truth["landmarks"]["shoulder_point_" + side]) for side in "LR")
    stands = [arms]
    stands += ["one shoulder before the other"] if abs(left[1] - right[1]) > ONE_SIDED_MM else []
    stands += ["one shoulder lower"] if abs(left[2] - right[2]) > ONE_SIDED_MM else []
    return {
        "stickers": ("all", kind),
        "stance": tuple(f"unmarked, {word}" for word in stands) if marked == "unmarked" and not half else (),
        "set": (scene.parent.name,),
    }


def readings(scene: Path, measured: Iterable[Measurement]) -> list[Reading]:
    """Every reading of a scene that its truth knows."""
    truth, spec = (json.loads((scene / name).read_text()) for name in ("truth.json", "spec.json"))
    groups = groups_of(scene, spec, truth)
    found = []
    for m in measured:
        true = truth_for(truth, m.key)
        if true is not None:
            found.append(Reading(f"{scene.parent.name}/{scene.name}", f"{m.id} {m.at}".strip(), m.side, m.value - true, m.sd, groups))
    return found


def likeness(found: Sequence[Reading]) -> float:
    """Correlation of the errors of both sides, about 0: of scenes that have both."""
    sides: dict[str, dict[Side | None, float]] = defaultdict(dict)
    for r in found:
        sides[r.scene][r.side] = r.error / r.sd
    pairs = np.array([(s["wearer_left"], s["wearer_right"]) for s in sides.values() if len(s) == 2]).reshape(-1, 2)
    return float((pairs[:, 0] * pairs[:, 1]).sum() / max((pairs**2).sum() / 2, 1e-9)) if len(pairs) > 2 else np.nan


def table(title: str, found: Sequence[Reading]) -> None:
    """Print a group's table."""
    print(f"\n{title:34s}{'n':>6s}{'bias':>8s}{'seen':>8s}{'told':>8s}{'chi2':>8s}{'held':>8s}{'95 %':>8s}{'alike':>8s}")
    for name in [*sorted({r.name for r in found}), "all"]:
        chosen = [r for r in found if name in (r.name, "all")]
        e, sd = np.array([(r.error, r.sd) for r in chosen]).T
        alike = "" if name == "all" or np.isnan(share := likeness(chosen)) else f"{share:.2f}"
        print(
            f"  {name:32s}{len(e):6d}{e.mean():8.2f}{np.sqrt((e**2).mean()):8.2f}{np.sqrt((sd**2).mean()):8.2f}"
            f"{((e / sd) ** 2).mean():8.2f}{(abs(e) < 1.96 * sd).mean():8.2f}{np.percentile(abs(e), 95):8.2f}{alike:>8s}"
        )


def tables(found: Sequence[Reading], groupings: Sequence[str]) -> None:
    """Print the tables of every group of these groupings."""
    for grouping in groupings:
        for group in dict.fromkeys(group for r in found for group in r.groups[grouping]):
            table(group, [r for r in found if group in r.groups[grouping]])


def main(arguments: list[str]) -> None:
    """Command line."""
    chosen = [word for word in arguments if word in GROUPINGS] or list(GROUPINGS[:2])
    folders = [Path(word) for word in arguments if word not in (*GROUPINGS, "--by")]
    found: list[Reading] = []
    for scene in sorted(path.parent for folder in folders for path in folder.rglob("spec.json") if find_views(path.parent)):
        try:
            result = check_fit([load_photo(path, view) for view, path in find_views(scene).items()], Settings(FittingFacts()), drawn=False)
        except NothingMeasuredError as error:
            print(f"{scene.name}: {error}", flush=True)
            continue
        found += readings(scene, result.measurements)
    tables(found, chosen)


if __name__ == "__main__":
    main(sys.argv[1:])
