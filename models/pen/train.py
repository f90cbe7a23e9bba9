"""Learn what pen is: python models/pen/train.py FOLDER_OF_SCENES [...] --real FOLDER_OF_PICTURES

The folders hold scenes of tests/scenes. Every photo of theirs is read as it is, and photographed garments are put on its wearer
(`tests/benchmarks/real_garments.py`), some with stripes printed on them, once so and once with seam lines drawn as well. Every line found
is compared with the truth: drawn (most of it lies on drawn seams, 6 px) or not. Only every other picture is used; the benchmark keeps
the rest back.
Writes pen.npz beside this file. Small nets over signs and their squares, fitted by L-BFGS with a quadratic penalty; the second is
learnt from what the first, fitted without them, says of lines of other garments.
"""

import argparse
import json
import pickle
import sys
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from pathlib import Path
from unittest import mock

import cv2
import numpy as np
from scipy.optimize import minimize

sys.path.insert(0, str(Path(__file__).parents[1] / "seams"))
import train as names_of_seams

from fitcheck.core.records import Floats
from fitcheck.core.seen import SeenPhoto
from fitcheck.core.settings import Settings
from fitcheck.photo.load import find_views, load_photo
from fitcheck.stages.agree import agree, card_scales
from fitcheck.stages.people import find_everyone
from fitcheck.stages.see import see_photos
from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.lines import pen, pen_lines
from fitcheck.vision.lines.pen_signs import pen_signs
from fitcheck.vision.lines.seams import hidden_by
from fitcheck.vision.trace.curves import Curve
from tests.benchmarks.real import drawn_lines
from tests.benchmarks.real_garments import GARMENT_MM, CutOut, cut_out, dressed, pattern_of, pens_for, taken, with_lines

ON_PX, MOST, FEW = 6, 0.6, 0.25  # a line is drawn where MOST of it lies on drawn ones, and is not where FEW of it does; else it is left out
TIMES = 3  # photos of wearers on which each garment is put, the first time with stripes printed on it
FEWER = 0.4  # share of photos on which only some of the seams are drawn
PITCH_MM, STRIPE_MM = (7.0, 60.0), (1.0, 5.0)  # of printed stripes
LONGEST_MM, UNIT_MM = 300.0, 100.0  # a line counts by its length in UNIT_MM, up to LONGEST_MM
SCENE_WEIGHT = 4.0  # of a line of a drawn scene as it is, as there are few
SIZES, FOLDS = ((8, 3.0),), 3  # hidden units and penalty that are tried; parts for trying
BEGUN_SD, ROUNDS = 0.1, 150
ROOM_PX = 15  # around lines, where the cloth decides the pen


@dataclass
class Lines:
    """Lines of one photo."""

    garment: str  # or scene
    cloth: str  # plain, striped, print or scene
    drawn_on: bool
    curves: list[Curve]
    signs: Floats
    drawn: np.ndarray  # 1, 0, or -1 where that cannot be said
    mm_per_px: float  # of the working picture

    @property
    def length_mm(self) -> Floats:
        return np.array([c.length_px for c in self.curves]) * self.mm_per_px


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("scenes", nargs="*", type=Path)
    parser.add_argument("--real", type=Path)
    parser.add_argument("--part", nargs=2, type=int, default=(0, 1), help="K N: only the Kth of N parts is read")
    parser.add_argument("--save", type=Path, help="only read, and keep the lines in this file")
    parser.add_argument("--saved", nargs="+", type=Path, help="learn from such files")
    options = parser.parse_args()
    if options.saved:
        photos: list[Lines] = [lines for file in options.saved for lines in pickle.loads(file.read_bytes())]
    else:
        photos = list(read(options.scenes, sorted(options.real.glob("*.jpg"))[::2], *options.part))
    if options.save:
        options.save.write_bytes(pickle.dumps(photos))
    else:
        np.savez_compressed(Path(__file__).parent / "pen.npz", **learn(photos))


def read(folders: list[Path], pictures: list[Path], part: int, parts: int) -> Iterator[Lines]:
    """The lines of all photos, or of every so many of them."""
    rng = np.random.default_rng(part)
    wearers = []
    for scene in sorted(path.parent for folder in folders for path in folder.rglob("truth.json"))[part::parts]:
        truth = json.loads((scene / "truth.json").read_text())
        photos = [load_photo(path, view) for view, path in find_views(scene).items()]
        seen = agree(see_photos(photos, find_everyone(photos)), card_scales(photos, Settings()), Settings())
        for photo in (p for p in seen if p.usable):
            of_view = truth["views"][photo.view]
            wearers.append((photo, of_view))
            true = names_of_seams.true_seams(of_view["seams"], names_of_seams._hidden(scene))
            yield from lines_of(photo, photo.photo.rgb, [line for line, _ in true.values()], (scene.name, "scene"))
    for file in pictures[part::parts]:
        garment = cut_out(np.ascontiguousarray(cv2.imread(str(file))[..., ::-1]))
        for time in range(TIMES):
            photo, of_view = wearers[int(rng.integers(len(wearers)))]
            stickers = [mark.corners_px for mark in photo.marks if mark.corners_px is not None]
            assert photo.pose is not None
            assert photo.scale is not None
            cloth = garment if time else with_stripes(garment, rng)
            kind = file.stem, "striped" if not time else pattern_of(garment)
            bare = dressed(photo.photo.rgb, photo.pose, stickers, cloth, rng)
            yield from lines_of(photo, taken(bare, rng), [], kind)
            seams = drawn_lines(of_view)
            if rng.uniform() < FEWER and len(seams) > 1:
                seams = [seams[i] for i in rng.permutation(len(seams))[: int(rng.integers(1, len(seams)))]]
            near = np.zeros(bare.shape[:2], np.uint8)
            for line in seams:
                cv2.polylines(near, [np.round(line).astype(np.int32)], False, 1, ROOM_PX)
            if near.any():
                pens = pens_for(bare, near > 0, len(seams), rng)
                yield from lines_of(photo, taken(with_lines(bare, seams, pens, photo.scale.mm_per_px, stickers, rng), rng), seams, kind)


def with_stripes(garment: CutOut, rng: np.random.Generator) -> CutOut:
    """The garment with stripes or checks of any colour printed on it: as clean as pen, but all over."""
    high, wide = garment.mask.shape
    mm = garment.width_px / GARMENT_MM  # pixels
    rgb = garment.rgb.copy()
    first = rng.choice([0.0, np.pi / 2, rng.uniform(0, np.pi)])
    for turn in (first, first + np.pi / 2)[: int(rng.integers(1, 3))]:
        pitch, width = rng.uniform(*PITCH_MM) * mm, max(1, round(rng.uniform(*STRIPE_MM) * mm))
        way, across = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
        ink = tuple(int(v) for v in rng.integers(0, 256, 3))
        for k in range(-int(2 * high / pitch), int(2 * high / pitch)):
            middle = np.array([wide, high]) / 2 + k * pitch * across
            ends = [np.round((middle + sign * 2 * high * way) * 16).astype(int).tolist() for sign in (-1, 1)]
            cv2.line(rgb, ends[0], ends[1], ink, width, cv2.LINE_AA, 4)
    return replace(garment, rgb=np.asarray(cv2.GaussianBlur(rgb, (0, 0), 0.6), np.uint8))


def lines_of(photo: SeenPhoto, rgb: np.ndarray, drawn: list[np.ndarray], kind: tuple[str, str]) -> Iterator[Lines]:
    """The lines of one photo with their signs."""
    assert photo.pose is not None
    assert photo.scale is not None
    kept: list[tuple[list[Curve], Floats, float]] = []

    def listen(curves: list[Curve], colour: np.ndarray, step_mm: float, cells: int) -> list[Curve]:
        kept.append((curves, pen_signs(curves, colour, step_mm, cells), step_mm))
        return curves

    size = photo.scale.mm_per_px
    with mock.patch.object(pen_lines, "with_pen", listen):
        curves = pen_lines.find_curves(rgb, find_cloth(rgb, photo.pose), hidden_by(photo.marks, size), size)
    if not curves:
        return
    own, signs, step_mm = kept[0]
    number = {id(c.change): i for i, c in enumerate(own)}  # they come back sorted, in pixels of the photo
    signs, own = signs[[number[id(c.change)] for c in curves]], [own[number[id(c.change)]] for c in curves]
    near = np.zeros(rgb.shape[:2], np.uint8)
    for line in drawn:
        cv2.polylines(near, [np.round(line).astype(np.int32)], False, 1, 2 * ON_PX + 1)
    last = np.array(near.shape[::-1]) - 1
    at_px = [np.clip(np.round(c.points_px).astype(int), 0, last) for c in curves]
    shares = [float(near[at[:, 1], at[:, 0]].mean()) for at in at_px]
    label = np.array([1 if share >= MOST else 0 if share < FEW else -1 for share in shares])
    yield Lines(*kind, bool(drawn), own, signs, label, step_mm)


def learn(photos: list[Lines]) -> dict[str, np.ndarray]:
    """Both models, of the size that does best on garments that it was not fitted to; prints how they do on those."""
    fold = {name: i % FOLDS for i, name in enumerate(sorted({p.garment for p in photos}))}
    of_photo = np.concatenate([np.full(len(p.curves), i) for i, p in enumerate(photos)])
    folds = np.array([fold[photos[i].garment] for i in of_photo])
    signs, drawn = np.concatenate([p.signs for p in photos]), np.concatenate([p.drawn for p in photos])
    weight = np.minimum(np.concatenate([p.length_mm for p in photos]), LONGEST_MM) / UNIT_MM
    weight *= np.array([SCENE_WEIGHT if photos[i].cloth == "scene" else 1.0 for i in of_photo]) * (drawn >= 0)
    out: dict[str, np.ndarray] = {}
    first = np.zeros(0)
    for name in ("own", "among"):
        x = signs
        if name == "among":
            parts = np.split(first, np.cumsum([len(p.curves) for p in photos])[:-1])
            x = np.concatenate([pen.among_others(p.curves, part, p.mm_per_px) for p, part in zip(photos, parts, strict=True)])
        tried = {size: crossed(x, drawn, weight, folds, size) for size in SIZES}
        lost = {size: loss_of(told, drawn, weight) for size, told in tried.items()}
        print(name, {size: round(value, 4) for size, value in lost.items()})
        size = min(lost, key=lambda s: lost[s])
        first = tried[size]
        net = fitted(x, drawn, weight, size)
        out |= {f"{name}_{field.name}": getattr(net, field.name) for field in fields(pen.Net)}
    judge(photos, first)
    return out


def loss_of(told: Floats, drawn: np.ndarray, weight: Floats) -> float:
    """Mean log loss of probabilities."""
    right = np.where(drawn == 1, told, 1 - told)
    return float(-(weight * np.log(np.maximum(right, 1e-6))).sum() / weight.sum())


def crossed(x: Floats, y: np.ndarray, weight: Floats, folds: np.ndarray, size: tuple[int, float]) -> Floats:
    """Probabilities told by models fitted without the garment's own lines."""
    out = np.zeros(len(x))
    for k in range(FOLDS):
        out[folds == k] = fitted(x[folds != k], y[folds != k], weight[folds != k], size).likely(x[folds == k])
    return out


def fitted(x: Floats, y: np.ndarray, weight: Floats, size: tuple[int, float]) -> pen.Net:
    """A net of `size` (hidden units, penalty) by L-BFGS."""
    hidden, penalty = size
    known = y >= 0
    mean, sd = x[known].mean(0), x[known].std(0) + 1e-3
    t, target, w = pen.terms(x[known], mean, sd), y[known].astype(float), weight[known]
    shapes = [(t.shape[1],), (t.shape[1], hidden), (hidden,), (hidden,), (1,)]  # direct, hidden, hidden_at, out, at
    cuts = np.cumsum([int(np.prod(shape)) for shape in shapes])
    begun = np.random.default_rng(0).normal(0, BEGUN_SD, cuts[-1])

    def parts(flat: Floats) -> list[Floats]:
        return [part.reshape(shape) for part, shape in zip(np.split(flat, cuts[:-1]), shapes, strict=True)]

    def loss(flat: Floats) -> tuple[float, Floats]:
        direct, into, into_at, out, at = parts(flat)
        h = np.tanh(t @ into + into_at)
        z = t @ direct + h @ out + at
        away = w * (1 / (1 + np.exp(-np.clip(z, -30, 30))) - target)
        back = np.outer(away, out) * (1 - h * h)
        size = direct @ direct + (into**2).sum() + out @ out
        value = w @ (np.logaddexp(0, z) - target * z) + penalty * size
        slopes = (
            t.T @ away + 2 * penalty * direct,
            t.T @ back + 2 * penalty * into,
            back.sum(0),
            h.T @ away + 2 * penalty * out,
            away.sum(),
        )
        return float(value), np.concatenate([np.ravel(slope) for slope in slopes])

    best = minimize(loss, begun, jac=True, method="L-BFGS-B", options={"maxiter": ROUNDS}).x
    return pen.Net(mean, sd, *parts(best))


def judge(photos: list[Lines], told: Floats) -> None:
    """Print, per kind of cloth: share of drawn length believed, length believed in photos without pen, mm a photo."""
    for cloth in sorted({p.cloth for p in photos}):
        for limit in (0.2, 0.3, 0.5, 0.7):
            kept = total = false = bare = 0.0
            at = 0
            for p in photos:
                here = told[at : at + len(p.curves)] > limit
                at += len(p.curves)
                if p.cloth == cloth:
                    kept, total = kept + (p.length_mm * here)[p.drawn == 1].sum(), total + p.length_mm[p.drawn == 1].sum()
                    if not p.drawn_on:
                        false, bare = false + (p.length_mm * here).sum(), bare + 1
            each = f"{false / max(bare, 1):.0f} mm a bare photo ({bare:.0f})"
            print(f"{cloth:8s} beyond {limit}: {kept / max(total, 1):.3f} of the drawn, {each}")


if __name__ == "__main__":
    main()
