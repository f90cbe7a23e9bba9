"""Photographed pattern pieces with exact truth: python -m tests.scenes.sheets.make OUT --seeds 1 2 3 [--surface wood]

Each seed gives a folder with one to three photos and truth.json: lines in the table frame (mm, y downwards) and the card's place in it.
"""

import argparse
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from shapely import LineString, Polygon
from shapely.ops import unary_union

from ..mesh import Floats
from .drafted import Drafted, bodice, skirt
from .paper import DASHES, printed
from .photograph import LaidCard, Room, photograph
from .table import SURFACES, THINGS_PX_PER_MM, Surface, surface, things_at_the_edge
from .table_camera import TableCamera, above

SIZE = (4000, 3000)
DIAGONAL_35MM = float(np.hypot(36, 24))
TISSUES = ((0.78, 0.70, 0.54), (0.82, 0.78, 0.68), (0.72, 0.66, 0.55))


@dataclass(frozen=True)
class Spec:
    """One scene; what is None is drawn from the seed."""

    seed: int
    surface: Surface | None = None
    piece: str | None = None
    nested: bool | None = None
    hands: int | None = None
    photos: int | None = None
    tilt_deg: float | None = None
    card_lifted: float = 0.0
    card_lean_deg: float = 0.0
    card_at: tuple[float, float] | None = None
    without_card: bool = False
    cut_off: bool = False
    drafted: Drafted | None = None
    second: Drafted | None = None
    blank: bool = False
    plain: bool = False
    size: tuple[int, int] = SIZE


def make(spec: Spec, out: Path) -> dict[str, object]:
    """Photograph one scene; returns what truth.json says."""
    rng = np.random.default_rng(spec.seed)
    kind = spec.surface or SURFACES[rng.integers(len(SURFACES))]
    drawn = str(rng.choice(["front", "back", "skirt"]))
    name = spec.piece or ("skirt" if (spec.photos or 1) > 1 else drawn)  # long: the card beside it moves along, never onto it
    nested = bool(rng.random() < 0.5) if spec.nested is None else spec.nested
    allowance = float(rng.choice([0.0, 10.0, 15.0]))
    on_fold = bool(rng.random() < 0.5)
    sizes = _sizes(spec, name, int(rng.integers(3, 6)) if nested else 1, allowance, on_fold, rng)
    styles = [str(s) for s in rng.permutation(list(DASHES))[: len(sizes)]] if nested else []
    chosen = int(rng.integers(len(sizes)))
    cut = unary_union([Polygon(size.cutting_line) for size in sizes])  # at an underarm a smaller size may stand out
    paper = np.array((cut.buffer(rng.uniform(9, 20), join_style="mitre") if nested else cut).exterior.coords)[:-1]
    creased, curl = rng.uniform(0.2, 1.0), rng.uniform(0, 2.5)
    sheet = printed(sizes, styles, paper, rng, creased, curl, rng.uniform(0.35, 0.6))
    sheet = replace(sheet, ink=sheet.ink * 0) if spec.plain else sheet
    others = [] if spec.second is None else [printed([spec.second], [], spec.second.cutting_line, rng, creased, curl, 0.5)]
    low, high = (extreme(np.vstack([paper, *(other.paper for other in others)]), axis=0) for extreme in (np.min, np.max))
    right = bool(rng.random() < 0.5)
    turn = float(rng.choice([0, 0, 90, 180, 270]) + rng.uniform(-12, 12))
    apart = 150 + 45 * abs(np.sin(np.radians(turn)))
    card = LaidCard(
        np.array([high[0] + apart if right else low[0] - apart, rng.uniform(*np.sort([low[1] + 130, high[1] - 130]))]),
        turn,
        spec.card_lifted,
        spec.card_lean_deg,
    )
    card = card if spec.card_at is None else replace(card, middle=np.array(spec.card_at))
    shown = np.array([np.minimum(low, card.middle - 150), np.maximum(high, card.middle + 150)])
    room = _room(kind, shown, paper, rng, int(rng.random() < 0.3) if spec.hands is None else spec.hands)
    count = spec.photos or 1
    out.mkdir(parents=True, exist_ok=True)
    cameras = _cameras(spec, shown, count, rng, card.middle if spec.cut_off else None)
    cards = [card if count == 1 else _moved(card, camera, shown) for camera, _ in cameras]
    for i, ((camera, equivalent), own) in enumerate(zip(cameras, cards, strict=True), 1):
        photograph(
            out / f"photo_{i}.jpg",
            camera,
            [] if spec.blank else [sheet, *others],
            None if spec.without_card else own,
            room,
            equivalent,
            rng,
        )
    truth = _told(sizes[chosen], cards, kind, nested, styles[chosen] if styles else "", chosen, len(sizes), cameras, creased, curl)
    truth |= {"opaque": room.opaque, "covered": _covered(sizes[chosen].cutting_line, room).tolist()}
    (out / "truth.json").write_text(json.dumps(truth))
    return truth


def _moved(card: LaidCard, camera: TableCamera, shown: Floats) -> LaidCard:
    """The card laid anew beside the part that a photo shows."""
    seen = camera.on_table(np.array([[camera.size[0] / 2, camera.size[1] / 2]]))[0]
    upright = shown[1, 1] - shown[0, 1] > shown[1, 0] - shown[0, 0]
    return replace(card, middle=np.array([card.middle[0], seen[1]]) if upright else np.array([seen[0], card.middle[1]]))


def _sizes(spec: Spec, name: str, count: int, allowance: float, on_fold: bool, rng: np.random.Generator) -> list[Drafted]:
    if spec.drafted is not None:
        return [spec.drafted]
    first, dart = float(rng.uniform(-2, 4)), bool(rng.random() < 0.6)
    grades = [first + k * float(rng.uniform(0.95, 1.05)) for k in range(count)]
    if name == "skirt":
        return [skirt("skirt", g, allowance, on_fold) for g in grades]
    return [bodice(name, g, allowance, on_fold, dart and name == "front") for g in grades]


def _room(kind: Surface, shown: Floats, paper: Floats, rng: np.random.Generator, hands: int) -> Room:
    corner = shown[0] - 500
    wide, high = shown[1] - shown[0] + 1000
    around = paper.min(axis=0) - 250
    room_mm = (np.ptp(paper, axis=0) + 500).tolist()
    things, cover = things_at_the_edge(paper - around, hands, int(rng.integers(0, 4)), room_mm[0], room_mm[1], rng)
    middle = shown.mean(axis=0)
    return Room(
        table=surface(kind, float(wide), float(high), rng),
        table_corner=corner,
        things=things,
        things_cover=cover,
        things_corner=paper.min(axis=0) - 250,
        lamp_at=middle + rng.uniform(-700, 700, 2),
        lamp_height=float(rng.uniform(900, 1800)),
        ambient=float(rng.uniform(0.3, 0.7)),
        lamp_tone=(1.0, float(rng.uniform(0.86, 1.0)), float(rng.uniform(0.7, 1.0))),
        tissue=TISSUES[rng.integers(len(TISSUES))],
        opaque=float(rng.uniform(0.5, 0.9)),
        exposure=float(rng.uniform(0.75, 1.1)),
        blur_px=float(rng.uniform(0.5, 1.1)),
        noise=float(rng.uniform(1.0, 3.5)),
        quality=int(rng.integers(84, 96)),
    )


def _cameras(spec: Spec, shown: Floats, count: int, rng: np.random.Generator, only: Floats | None = None) -> list[tuple[TableCamera, int]]:
    equivalent = float(rng.choice([24.0, 26.0, 28.0])) * float(rng.uniform(0.985, 1.015))
    focal = equivalent / DIAGONAL_35MM * float(np.hypot(*spec.size))
    bend = (float(rng.uniform(-0.03, 0.03)), float(rng.uniform(-0.006, 0.006)))
    extent, middle = shown[1] - shown[0], shown.mean(axis=0)
    upright = extent[1] > extent[0]
    size = spec.size[::-1] if upright else spec.size
    found = []
    for i in range(count):
        tilt = float(rng.uniform(0, 20)) if spec.tilt_deg is None else spec.tilt_deg
        along = np.where(np.arange(2) == int(upright), 1.0, 0.0)
        part = extent * (1 - along * (0 if count == 1 else 0.3 if count == 2 else 0.45))
        aim = middle + (extent - part) * along * (0 if count == 1 else i / (count - 1) - 0.5)
        aim = aim if only is None else only
        azimuth, roll = float(rng.uniform(0, 360)), float(rng.normal(0, 4))
        shown_now = aim + (np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * part / 2)
        height = float(max(part / np.array(size)) * focal * rng.uniform(1.05, 1.2))
        for _ in range(60):  # as far up as it takes
            camera = above(aim, height, tilt, azimuth, roll, focal, bend, size)
            seen = camera.pixels(shown_now)
            if spec.cut_off or ((seen > 60).all() and (seen < np.array(size) - 60).all()):
                break
            height *= 1.03
        found.append((camera, round(equivalent)))
    return found


def _covered(line: Floats, room: Room) -> Floats:
    """Places every millimetre along a closed line on which a hand or a pin lies, shape (N, 2)."""
    ring = LineString(np.vstack([line, line[:1]]))
    even = np.array([ring.interpolate(far).coords[0] for far in np.arange(0.0, ring.length)])
    column, row = np.round((even - room.things_corner) * THINGS_PX_PER_MM).astype(int).T
    rows, columns = room.things_cover.shape
    on = (column >= 0) & (row >= 0) & (column < columns) & (row < rows)
    on[on] = room.things_cover[row[on], column[on]] > 0.5
    return np.asarray(even[on])


def _told(
    piece: Drafted,
    cards: Sequence[LaidCard],
    kind: str,
    nested: bool,
    style: str,
    chosen: int,
    sizes: int,
    cameras: Sequence[tuple[TableCamera, int]],
    creased: float,
    curl: float,
) -> dict[str, object]:
    inside = np.array(Polygon(piece.cutting_line).exterior.coords)
    start = inside[np.argmax(inside[:, 0])]
    return {
        "piece": piece.name,
        "surface": kind,
        "nested": nested,
        "style": style,
        "size": chosen,
        "sizes": sizes,
        "allowance_mm": piece.allowance,
        "on_fold": piece.on_fold,
        "creased_mm": creased,
        "curl_mm": curl,
        "cutting_line": piece.cutting_line.tolist(),
        "seam_line": piece.seam_line.tolist(),
        "edges": {edge: points.tolist() for edge, points in piece.edges.items()},
        "darts": [dart.tolist() for dart in piece.darts],
        "notches": [notch.tolist() for notch in piece.notches],
        "grain": piece.grain.tolist(),
        "cards": [{"middle": card.middle.tolist(), "turn_deg": card.turn_deg} for card in cards],
        "on_line_px": [camera.pixels(start[None])[0].tolist() for camera, _ in cameras],
        "tilt_deg": [float(np.degrees(np.arccos(-camera.rotation[2, 2]))) for camera, _ in cameras],
        "cameras": [
            {
                "matrix": c.matrix.tolist(),
                "bend": c.distortion.tolist(),
                "rotation": c.rotation.tolist(),
                "translation": c.translation.tolist(),
            }
            for c, _ in cameras
        ],
        "px_per_mm": [float(camera.matrix[0, 0] / camera.eye[2]) for camera, _ in cameras],
    }


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--seeds", type=int, nargs="+", default=[1])
    parser.add_argument("--surface", choices=SURFACES)
    parser.add_argument("--photos", type=int)
    parser.add_argument("--nested", type=int, choices=(0, 1))
    parser.add_argument("--hands", type=int)
    parser.add_argument("--size", type=int, nargs=2, default=SIZE, metavar=("WIDE", "HIGH"))
    args = parser.parse_args()
    for seed in args.seeds:
        nested = None if args.nested is None else bool(args.nested)
        spec = Spec(seed, surface=args.surface, nested=nested, hands=args.hands, photos=args.photos, size=tuple(args.size))
        make(spec, args.out / f"sheet_{seed:03d}")


if __name__ == "__main__":
    main()
