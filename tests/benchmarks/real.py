"""Photographed garments worn by a drawn wearer, whole checks: python -m tests.benchmarks.real FOLDER_OF_PHOTOS [...]

    --wearer SCENE   drawn fitting whose wearer, card, stickers and truth are used (default sample_images/control); may be given often
    --half seen|blind|all   every other photo is kept back, to be looked at only at the end (default seen)
    --every N --from M      only each Nth of them, from the Mth on
    --only bare|lines       only without pen lines, or only with them
    --cases                 also what was claimed, photo by photo

Every garment is put on the wearer in all views of the fitting, once as it is and once with every seam drawn in pen, each run with a
whole check. Nothing about the garment is known but that without pen nothing may be claimed; the wearer's own garment fits (control).
Printed per kind of cloth (`real_garments.pattern_of`):

  false       length named a seam where none was drawn, mm a photo
  faults      findings said to be present in fittings without pen
  alterations rounds with anything to alter, there
  found       share of the drawn length, as far as seen, found under the right name; `told`: photos that say lines cannot be seen
  wrong       length named wrongly in fittings with pen, mm a photo
  off         observables of fittings with pen against the truth: median, share more than 10 mm off
  crashes     tracebacks
"""

import argparse
import json
import traceback
from collections import defaultdict
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from fitcheck.core.camera import Photo
from fitcheck.core.check import FitCheck
from fitcheck.core.errors import FitcheckError
from fitcheck.core.seen import SeenPhoto
from fitcheck.core.settings import Settings
from fitcheck.photo.load import find_views, load_photo
from fitcheck.pipeline import check_fit
from fitcheck.stages.agree import agree, card_scales
from fitcheck.stages.people import find_everyone
from fitcheck.stages.see import see_photos
from tests.benchmarks.accuracy import truth_for
from tests.benchmarks.real_garments import cut_out, dressed, pattern_of, pens_for, taken, with_lines
from tests.benchmarks.seams import EDGES, dense, judge

CONTROL = Path(__file__).parents[2] / "sample_images" / "control"
FAR_OFF_MM = 10.0
SEEN = 0.75  # share of visibility from which a drawn line is drawn
UNREAD = "lines_unseen"  # flag of a photo whose cloth hides any line
ROOM_PX = 7  # to both sides of a line, where the cloth decides the pen


@dataclass(frozen=True)
class Wearer:
    """A drawn fitting: its photos as seen, and its truth."""

    name: str
    photos: tuple[SeenPhoto, ...]
    truth: dict[str, Any]


@dataclass
class Tally:
    """What came of the checks of one kind of cloth."""

    photos: int = 0
    pen_photos: int = 0
    checks: int = 0
    false_mm: float = 0.0
    faults: int = 0
    alterations: int = 0
    drawn_mm: float = 0.0
    found_mm: float = 0.0
    wrong_mm: float = 0.0
    told: int = 0
    told_drawn_mm: float = 0.0
    errors_mm: list[float] = field(default_factory=list)
    crashes: int = 0


def wearer_of(scene: Path) -> Wearer:
    """A scene's photos with scale and stickers."""
    photos = [load_photo(path, view) for view, path in find_views(scene).items()]
    seen = agree(see_photos(photos, find_everyone(photos)), card_scales(photos, Settings()), Settings())
    return Wearer(scene.name, tuple(seen), json.loads((scene / "truth.json").read_text()))


def worn(garment_file: Path, wearer: Wearer, pen: bool, seed: int) -> tuple[list[Photo], str]:
    """The wearer's photos in this garment, and what kind of cloth it is."""
    rng = np.random.default_rng(seed)
    garment = cut_out(np.ascontiguousarray(cv2.imread(str(garment_file))[..., ::-1]))
    out = []
    for seen in wearer.photos:
        stickers = [mark.corners_px for mark in seen.marks if mark.corners_px is not None]
        assert seen.pose is not None
        assert seen.scale is not None
        rgb = dressed(seen.photo.rgb, seen.pose, stickers, garment, rng)
        if pen:
            lines = drawn_lines(wearer.truth["views"][seen.view])
            near = np.zeros(rgb.shape[:2], np.uint8)
            for line in lines:
                cv2.polylines(near, [np.round(line).astype(np.int32)], False, 1, 2 * ROOM_PX)
            rgb = with_lines(rgb, lines, pens_for(rgb, near > 0, len(lines), rng), seen.scale.mm_per_px, stickers, rng)
        out.append(replace(seen.photo, rgb=taken(rgb, rng)))
    return out, pattern_of(garment)


def drawn_lines(view_truth: dict[str, Any]) -> list[np.ndarray]:
    """Every visible stretch of every seam of the truth."""
    stretches = []
    for key, line in view_truth["seams"].items():
        if key.startswith("front_edge") or len(line["px"]) < 2:
            continue
        points, seen = dense(np.array(line["px"]), np.array(line["visible"], float))
        shown = seen > SEEN
        for part in np.split(np.arange(len(points)), np.flatnonzero(np.diff(shown.astype(int))) + 1):
            if shown[part[0]] and len(part) > 6:
                stretches.append(points[part])
    return stretches


def checked(photos: list[Photo], tally: Tally, told: list[str]) -> FitCheck | None:
    """The whole check; None where it says that nothing can be measured, or crashes."""
    try:
        return check_fit(photos)
    except FitcheckError as error:
        told.append(f"not measured: {error}")
    except Exception:  # what the benchmark counts
        tally.crashes += 1
        told.append(traceback.format_exc(limit=-2))
    return None


def without_pen(result: FitCheck | None, photos: int, tally: Tally) -> list[str]:
    """Count what is claimed where nothing was drawn."""
    tally.photos, tally.checks = tally.photos + photos, tally.checks + 1
    if result is None:
        return []
    false = {}
    for photo in result.photos:
        for seam in photo.seams:
            if seam.name not in EDGES and photo.scale is not None:
                size = len(dense(seam.points_px)[0]) * photo.scale.mm_per_px
                tally.false_mm += size
                false[f"{photo.photo.view} {seam.name} {seam.side or ''}"] = round(size)
    present = [f"{f.id} {f.side or ''}" for f in result.findings if f.verdict == "present"]
    tally.faults += len(present)
    tally.alterations += bool(result.round.steps)
    steps = [f"{step.amount.id} {step.amount.amount_mm:+.0f}" for step in result.round.steps]
    return [f"seams {false}"] * bool(false) + [f"faults {present}"] * bool(present) + [f"alters {steps}"] * bool(steps)


def with_pen(result: FitCheck | None, wearer: Wearer, tally: Tally) -> list[str]:
    """Compare what was found with what was drawn."""
    for seen in wearer.photos:
        view = seen.view
        found = next((p for p in result.photos if p.photo.view == view), None) if result else None
        seams = tuple(s for s in found.seams if s.name not in EDGES) if found else ()
        assert seen.scale is not None
        size = seen.scale.mm_per_px
        entries = [entry for _, entry in judge(seams, wearer.truth["views"][view], [])]
        drawn, got = (size * sum(e[k] for e in entries) for k in ("drawn", "found"))
        tally.drawn_mm, tally.found_mm, tally.pen_photos = tally.drawn_mm + drawn, tally.found_mm + got, tally.pen_photos + 1
        tally.wrong_mm += size * sum(e["false"] for e in entries)
        if found and UNREAD in found.flags:
            tally.told += 1
            tally.told_drawn_mm += drawn - got
    if result is None:
        return []
    errors = {m.key: m.value - true for m in result.measurements if (true := truth_for(wearer.truth, m.key)) is not None}
    tally.errors_mm += [abs(e) for e in errors.values()]
    far = {key: round(e) for key, e in errors.items() if abs(e) > FAR_OFF_MM}
    return [f"off {far}"] if far else []


def table(tallies: dict[str, Tally]) -> None:
    print(
        f"\n{'cloth':10s}{'checks':>7s}{'false':>8s}{'faults':>8s}{'alter.':>8s}{'found':>8s}{'told':>6s}{'wrong':>8s}{'off':>14s}{'crashes':>9s}"
    )
    for name, t in sorted(tallies.items()):
        off = np.array(t.errors_mm)
        share = f"{np.median(off):5.1f}  {(off > FAR_OFF_MM).mean():5.1%}" if len(off) else "-"
        found = f"{t.found_mm / t.drawn_mm:7.0%}" if t.drawn_mm else "-"
        print(
            f"{name:10s}{t.checks:7d}{t.false_mm / max(t.photos, 1):8.0f}{t.faults:8d}{t.alterations:8d}{found:>8s}{t.told:6d}"
            f"{t.wrong_mm / max(t.pen_photos, 1):8.0f}{share:>14s}{t.crashes:9d}"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--wearer", action="append", type=Path)
    parser.add_argument("--half", choices=("seen", "blind", "all"), default="seen")
    parser.add_argument("--every", type=int, default=1)
    parser.add_argument("--from", type=int, default=0, dest="first")
    parser.add_argument("--only", choices=("bare", "lines"))
    parser.add_argument("--cases", action="store_true")
    options = parser.parse_args()
    files = sorted(file for folder in options.folders for file in folder.iterdir() if file.suffix.lower() in (".jpg", ".jpeg", ".png"))
    files = files[{"seen": slice(0, None, 2), "blind": slice(1, None, 2), "all": slice(None)}[options.half]]
    wearers = [wearer_of(scene) for scene in options.wearer or [CONTROL]]
    tallies: dict[str, Tally] = defaultdict(Tally)
    for number in range(options.first, len(files), options.every):
        wearer = wearers[number % len(wearers)]
        for pen in (False, True):
            if options.only in (None, "lines" if pen else "bare"):
                photos, cloth = worn(files[number], wearer, pen, number)
                tally, told = tallies[cloth], []
                result = checked(photos, tally, told)
                told += with_pen(result, wearer, tally) if pen else without_pen(result, len(photos), tally)
                if options.cases and told:
                    print(f"{files[number].stem} on {wearer.name} ({cloth}, {'pen' if pen else 'bare'}): {'; '.join(told)}", flush=True)
    table(tallies)


if __name__ == "__main__":
    main()
