"""Fittings with floor sheets against the truth of drawn scenes: python -m tests.benchmarks.floor SCENE [...] [-v]

Each SCENE is a folder of the scene maker whose spec has floor sheets (`tests.scenes.floor_specs`). Its photos are checked by each set-up
that they allow, what is left out not being looked for: a card alone, floor sheets and card, floor sheets alone. The long bar is told as
a ruler gives it, to a quarter of a millimetre.

Prints, for each set-up: the height common to all points (mean, sd); how far stickers lie in space from where they are (median, 95th
percentile), about the shoulder points' middle, where the body frame begins, and, heights as they are, about their own, which no shoulder
point shifts; the same of the body points under them and of those without; how far focal lengths scatter about the true ones, and errors
of how far she was turned and how far away. Then the same for parts of the scenes; how many sheets were found, by what makes it hard; and
what was said of things that contradict the rest, beside what is true; and of cards that hang far behind her, where nothing else tells
where she stands, what she was told to move, and how far they hang there. -v: every fitting on its own.
"""

import json
import sys
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np

from fitcheck import pipeline
from fitcheck.body.point_table import body_points
from fitcheck.core.camera import Photo
from fitcheck.core.check import FitCheck
from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.floor_sheet import FLOOR_BAR_MM
from fitcheck.core.records import VIEWS
from fitcheck.core.seen import SeenFitting
from fitcheck.core.settings import Settings
from fitcheck.photo.floor.find_sheets import find_sheets
from fitcheck.photo.load import load_photo
from fitcheck.stages import agree
from fitcheck.stages.solve import Solved, solve
from tests.benchmarks.accuracy import GRADES, point_key, true_points

Instead = dict[str, Callable[..., Any]]
NO_SHEETS: Instead = {"find_sheets": lambda rgb: ()}
ALL: Instead = {"find_sheets": find_sheets}
NO_CARD: Instead = {"scales_from_cards": lambda photos, *others: [None] * len(photos)}
RULER_MM = 0.25
CROOKED_DEG = 2.0  # of a card in the truth from which on it is to be called so
CONTRADICTIONS = ("floor_left_moved", "floor_right_moved", "floor_sheets_differ", "card_crooked", "wall_card_moved", "card_moved")
PARTS: dict[str, Callable[[dict[str, Any]], bool]] = {
    "12 megapixels": lambda spec: spec["camera"]["size"][0] > 2000,
    "1080 x 1920": lambda spec: spec["camera"]["size"][0] < 2000,
    "lens under 36 mm": lambda spec: spec["camera"]["f35_mm"] < 36,
    "lens from 36 mm": lambda spec: spec["camera"]["f35_mm"] >= 36,
    "seen under 22 degrees": lambda spec: _grazing_deg(spec) < 22,
    "carpet": lambda spec: spec["room"]["carpet"],
    "corners up by 8 to 12 mm": lambda spec: spec["floor_sheets"][0]["curl_mm"] >= 7.5,
    "flat or nearly": lambda spec: spec["floor_sheets"][0]["curl_mm"] < 7.5,
    "one trodden on": lambda spec: not spec.get("toe_strips"),
    "one in the shadow": lambda spec: bool(spec["room"].get("cupboard")),
    "one moved": lambda spec: any(sheet.get("views") for sheet in spec["floor_sheets"]),
    "one of another size": lambda spec: any(sheet.get("print_share", 1.0) != 1 for sheet in spec["floor_sheets"]),
    "all printed 1 to 3 % off": lambda spec: abs(spec["print_share"] - 1) > 0.01,
}


@dataclass
class Tally:
    """Of one set-up or part: the common height of every fitting, distances of stickers (`about` their own middle) and of body points with
    one and without, errors of focal lengths (shares), turns (degrees) and of her distance from the camera (mm)."""

    common: list[float] = field(default_factory=list)
    stickers: list[float] = field(default_factory=list)
    about: list[float] = field(default_factory=list)
    points: dict[bool, list[float]] = field(default_factory=lambda: {True: [], False: []})
    focal: list[float] = field(default_factory=list)
    turns: list[float] = field(default_factory=list)
    away: list[float] = field(default_factory=list)

    def line(self) -> str:
        cells = [f"{len(self.common):3d}", f"{np.mean(self.common):+.2f} / {np.std(self.common, ddof=min(1, len(self.common) - 1)):.2f}"]
        cells += [_spread(self.stickers), _spread(self.about), _spread(self.points[True]), _spread(self.points[False])]
        cells += [f"{100 * np.std(self.focal):.2f} %", _spread(self.turns), _spread(self.away)]
        return "".join(f"{cell:>{width}s}" for cell, width in zip(cells, WIDTHS, strict=True))


HEADS = ("n", "heights alike", "stickers", "about their own", "points under", "points without", "focal", "turn, deg", "distance")
WIDTHS = (4, 16, 19, 19, 20, 20, 9, 16, 17)


def set_ups(held: str) -> dict[str, Instead]:
    """What a scene allows, by how its card is held."""
    if held == "nothing":
        return {"sheets": ALL}
    alone: dict[str, Instead] = {"stand": {"card on a pole": NO_SHEETS}, "wall": {"card on the wall": NO_SHEETS}}.get(held, {})
    return alone | {"sheets and card": ALL, "sheets": NO_CARD}


def run(folder: Path, tallies: dict[str, Tally], said: Counter[str], found: dict[str, Counter[str]], verbose: bool) -> None:
    truth, spec = (json.loads((folder / f"{name}.json").read_text()) for name in ("truth", "spec"))
    photos = [load_photo(folder / f"{view}.jpg", view) for view in VIEWS]
    parts = [name for name, holds in PARTS.items() if holds(spec)]
    count_sheets(photos, truth, [*parts, "all"], found)
    bar_mm = round(FLOOR_BAR_MM * spec["print_share"] / RULER_MM) * RULER_MM
    for name, instead in set_ups(spec["card"].get("held", "stand")).items():
        with patch.multiple(agree, **instead):
            try:
                check, solved = checked(photos, Settings(FittingFacts(card_bar_mm=bar_mm)))
            except NothingMeasuredError as error:
                print(f"{folder.name}, {name}: {error}")
                continue
        one = Tally()
        compare(check, solved, truth, one)
        for key in (name, *(f"{name}: {part}" for part in parts)):
            add(tallies[key], one)
        if verbose:
            print(f"{folder.name} {name:16s}{one.line()}  {spec['note']}; {', '.join(parts)}", flush=True)
        if name == "card on the wall":
            print(
                f"{folder.name}: {' '.join(check.round.look_again) or 'nothing to move'} (card {_behind_mm(spec, truth):.0f} mm behind her)"
            )
        if "sheets" in name:
            flags = {photo.photo.view: {*photo.flags, *photo.scale.flags} for photo in check.photos if photo.scale is not None}
            judge(f"{folder.name} {name}", expected(spec, "card" in name), flags, said, verbose)


def checked(photos: Sequence[Photo], settings: Settings) -> tuple[FitCheck, Solved]:
    """The check, and what its stage of solving found."""
    solved: list[Solved] = []

    def heard(fitting: SeenFitting, given: Settings) -> Solved:
        solved.append(solve(fitting, given))
        return solved[-1]

    with patch.object(pipeline, "solve", heard):
        return pipeline.check_fit(photos, settings, drawn=False), solved[-1]


def add(tally: Tally, one: Tally) -> None:
    for name, values in vars(one).items():
        if isinstance(values, dict):
            for key, more in values.items():
                getattr(tally, name)[key] += more
        else:
            getattr(tally, name).extend(values)


def compare(check: FitCheck, solved: Solved, truth: dict[str, Any], tally: Tally) -> None:
    points = true_points(truth)
    middle = (np.array(truth["landmarks"]["shoulder_point_L"]) + truth["landmarks"]["shoulder_point_R"]) / 2
    heights, off_mm = [], []
    for landmark in check.landmarks:
        key = landmark.name, landmark.side
        if key not in points:
            continue
        error_mm = landmark.position_mm - points[key]
        marked = min((s.grade for s in landmark.sightings), key=GRADES.index, default="none") == "marker"
        tally.points[marked].append(float(np.linalg.norm(error_mm)))
        heights.append(error_mm[1])
        kinds = {s.kind for s in landmark.sightings if s.grade == "marker"}
        word = next(word for word in truth["landmarks"] if point_key(word) == key)
        if kinds == {"centred"} and key in solved.body.stand_offs_mm:
            x, y, z = np.array(truth["point_markers_mm"][word])
            there = np.array([x - middle[0], z, middle[1] - y])
            here = landmark.position_mm + solved.body.stand_offs_mm[key] * body_points()[key].normal
            off_mm.append(here - there)
    tally.common.append(float(np.median(heights)))
    if off_mm:
        off = np.array(off_mm)
        tally.stickers += np.linalg.norm(off, axis=1).tolist()
        tally.about += np.linalg.norm(off - np.median(off, axis=0) * [1, 0, 1], axis=1).tolist()
    for result in check.photos:
        told = truth["views"][result.photo.view]
        if result.scale is None:
            continue
        tally.focal.append(float(result.scale.camera.matrix[0, 0] / told["camera"]["K"][0][0] - 1))
        if result.standing is not None:
            tally.turns.append(float(abs(result.standing.turn_deg - told["yaw_err_deg"])))
            tally.away.append(abs(_away_mm(solved, result.photo.view) - _truly_away_mm(truth, middle, result.photo.view)))


def _away_mm(solved: Solved, view: Any) -> float:
    shoulders = np.mean([solved.body.position("shoulder_point", side) for side in ("wearer_left", "wearer_right")], axis=0)
    placed = solved.body.views[view]
    return float(np.linalg.norm(placed.rotation @ shoulders + placed.translation_mm))


def _truly_away_mm(truth: dict[str, Any], middle: np.ndarray, view: str) -> float:
    told = truth["views"][view]
    return float(np.linalg.norm(np.array(told["subject_R"]) @ middle + told["subject_t_mm"] - told["camera"]["position_mm"]))


def _behind_mm(spec: dict[str, Any], truth: dict[str, Any]) -> float:
    """How far the card hangs behind her side seams, the four photos' middle."""
    at = {word: np.array(place) for word, place in truth["landmarks"].items()}
    seams = {view: [at["underarm_L"], at["underarm_R"]] for view in ("front", "back")}
    seams |= {"right": [at["waist_side_R"]], "left": [at["waist_side_L"]]}
    off = [
        1000 * spec["card"]["pos_m"][1] - (np.array(told["subject_R"]) @ np.mean(seams[view], axis=0) + told["subject_t_mm"])[1]
        for view, told in truth["views"].items()
    ]
    return float(np.median(off))


def count_sheets(photos: Sequence[Photo], truth: dict[str, Any], parts: Sequence[str], found: dict[str, Counter[str]]) -> None:
    for photo in photos:
        seen = {sheet.which: sheet for sheet in find_sheets(photo.rgb)}
        for sheet in truth["views"][photo.view]["floor_sheets"]:
            for part in parts:
                found[part].update({"sheets": 1, "found": sheet["which"] in seen})
                if sheet["which"] in seen:
                    found[part].update({"squares": seen[sheet["which"]].squares})


def expected(spec: dict[str, Any], with_card: bool) -> Iterator[tuple[str, str]]:
    """(view, flag) of what contradicts the rest; of what all photos show, only the first."""
    for sheet in spec["floor_sheets"]:
        views = sheet.get("views", [])
        if views and views[0] != VIEWS[0]:
            yield views[0], f"floor_{sheet['which']}_moved"
    if any(sheet.get("print_share", 1.0) != 1 for sheet in spec["floor_sheets"]):
        yield VIEWS[0], "floor_sheets_differ"
    if with_card and abs(spec["card"]["roll_deg"]) >= CROOKED_DEG:
        yield VIEWS[0], "card_crooked"


def judge(name: str, true: Iterator[tuple[str, str]], flags: dict[Any, set[str]], said: Counter[str], verbose: bool) -> None:
    told = {(view, flag) for view, given in flags.items() for flag in given if flag in CONTRADICTIONS}
    everywhere = {flag for _, flag in told if all(flag in given for given in flags.values())}
    told = {pair for pair in told if pair[1] not in everywhere} | {(VIEWS[0], flag) for flag in everywhere}
    due = set(true)
    for word, pairs in (("named", told & due), ("missed", due - told), ("wrongly", told - due)):
        said.update(f"{flag} {word}" for _, flag in pairs)
        if verbose and pairs and word != "named":
            print(f"{name}: {word} {sorted(pairs)}")


def _grazing_deg(spec: dict[str, Any]) -> float:
    return float(np.degrees(np.arctan(spec["camera"]["height_m"] / spec["camera"]["distance_m"])))


def _spread(errors: Sequence[float]) -> str:
    return f"{np.median(errors):.1f} / {np.percentile(errors, 95):.1f} ({len(errors)})" if len(errors) else "-"


def main(arguments: Sequence[str]) -> None:
    tallies: dict[str, Tally] = defaultdict(Tally)
    said: Counter[str] = Counter()
    found: dict[str, Counter[str]] = defaultdict(Counter)
    for folder in (Path(word) for word in arguments if word != "-v"):
        run(folder, tallies, said, found, "-v" in arguments)
    print(f"{'':44s}" + "".join(f"{head:>{width}s}" for head, width in zip(HEADS, WIDTHS, strict=True)))
    for name in sorted(tallies, key=lambda key: (":" in key, key)):
        print(f"{name:44s}{tallies[name].line()}")
    for part, count in found.items():
        print(f"sheets found, {part}: {count['found']} of {count['sheets']}, {count['squares'] / max(count['found'], 1):.1f} squares of 6")
    print("said:", *(f"{what}: {n}" for what, n in sorted(said.items())), sep="\n  ")


if __name__ == "__main__":
    main(sys.argv[1:])
