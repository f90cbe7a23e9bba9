"""How exactly photographed pieces are read: python -m tests.benchmarks.piece FOLDER... (each as tests.scenes.sheets.make writes it)

Distances between the outline read and the true one, both ways every 2 mm, in the frame of the card: nothing is laid on anything. What is
seen and what lies beneath a hand (by the truth, with 4 mm beside it) are counted apart.
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

BESIDE_MM = 4.0  # a hand, where its shadow lies and what is drawn beneath it begins


def in_card(truth: dict[str, Any], points: Any) -> np.ndarray:
    """Points of the table frame in that of the first photo's card."""
    card = truth["cards"][0]
    turn = np.radians(card["turn_deg"])
    return (np.array(points) - card["middle"]) @ np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])


def apart(read: np.ndarray, true: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Distances both ways of two closed outlines, and the places on the true one at which they stand."""
    own, ring = (LineString(np.vstack([line, line[:1]])) for line in (read, true))
    far, places = [], []
    for one, other in ((own, ring), (ring, own)):
        for s in np.arange(0, one.length, 2.0):
            point = one.interpolate(s)
            far.append(other.distance(point))
            places.append(ring.interpolate(ring.project(point)).coords[0])
    return np.array(far), np.array(places)


def beside(places: np.ndarray, marks: np.ndarray, reach_mm: float) -> np.ndarray:
    """Which places lie near any of the marks, shape (N,)."""
    if not len(marks):
        return np.zeros(len(places), bool)
    return np.min(np.hypot(*(places[:, None] - marks[None]).transpose(2, 0, 1)), axis=1) < reach_mm


def within_doubt(reading: Reading, places: np.ndarray, far: np.ndarray) -> list[bool]:
    """Of places beneath a hand, whether each is off by no more than is told of the stretch next to it; none told is 1 mm."""
    found = []
    for place, off in zip(places, far, strict=True):
        doubts = [one.doubt_mm for one in reading.bridged if np.hypot(*(one.points - place).T).min() < one.doubt_mm + BESIDE_MM]
        found.append(bool(off <= max(doubts, default=1.0)))
    return found


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


def told_mm(far: np.ndarray) -> str:
    """Median, 95 % and most."""
    return f"median {np.median(far):.2f}, 95 % {np.percentile(far, 95):.2f}, most {far.max():.1f} mm"


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
        far, places = apart(reading.outline, in_card(truth, truth["cutting_line"]))
        covered = in_card(truth, truth["covered"]) if truth.get("covered") else np.empty((0, 2))
        beneath = beside(places, covered, BESIDE_MM)
        extras["places beneath a hand within what is told"] += within_doubt(reading, places[beneath], far[beneath])
        kind = "nested" if truth["nested"] else "cut out"
        tilt = max(truth["tilt_deg"])
        keys = [
            "all",
            truth["surface"],
            f"{truth['megapixels']} megapixels, {kind}",
            f"{truth['megapixels']} megapixels, {truth['surface']}",
            "tilt under 10 degrees" if tilt < 10 else "tilt 10 to 20 degrees",
            "curl under 1 mm" if truth["curl_mm"] < 1 else "curl 1 to 2.5 mm",
            "creased over 0.6 mm" if truth["creased_mm"] > 0.6 else "creased under 0.6 mm",
            "translucent (under 65 % opaque)" if truth.get("opaque", 1.0) < 0.65 else "over 65 % opaque",
            "with allowance" if truth["allowance_mm"] else "without allowance",
            f"{len(truth['cards'])} photos" if len(truth["cards"]) > 1 else "one photo",
            *(["a hand on the sheet"] if reading.bridged else []),
        ]
        for key in keys:
            groups[key].append(far[~beneath])
        if beneath.any():
            groups[f"beneath a hand, {kind}"].append(far[beneath])
        hidden = bool(reading.bridged)
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
            f"{folder.name}: {told_mm(far[~beneath])}, {took:.1f} s, {kind}, {truth['surface']}, {truth['megapixels']} megapixels"
            + (
                f"; beneath a hand {told_mm(far[beneath])}, told up to {max((b.doubt_mm for b in reading.bridged), default=0.0):.1f}"
                if beneath.any()
                else ""
            ),
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
