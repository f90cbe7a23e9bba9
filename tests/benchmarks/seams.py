"""Seam lines found in folders of scenes against their truth.

python -m tests.benchmarks.seams FOLDER [...] [--only train_0] [--each] [--colours]

Every folder below with truth.json and photos goes through the whole check; judged is what the search for seams gave for each photo. Lines
the scene's spec.json hides count as not drawn; --colours tells the check what colour each seam was drawn in; --each lists the seams that
go worst. The garment's own edges (neckline, armhole, hem) are judged where the scene has drape.npz (the draped cloth: vertices `x` in mm
of the subject frame, triangles `T`); which of their length an arm or hair hides is not known there, so less than all can be found. Per
seam and view, and per line colour and cloth:

  drawn    truth-visible length, pixels
  found    share of it found under the right name
  false    length named wrongly: farther than 6 px from the seam of that name, or of a seam that is not drawn
  off      distance across from the truth: median, 95th percentile
  short    visible ends: how much of the visible line is missing there (less than 0: goes on beyond it): 5th, 50th, 95th percentile, px
  2 sd     share of the seams whose root mean square distance lies within twice their stated sd
"""

import json
import sys
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np

from fitcheck.core.camera import Photo
from fitcheck.core.errors import FitcheckError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import VIEWS, SeamLine
from fitcheck.core.settings import Settings
from fitcheck.photo.load import load_photo
from fitcheck.pipeline import check_fit
from fitcheck.stages import read
from tests.scenes.read_truth import in_view

NEAR_PX, FAR_PX = 4.0, 6.0
SHORTEST_PX = 12.0  # visible length below which nothing is asked
EDGES = {"neckline", "armhole", "hem"}
SUFFIX = {None: "", "wearer_left": "_L", "wearer_right": "_R"}


def seams_of(scene: Path, facts: FittingFacts) -> dict[str, tuple[SeamLine, ...]]:
    """What the search for seams finds in each photo, as the whole check calls it."""
    found: dict[str, tuple[SeamLine, ...]] = defaultdict(tuple)
    search, search_edges = read.find_seams, read.find_edges

    def listen(photo: Photo, *rest: Any) -> tuple[SeamLine, ...]:
        seams = search(photo, *rest)
        found[photo.view] += seams
        return seams

    def listen_edges(photo: Photo, *rest: Any) -> tuple[SeamLine, ...]:
        edges = search_edges(photo, *rest)
        found[photo.view] += edges
        return edges

    with mock.patch.object(read, "find_seams", listen), mock.patch.object(read, "find_edges", listen_edges):
        try:
            check_fit([load_photo(scene / f"{view}.jpg", view) for view in VIEWS], Settings(facts))
        except FitcheckError as error:
            print(f"{scene.name}: {error}")
    return found


def true_edges(view_truth: dict[str, Any], drape: dict[str, np.ndarray]) -> dict[str, dict[str, Any]]:
    """The garment's edges in one photo as the truth's seams: points in px, and whether the cloth at each faces the camera."""
    triangles = drape["T"].astype(int)
    px, seen = in_view(drape["x"].astype(float), view_truth)
    corners = seen[triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    if (normals * (corners.mean(1) - seen.mean(0))).sum() < 0:  # outwards
        normals = -normals
    facing = np.zeros(len(seen))
    np.add.at(facing, triangles.ravel(), np.repeat(-(normals * corners.mean(1)).sum(1), 3))
    edges: dict[str, dict[str, Any]] = {}
    loops = _loops(triangles)
    if len(loops) != 4:  # an opened front joins neckline and hem
        return edges
    low, *middle, high = sorted(loops, key=lambda loop: drape["x"][loop, 2].mean())
    sides = {("armhole_L" if drape["x"][loop, 0].mean() > 0 else "armhole_R"): loop for loop in middle}
    for name, loop in {"hem": low, "neckline": high, **sides}.items():
        start = int(facing[loop].argmin())  # so that what is seen is one piece
        ordered = [*loop[start:], *loop[:start], loop[start]]
        edges[name] = {"px": px[ordered].tolist(), "visible": (facing[ordered] > 0).astype(int).tolist()}
    return edges


def _loops(triangles: np.ndarray) -> list[list[int]]:
    """The closed borders of a mesh as vertex numbers in order."""
    directed = {(int(a), int(b)) for t in triangles for a, b in zip(t, np.roll(t, -1), strict=True)}
    after = {a: b for a, b in directed if (b, a) not in directed}
    loops = []
    while after:
        loop = [next(iter(after))]
        while (following := after.pop(loop[-1], None)) is not None and following != loop[0]:
            loop.append(following)
        loops.append(loop)
    return loops


def dense(points: np.ndarray, *values: np.ndarray) -> list[np.ndarray]:
    """Points every pixel, and values interpolated with them."""
    s = np.r_[0, np.cumsum(np.hypot(*np.diff(points, axis=0).T))]
    t = np.arange(0, s[-1], 1.0)
    return [np.stack([np.interp(t, s, points[:, i]) for i in (0, 1)], 1), *(np.interp(t, s, v) for v in values)]


def across(points: np.ndarray, line: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Distance of each point from a dense polyline, perpendicular to it where it has a neighbour, and the index of the nearest point."""
    gap = np.hypot(*(points[:, None] - line[None]).transpose(2, 0, 1))
    near = gap.argmin(1)
    if len(line) < 3:
        return gap.min(1), near
    i = np.clip(near, 1, len(line) - 2)
    along = line[i + 1] - line[i - 1]
    along /= np.maximum(np.hypot(*along.T)[:, None], 1e-9)
    off = points - line[i]
    return np.where(gap.min(1) < 1.5, np.abs(off[:, 0] * along[:, 1] - off[:, 1] * along[:, 0]), gap.min(1)), near


def judge(seams: tuple[SeamLine, ...], view_truth: dict[str, Any], hidden: list[str]) -> Iterator[tuple[str, dict[str, Any]]]:
    """(truth key, what came of it) for every seam drawn or found in one photo."""
    unknown = EDGES - {key.removesuffix("_L").removesuffix("_R") for key in view_truth["seams"]}
    found = {seam.name + SUFFIX[seam.side]: seam for seam in seams if seam.name not in unknown}
    truth = {key: line for key, line in view_truth["seams"].items() if not key.startswith("front_edge")}
    for key in sorted(truth.keys() | found.keys()):
        entry: dict[str, Any] = {"drawn": 0.0, "found": 0.0, "false": 0.0, "off": np.zeros(0), "short": [], "ratio": []}
        seam, visible = found.get(key), np.zeros(0, bool)
        mine = dense(seam.points_px)[0] if seam else np.zeros((0, 2))
        if key in truth and key.removesuffix("_L").removesuffix("_R") not in hidden:
            line, seen = dense(np.array(truth[key]["px"]), np.array(truth[key]["visible"], float))
            visible = seen > 0.75
            entry["drawn"] = float(visible.sum())
        if seam and len(visible):
            away, near = across(mine, line)
            good = away < FAR_PX
            entry["false"] = float((~good).sum())
            entry["off"] = away[good]
            gaps = np.hypot(*(line[:, None] - mine[None]).transpose(2, 0, 1)).min(1)
            entry["found"] = float((gaps[visible] < NEAR_PX).sum())
            if good.any():
                entry["ratio"] = [float(np.sqrt(np.mean(away[good] ** 2))) / seam.sd_px]
            if good.any() and visible.any():
                # a line that goes on beyond its truth's last point: how far, along its own way
                extra = [float(np.hypot(*(mine[i] - line[j]))) if near[i] == j else 0.0 for i, j in _tips(mine, line)]
                first, last = np.flatnonzero(visible)[[0, -1]]
                entry["short"] = [near[good].min() - first - extra[0], last - near[good].max() - extra[1]]
        elif seam:
            entry["false"] = float(len(mine))
        if entry["drawn"] >= SHORTEST_PX or entry["false"] > 0:
            yield key, entry


def _tips(mine: np.ndarray, line: np.ndarray) -> list[tuple[int, int]]:
    """For both ends of the truth: the found line's end on that side."""
    forward = (mine[-1] - mine[0]) @ (line[-1] - line[0]) > 0
    return [(0 if forward else len(mine) - 1, 0), (len(mine) - 1 if forward else 0, len(line) - 1)]


def row(entries: list[dict[str, Any]]) -> str:
    """Figures of some entries together."""
    off, short = np.concatenate([e["off"] for e in entries]), [v for e in entries for v in e["short"]]
    drawn, found, false = (sum(e[k] for e in entries) for k in ("drawn", "found", "false"))
    ratios = np.array([r for e in entries for r in e["ratio"]])
    share = f"{found / drawn:4.0%}" if drawn else "   -"
    distances = f"{np.median(off):5.2f} {np.percentile(off, 95):5.2f}" if len(off) else "    -     -"
    ends = " ".join(f"{v:6.1f}" for v in np.percentile(short, [5, 50, 95])) if short else f"{'-':>20s}"
    covered = f"{(ratios < 2).mean():4.2f}" if len(ratios) else "   -"
    return f"drawn {drawn:6.0f} found {share} false {false:5.0f} off {distances} short {ends} 2 sd {covered}"


def report(scenes: list[tuple[str, dict[str, tuple[SeamLine, ...]], dict[str, Any], dict[str, Any]]], each: bool) -> None:
    """Print the tables for (name, seams by view, truth, spec) of some scenes."""
    by_seam, by_colour, worst = defaultdict(list), defaultdict(list), []
    for name, found, truth, spec in scenes:
        for view, seams in found.items():
            for key, entry in judge(seams, truth["views"][view], spec.get("hide_lines", [])):
                seam = key.removesuffix("_L").removesuffix("_R")
                by_seam[seam, "side" if view in ("right", "left") else view].append(entry)
                colour = spec.get("line_colours", {}).get(seam, "usual") if entry["drawn"] else "not drawn"
                by_colour[colour, spec.get("cloth", "usual")].append(entry)
                worst.append((entry["false"] + entry["drawn"] - entry["found"], f"{name} {view:5s} {key:16s} {colour:9s} {row([entry])}"))
    for title, groups in (("seam, view", by_seam), ("colour, cloth", by_colour)):
        print(f"\n{title}")
        for (a, b), entries in sorted(groups.items()):
            print(f"{a:13s} {b:7s} {len(entries):3d} {row(entries)}")
        print(f"{'all':21s} {sum(map(len, groups.values())):3d} {row([e for entries in groups.values() for e in entries])}")
    if each:
        print("\nworst first")
        print("\n".join(line for lost, line in sorted(worst, reverse=True) if lost > 25))


def main(arguments: list[str]) -> None:
    only = arguments[arguments.index("--only") + 1] if "--only" in arguments else ""
    folders = [a for i, a in enumerate(arguments) if not a.startswith("--") and (i == 0 or arguments[i - 1] != "--only")]
    paths = sorted(path.parent for folder in folders for path in Path(folder).rglob("truth.json") if path.parent.name.startswith(only))
    scenes = []
    for path in paths:
        spec = path / "spec.json"
        truth = json.loads((path / "truth.json").read_text())
        if (path / "drape.npz").exists():
            for of_view in truth["views"].values():
                of_view["seams"] |= true_edges(of_view, dict(np.load(path / "drape.npz")))
        told = json.loads(spec.read_text()) if spec.exists() else {}
        drawn = {seam: colour for seam, colour in told.get("line_colours", {}).items() if seam not in told.get("hide_lines", [])}
        facts = FittingFacts(seam_colours=drawn if "--colours" in arguments else {})
        scenes.append((path.name, seams_of(path, facts), truth, told))
    report(scenes, "--each" in arguments)


if __name__ == "__main__":
    main(sys.argv[1:])
