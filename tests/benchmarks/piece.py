"""How exactly photographed pieces are read: python -m tests.benchmarks.piece FOLDER... (each as tests.scenes.sheets.make writes it)

Distances between the outline read and the true one, both ways every 2 mm, in the frame of the card: nothing is laid on anything. Where a
hand lies on the edge nothing can be read; such scenes count in a row of their own.
"""

import argparse
import json
import time
from collections import defaultdict
from pathlib import Path
from typing import Any

import numpy as np
from shapely import LineString, Point

from fitcheck.core.errors import FitcheckError
from fitcheck.photo.load import load_photo
from fitcheck.piece.edge_names import named_piece
from fitcheck.piece.join import joined_views
from fitcheck.piece.plane import see_table
from fitcheck.piece.reading import Reading, read_piece
from fitcheck.piece.table import Table


def in_card(truth: dict[str, Any], points: Any) -> np.ndarray:
    """Points of the table frame in that of the first photo's card."""
    card = truth["cards"][0]
    turn = np.radians(card["turn_deg"])
    return (np.array(points) - card["middle"]) @ np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])


def apart(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """Distances both ways of two closed outlines."""
    rings = [LineString(np.vstack([line, line[:1]])) for line in (one, two)]
    found = []
    for own, other in (rings, rings[::-1]):
        found += [other.distance(own.interpolate(s)) for s in np.arange(0, own.length, 2.0)]
    return np.array(found)


def read(folder: Path) -> tuple[dict[str, Any], Reading | str, float, float]:
    """Truth, what was read (or why not), and the processor time, s: of all, and of opening the photos alone."""
    truth = json.loads((folder / "truth.json").read_text())
    start = opened = time.process_time()
    try:
        photos = [load_photo(path, "front") for path in sorted(folder.glob("photo_*.jpg"))]
        opened = time.process_time()
        truth["megapixels"] = round(photos[0].rgb.size / 3e6)
        found: Reading | str = read_piece(Table(joined_views(see_table(photos))), truth["style"])
    except FitcheckError as error:
        found = error.problem
    return truth, found, time.process_time() - start, opened - start


def lengths(truth: dict[str, Any], reading: Reading) -> dict[str, float]:
    """Errors of the seam lines' lengths by edge, mm, where the edges were named as they are."""
    own = named_piece(reading, truth["piece"], truth["allowance_mm"], reading.mouths).seam_lines()
    true = {name: LineString(points).length for name, points in truth["edges"].items()}
    return {name: LineString(own[name]).length - long for name, long in true.items() if name in own}


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", type=Path, nargs="+")
    groups: dict[str, list[np.ndarray]] = defaultdict(list)
    edges, extras, times, openings, unread = [], defaultdict(list), [], [], []
    for folder in parser.parse_args().folders:
        truth, reading, took, opening = read(folder)
        times.append(took)
        openings.append(opening)
        if isinstance(reading, str):
            unread.append(f"{folder.name}: {reading}")
            continue
        far = apart(reading.outline, in_card(truth, truth["cutting_line"]))
        hidden = any("hidden" in note for note in reading.notes)
        tilt = max(truth["tilt_deg"])
        keys = (
            ["hand or pin on the edge", f"hand or pin, {truth['surface']}"]
            if hidden
            else [
                "all",
                truth["surface"],
                f"{truth['megapixels']} megapixels",
                "nested sizes" if truth["nested"] else "cut out",
                "tilt under 10 degrees" if tilt < 10 else "tilt 10 to 20 degrees",
                "curl under 1 mm" if truth["curl_mm"] < 1 else "curl 1 to 2.5 mm",
                f"{len(truth['cards'])} photos" if len(truth["cards"]) > 1 else "one photo",
            ]
        )
        for key in keys:
            groups[key].append(far)
        edges += [] if hidden else list(lengths(truth, reading).values())
        extras["fold told"].append((reading.fold is not None) == truth["on_fold"])
        if reading.grain is not None:
            line = LineString(in_card(truth, truth["grain"]))
            extras["grain within 1 mm"].append(max(line.distance(Point(*p)) for p in reading.grain) < 1)
        near = [min((float(np.hypot(*(n - m))) for m in reading.notches), default=99) for n in in_card(truth, truth["notches"])]
        extras["notches found within 2 mm"] += [d < 2 for d in near]
        extras["darts found, point within 3 mm"] += [
            min((float(np.hypot(*(in_card(truth, d)[1] - m[1]))) for m in reading.darts), default=99) < 3 for d in truth["darts"]
        ]
        print(
            f"{folder.name}: median {np.median(far):.2f}, 95 % {np.percentile(far, 95):.2f}, most {far.max():.1f} mm, {took:.1f} s",
            flush=True,
        )
    for key, parts in groups.items():
        every = np.concatenate(parts)
        print(f"| {key} | {len(parts)} | {np.median(every):.2f} | {np.percentile(every, 95):.2f} |")
    if edges:
        off = np.abs(edges)
        print(f"seam lengths: {len(off)}, median {np.median(off):.1f}, 95 % {np.percentile(off, 95):.1f} mm")
    for key, hits in extras.items():
        print(f"{key}: {sum(hits)} of {len(hits)}")
    print(f"processor time: median {np.median(times):.1f}, most {max(times):.1f} s, of which opening {np.median(openings):.2f} s")
    print("\n".join(["not read:", *unread]) if unread else "all read")


if __name__ == "__main__":
    main()
