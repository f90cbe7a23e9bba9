"""Draw random fittings to be filmed: python -m tests.scenes.film_specs N OUT --seed S [--4k K]

Writes N spec files film_00.json ... for `film_frames.py`: as `specs.py` draws them, before a phone that stands and films upright in 1080p
(the last K in 4K), by one of three set-ups in turn: the scale card beside her and the lens told by the film; two floor sheets; floor sheets
and the card at the wall.
"""

import argparse
from pathlib import Path

import numpy as np

from .spec import Markers, Spec
from .specs import draw_spec

SIZE, SIZE_4K = (1080, 1920), (2160, 3840)
LENS_TOLD, SHEETS, SHEETS_AND_CARD = SET_UPS = ("lens told", "sheets", "sheets and card")
AWAY = {LENS_TOLD: 0.95, SHEETS: 1.04, SHEETS_AND_CARD: 1.04}  # over photos of 3 : 4: narrower, and the sheets must be whole
OUT_OF_SIGHT = (2.6, 0.6, 1.0)


def set_up(spec: Spec) -> str:
    """Which of the three a film's spec has."""
    if not spec.floor_sheets:
        return LENS_TOLD
    return SHEETS if spec.card.pos_m == OUT_OF_SIGHT else SHEETS_AND_CARD


def draw_film_spec(name: str, seed: int, which: str, size: tuple[int, int] = SIZE, markers: Markers | None = None) -> Spec:
    """One fitting to be filmed; the same for the same seed."""
    spec = draw_spec(name, seed, markers)
    rng = np.random.default_rng(seed + 900_000_000)
    camera = spec.camera.model_dump(exclude_unset=True) | {"size": size, "jitter": 0.0}
    camera["distance_m"] = round(camera["distance_m"] * AWAY[which], 2)
    camera["x_m"] = round(float(rng.uniform(0.08, 0.15) if which == LENS_TOLD else rng.uniform(-0.04, 0.06)), 2)
    update: dict[str, object] = {"camera": camera}
    if which != LENS_TOLD:
        update["floor_sheets"] = [
            {"which": side, "pos_m": [round(sign * float(rng.uniform(0.38, 0.42)), 3), round(float(rng.normal(0, 0.02)), 3)]}
            | {"yaw_deg": round(float(rng.normal(0, 1.5)), 1)}
            for side, sign in (("left", -1), ("right", 1))
        ]
        at_wall = (round(float(rng.uniform(0.5, 0.58)), 3), spec.room.wall_y_m - 0.03, round(float(rng.uniform(1.1, 1.3)), 2))
        update["card"] = {"pos_m": OUT_OF_SIGHT} if which == SHEETS else {"pos_m": at_wall, "roll_deg": round(float(rng.normal(0, 1)), 2)}
    return Spec.model_validate(spec.model_dump(by_alias=True, exclude_unset=True) | update)


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("n", type=int)
    parser.add_argument("out", type=Path)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--4k", type=int, default=0, dest="large", help="how many, the last ones, are filmed in 4K")
    options = parser.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    for i in range(options.n):
        size = SIZE if i < options.n - options.large else SIZE_4K
        spec = draw_film_spec(f"film_{i:02d}", options.seed * 10_000 + i, SET_UPS[i % 3], size)
        (options.out / f"{spec.name}.json").write_text(spec.model_dump_json(indent=1, by_alias=True, exclude_unset=True))


if __name__ == "__main__":
    main()
