"""Draw random scenes with floor sheets: python -m tests.scenes.floor_specs N OUT --seed S

Writes N spec files scene_000.json ... into the folder OUT, for tests.scenes.make. Every scene has two floor sheets beside her feet; floor,
curls, lens, picture size, where the camera stands, how everything was printed, where the card hangs, whether toe strips lie there, whether
a sheet is trodden on, moved between two photos or stands in a shadow are dealt out so that a dozen scenes hold each of them.
"""

import argparse
from pathlib import Path
from typing import Any

import numpy as np

from .spec import VIEW_YAW_DEG, Spec
from .specs import draw_spec

FLOORS = ("planks", "carpet", "tiles", "boards")
CURLS_MM = ((0.0, 0.0), (1.0, 5.0), (8.0, 12.0))
RIPPLE_MM = (0.5, 1.5)  # of a sheet on a carpet
CARDS = ("frame", "crooked", "nothing", "frame", "wall", "nothing", "crooked", "stand")
PRINTED = (0.97, 1.03)
SIZES = ((3024, 4032), (3024, 4032), (1080, 1920))  # two of three with 12 megapixels
LENSES_MM = (24.0, 60.0)
NEAREST_M, FARTHEST_M = 2.0, 4.0
WHOLE = {3024: 0.059, 1080: 0.067}  # m a mm of focal length, by the picture's breadth: from there on head, feet and card are in it
GRAZING_DEG = (15.0, 30.0)
LOWEST_M, HIGHEST_M = 0.75, 1.5  # of a camera
BESIDE_M, TRODDEN_M = (0.34, 0.40), (0.19, 0.24)  # a sheet's middle from the middle between them
MOVED_M = 0.04
OTHER_PRINTER = 0.985  # size of the prints of another one
SPREAD = 0.618  # of the range of lenses from one seed to the next, so that few seeds cover it


def draw_floor_spec(name: str, seed: int) -> Spec:
    """One random scene with floor sheets; the same for the same seed. Consecutive seeds deal the set-ups out."""
    rng = np.random.default_rng(seed + 900_000_000)
    base = draw_spec(name, seed, "pointer" if seed % 3 == 2 else "aruco", 0.25)
    floor = FLOORS[seed % len(FLOORS)]
    size = SIZES[seed // 2 % len(SIZES)]
    shadow = rng.uniform() < 0.2
    told: dict[str, Any] = {
        "markers": base.markers,
        "camera": _camera(rng, seed, size),
        "card": _card(rng, CARDS[seed % len(CARDS)], base.room.wall_y_m),
        "floor_sheets": _sheets(rng, seed, floor),
        "toe_strips": {"pos_m": _about(rng, 0.0, 0.005, 2), "yaw_deg": _round(rng.normal(0, 0.7))} if _strips(seed) else None,
        "print_share": _round(rng.uniform(*PRINTED), 4) if rng.uniform() < 0.6 else 1.0,
        "room": {
            "carpet": floor == "carpet",
            "laid": floor if floor in ("planks", "tiles") else "boards",
            "cupboard": (_round(rng.choice([-1, 1]) * rng.uniform(0.82, 0.9), 2), _round(rng.uniform(-0.3, 0.1), 2), 0.7)
            if shadow
            else None,
        },
        "blur_px": _round(rng.uniform(0.8, 1.2) if size[0] > 2000 else rng.uniform(0.5, 0.8), 2),
    }
    light = base.light.model_dump(by_alias=True)
    if shadow:  # the cupboard stands between the sheet and the window, and there is little other light
        light |= {"from": "left" if told["room"]["cupboard"][0] < 0 else "right", "y_m": -0.1, "fill": 6.0, "ambient": 0.06}
    for view in VIEW_YAW_DEG:
        told.setdefault("views", {})[view] = base.views[view].model_dump(exclude_unset=True) | {"off_strip_m": _about(rng, 0.0, 0.006, 2)}
    return Spec.model_validate(base.model_dump(by_alias=True, exclude_unset=True) | told | {"light": light})


def _camera(rng: np.random.Generator, seed: int, size: tuple[int, int]) -> dict[str, Any]:
    shortest, longest = LENSES_MM
    f35_mm = shortest + (longest - shortest) * ((SPREAD * seed + rng.uniform(0, 0.1)) % 1.0)
    distance = min(max(f35_mm * WHOLE[size[0]] * rng.uniform(0.98, 1.12), NEAREST_M), FARTHEST_M)
    height = np.clip(distance * np.tan(np.radians(rng.uniform(*GRAZING_DEG))), LOWEST_M, HIGHEST_M)
    return {
        "size": size,
        "f35_mm": _round(f35_mm),
        "f_error_pct": _round(rng.normal(0, 0.3), 2),
        "distance_m": _round(distance, 2),
        "height_m": _round(height, 2),
        "x_m": _round(rng.uniform(-0.05, 0.08), 2),
        "aim_height_m": _round(rng.uniform(0.83, 0.92), 2),
        "dist": (_round(rng.uniform(-0.05, 0.03), 3), _round(rng.uniform(-0.01, 0.015), 3), 0.0, 0.0, 0.0),
    }


def _card(rng: np.random.Generator, kind: str, wall_y_m: float) -> dict[str, Any]:
    held = "frame" if kind == "crooked" else kind
    behind = {"wall": wall_y_m - 0.01, "stand": rng.uniform(-0.03, 0.03)}.get(held, rng.uniform(-0.05, 0.25))
    lean = rng.uniform(2.0, 5.0) * rng.choice([-1, 1]) if kind == "crooked" else rng.normal(0, 0.4)
    return {
        "held": held,
        "pos_m": (_round(rng.uniform(0.48, 0.56), 3), _round(behind, 3), _round(rng.uniform(1.0, 1.35), 2)),
        "yaw_deg": 0.0 if held in ("frame", "wall") else _round(rng.uniform(-6, 6)),
        "tilt_deg": _round(rng.normal(0, 0.3), 2),
        "roll_deg": _round(lean, 2),
    }


def _sheets(rng: np.random.Generator, seed: int, floor: str) -> list[dict[str, Any]]:
    curl = CURLS_MM[(seed // 2 + seed // 6) % len(CURLS_MM)]
    trodden, moved, reprinted = not _strips(seed), seed % 5 == 3, seed % 7 == 5
    back = rng.uniform(-0.02, 0.04)
    sheets: list[dict[str, Any]] = []
    for which, sign in (("left", -1), ("right", 1)):
        away = rng.uniform(*(TRODDEN_M if trodden and sign == 1 else BESIDE_M))
        sheet: dict[str, Any] = {
            "which": which,
            "pos_m": (_round(sign * away, 3), _round(back + rng.normal(0, 0.01), 3)),
            "yaw_deg": _round(rng.normal(0, 2.0)),
            "curl_mm": _round(rng.uniform(*curl)),
            "curl_at": tuple(_round(rng.uniform(0.2, 1.0), 2) for _ in range(4)),
            "ripple_mm": _round(rng.uniform(*RIPPLE_MM)) if floor == "carpet" else 0.0,
            "print_share": OTHER_PRINTER if reprinted and sign == 1 else 1.0,
        }
        if moved and sign == 1:
            cut = int(rng.integers(1, 4))
            before, after = [view for view in VIEW_YAW_DEG][:cut], [view for view in VIEW_YAW_DEG][cut:]
            angle = rng.uniform(0, 2 * np.pi)
            x, y = sheet["pos_m"]
            there = (_round(x + MOVED_M * np.cos(angle), 3), _round(y + MOVED_M * np.sin(angle), 3))
            sheets.append(sheet | {"views": after, "pos_m": there, "yaw_deg": _round(sheet["yaw_deg"] + rng.normal(0, 3.0))})
            sheet = sheet | {"views": before}
        sheets.append(sheet)
    return sheets


def _strips(seed: int) -> bool:
    """Whether toe strips lie there; where they do, the sheets lie beyond them, else one is nearer, so that she treads on it."""
    return seed % 3 != 1


def _round(value: float, digits: int = 1) -> float:
    return round(float(value), digits)


def _about(rng: np.random.Generator, middle: float, sd: float, n: int) -> tuple[float, ...]:
    return tuple(_round(value, 4) for value in rng.normal(middle, sd, n))


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("n", type=int)
    parser.add_argument("out", type=Path)
    parser.add_argument("--seed", type=int, default=0)
    options = parser.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    for i in range(options.n):
        spec = draw_floor_spec(f"scene_{i:03d}", options.seed * 10_000 + i)
        (options.out / f"{spec.name}.json").write_text(spec.model_dump_json(indent=1, by_alias=True, exclude_unset=True))


if __name__ == "__main__":
    main()
