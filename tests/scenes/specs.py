"""Draw random scenes: python -m tests.scenes.specs N OUT --seed S [--markers none] [--controls 0.25] [--half] [--stances] [--various]

Writes N spec files scene_000.json ... into the folder OUT, for tests.scenes.make: bodies, postures, misfits, cloths, pens, rooms, light and
cameras all differ. In a control nothing is changed; in the others one to three things are.
"""

import argparse
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, get_args

import numpy as np

from . import stances
from .draw import Draw
from .looks import HAIRS, LEGGINGS, SKINS, TOPS
from .spec import CLOTHS, LINE_COLOURS, USUAL_COLOURS, VIEW_YAW_DEG, Markers, Rgb, Spec
from .various.draw import vary

UNREADABLE = {"muslin": ("orange",), "tissue": ("orange",), "blue": ("blue", "teal")}  # pens nobody would take on that cloth
# where half tissues lack width or have too much, and how it is shared out over the levels
SHORT: dict[str, dict[str, dict[str, float]]] = {
    "short at the bust": {"front": {"chest": 0.4, "bust": 1.0, "waist": 0.4, "hip": 0.2}},
    "short at the waist": {"front": {"bust": 0.3, "waist": 1.0, "hip": 0.5}, "back": {"bust": 0.3, "waist": 1.0, "hip": 0.5}},
    "short at the hip": {"front": {"waist": 0.4, "hip": 1.0}, "back": {"waist": 0.4, "hip": 1.0}},
    "short at the blades": {"back": {"chest": 1.0, "bust": 0.8, "waist": 0.2}},
}
OPENED_SIM = {"morph_steps": 1400, "iterations": 3, "friction": 0.35}  # what is open can give way at its edges
MAY_LACK_STICKER = ("waist_side_L", "waist_side_R", "hip_side_L", "hip_side_R", "seat_back", "front_neck", "waist_back", "bust_point_L")
MAY_LACK_LINE = ("princess", "princess_back", "dart", "waist", "side", "shoulder", "centre_back")


class _Misfit:
    """The subject as the reference, then changed by one cause after the other."""

    def __init__(self, draw: Draw, reference: dict[str, dict[str, float]]) -> None:
        self.draw = draw
        self.phenotype, self.posture, self.local = (dict(reference[group]) for group in ("phenotype", "posture", "local"))
        self.offsets: dict[str, float] = {}

    def forward_shoulder(self) -> None:
        self.posture["shoulder_forward"] = self.posture.get("shoulder_forward", 0.0) + self.draw.between(2, 7)
        self._more(self.posture, "head_forward", 0, 4)
        self.offsets |= {"shoulder_behind_tip": self.draw.between(0, 7), "shoulder_behind_neck": self.draw.between(-1, 3)}

    def round_back(self) -> None:
        self._more(self.posture, "upper_back_round", 2, 5)
        self._more(self.posture, "head_forward", 1, 4)

    def uneven_shoulders(self) -> None:
        self.posture["shoulder_right_lower"] = self.draw.either_way(3, 6)

    def sway_back(self) -> None:
        self._more(self.posture, "lordosis", 3, 6)
        self.offsets["waist_back_up"] = -self.draw.between(6, 18)

    def full_bust(self) -> None:
        self._more(self.phenotype, "cupsize", 0.08, 0.2, 3)
        self._more(self.phenotype, "weight", 0.02, 0.02, 3)
        self.offsets["bust_mark_up"] = self.draw.between(-6, 12)

    def low_bust(self) -> None:
        self._more(self.local, "breast-trans-up", -0.4, -0.1, 2)
        self.offsets["bust_mark_up"] = self.draw.between(8, 22)

    def side_seam(self) -> None:
        self.offsets["side_forward"] = self.draw.either_way(6, 14)

    def waist_level(self) -> None:
        self.offsets["waist_up"] = self.draw.either_way(7, 16)

    def centre_back(self) -> None:
        self.offsets["centre_back_left"] = self.draw.either_way(6, 12)

    def broader(self) -> None:
        self._more(self.phenotype, "weight", 0.04, 0.09, 3)

    def _more(self, group: dict[str, float], key: str, low: float, high: float, digits: int = 1) -> None:
        group[key] = round(group.get(key, 0.0) + self.draw.between(low, high, digits), digits)


CAUSES: dict[str, Callable[[_Misfit], None]] = {
    name.replace("_", " "): cause for name, cause in vars(_Misfit).items() if not name.startswith("_")
}


def draw_spec(name: str, seed: int, markers: Markers | None = None, control_share: float = 0.25, any_stance: bool = False) -> Spec:
    """One random scene; the same for the same seed.

    Parameters
    ----------
    any_stance : bool
        Bodies of all sizes and ages with their arms anywhere, one-sided and with the head a little turned (`stances.py`).
    markers : str or None
        None: drawn too, without any in two of five scenes.
    control_share : float
        Share of scenes in which the garment is worn by the body it was cut for.
    """
    draw = Draw(seed)
    reference = _body(draw, any_stance)
    misfit = _Misfit(draw, reference)
    causes = [] if draw.chance(control_share) else draw.some(list(CAUSES), draw.one((1, 2, 2, 3)))
    for cause in causes:
        CAUSES[cause](misfit)
    if any_stance:
        stands = stances.one_sided(draw.rng)
        misfit.posture |= stands | {key: round(stands[key] + misfit.posture[key], 1) for key in stands.keys() & misfit.posture.keys()}
        if not causes or draw.chance(0.5):  # the garment is cut for her own shoulders and hips
            reference["posture"] |= stands
        else:
            causes = [*causes, "one-sided"]
    opened = ("full bust" in causes and draw.chance(0.6)) or draw.chance(0.08)
    cloth = draw.one(list(CLOTHS))
    markers = markers or draw.one(("none", "none", "pointer", "aruco", "dots"))
    spec: dict[str, Any] = {
        "name": name,
        "seed": seed,
        "note": " + ".join(causes) or "control",
        "reference": reference,
        "subject": {"phenotype": misfit.phenotype, "posture": misfit.posture, "local": misfit.local},
        "line_offsets_mm": misfit.offsets,
        "garment": {"ease_mm": draw.between(4, 9) if draw.chance(0.3) else 5.0, "front_pins": (0.0, 0.66, 1.0) if opened else ()},
        "sim": OPENED_SIM if opened else {},
        "cloth": cloth,
        "line_colours": _pens(draw, cloth),
        "hide_lines": draw.some(MAY_LACK_LINE, 2) if draw.chance(0.2) else (),
        "markers": markers,
        "no_marker": draw.some(MAY_LACK_STICKER, 2) if markers != "none" and draw.chance(0.35) else (),
        "camera": _camera(draw),
        "card": {
            "pos_m": (draw.between(0.46, 0.54, 3), draw.between(-0.03, 0.03, 3), draw.between(1.0, 1.15, 2)),
            "yaw_deg": draw.between(-6, 6),
            "tilt_deg": draw.between(-0.4, 0.4, 2),
            "roll_deg": draw.between(-0.4, 0.4, 2),
        },
        "views": {
            view: {"yaw_err_deg": draw.about(0, 1.4), "lean_deg": (draw.about(0, 0.25), draw.about(0, 0.25))} for view in VIEW_YAW_DEG
        },
        "colours": _colours(draw),
        "light": {
            "from": draw.one(("left", "right")),
            "window": draw.between(85, 125, 0),
            "rgb": (1.0, draw.between(0.9, 1, 2), draw.between(0.8, 1, 2)),
            "fill": draw.between(11, 26, 0),
            "ambient": draw.between(0.1, 0.2, 2),
        },
        "blur_px": draw.between(0.4, 0.8, 2),
        "noise": draw.between(1.0, 2.5),
    }
    return Spec.model_validate(spec)


def draw_half_spec(name: str, seed: int, markers: Markers | None = None, control_share: float = 0.25) -> Spec:
    """A random scene of a half tissue; as `draw_spec`, with centre lines that stay short of the middle or overlap among the causes."""
    spec, draw = draw_spec(name, seed, markers, control_share), Draw(seed + 500_000_000)
    causes = [] if spec.note == "control" else [cause for cause in spec.note.split(" + ") if cause != "centre back"]
    short: dict[str, dict[str, float]] = {"front": {}, "back": {}}
    if spec.note != "control" and (not causes or draw.chance(0.6)):
        cause = draw.one(list(SHORT))
        causes.append(cause)
        for end, shares in SHORT[cause].items():
            by = draw.between(7, 24) if draw.chance(0.75) else -draw.between(5, 12)
            short[end] = {level: round(share * by, 1) for level, share in shares.items()}
    beyond = draw.one((15.0, 10.0, 2.5, 0.0))
    half = {
        "side": draw.one(("R", "R", "L")),
        "front_short_mm": short["front"],
        "back_short_mm": short["back"],
        "beyond_mm": beyond,
        "held_by": draw.one(("pins", "pins", "tape")),
    }
    cloth = draw.one(("tissue", "tissue", "tissue", "muslin", "blue"))
    update = {
        "note": " + ".join(causes) or "control",
        "line_offsets_mm": {key: mm for key, mm in spec.line_offsets_mm.items() if key != "centre_back_left"},
        "garment": {"ease_mm": spec.garment.ease_mm, "half": half, "printed": cloth == "tissue" and draw.chance(0.6)},
        "sim": OPENED_SIM,
        "cloth": cloth,
        "line_colours": _pens(draw, cloth),
        "hide_lines": ("centre_front", "centre_back") if beyond == 0 else spec.hide_lines,
        "colours": spec.colours.model_dump(exclude_unset=True) | {"beneath": draw.one(("bra", "top")), "top": draw.one(TOPS)},
    }
    return Spec.model_validate(spec.model_dump(by_alias=True, exclude_unset=True) | update)


def _body(draw: Draw, any_stance: bool) -> dict[str, dict[str, float]]:
    ranges = {
        "height": (0.25, 0.6),
        "weight": (0.38, 0.78),
        "age": (0.55, 0.9),
        "cupsize": (0.38, 0.7),
        "firmness": (0.35, 0.6),
        "muscle": (0.4, 0.6),
        "proportions": (0.4, 0.6),
    }
    held = {"head_forward": (2, 8), "upper_back_round": (-1, 3), "lordosis": (-2, 3), "shoulder_drop": (-2, 2)}
    stand: dict[str, float] = {}
    if any_stance:
        ranges |= {"height": (0.15, 0.72), "weight": (0.25, 0.92), "age": (0.5, 0.93), "cupsize": (0.3, 0.85)}
        held |= {"upper_back_round": (-3, 8), "shoulder_drop": (-6, 4), "shoulder_forward": (-2, 5)}
        stand = stances.arms(draw.rng, stances.CLEAR) | stances.head(draw.rng)
    return {
        "phenotype": {key: draw.between(*limits, 3) for key, limits in ranges.items()},
        "posture": {key: draw.between(*limits) for key, limits in held.items()} | stand,
        "local": {"breast-trans-up": draw.between(-0.3, 0.2, 2)} if draw.chance(0.5) else {},
    }


def _pens(draw: Draw, cloth: str) -> dict[str, str]:
    pens = [colour for colour in LINE_COLOURS if colour not in UNREADABLE[cloth]]
    drawn = {line: draw.one(pens) for line in USUAL_COLOURS}
    same = {"bust_tick": "princess", "princess_back": "princess", "centre_back": "centre_front"}  # drawn in one go
    return {line: drawn[same.get(line, line)] for line in drawn}


def _camera(draw: Draw) -> dict[str, float]:
    f35_mm = draw.between(40, 64)
    return {
        "f35_mm": f35_mm,
        "f_error_pct": draw.about(0, 0.2, 2),
        "distance_m": round(f35_mm * 0.059 * draw.between(0.96, 1.08, 3), 2),  # head to feet in the picture
        "height_m": draw.between(0.95, 1.35, 2),
        "x_m": draw.between(0.08, 0.2, 2),
        "aim_height_m": draw.between(0.85, 0.93, 2),
    }


def _colours(draw: Draw) -> dict[str, Rgb]:
    def rgb(values: Any, low: float = 0.0, high: float = 1.0) -> Rgb:
        r, g, b = (round(float(min(max(v, low), high)), 3) for v in values)
        return r, g, b

    wall = draw.rng.uniform(0.3, 0.85) + draw.rng.uniform(-0.08, 0.08, 3)
    wood, grey = draw.rng.uniform(0.12, 0.5) * np.array([1, 0.75, 0.55]), np.full(3, draw.rng.uniform(0.15, 0.4))
    return {
        "wall": rgb(wall, 0.2, 0.9),
        "floor": rgb(wood if draw.chance(0.7) else grey, 0.03, 0.6),
        "skin": rgb(np.array(draw.one(SKINS)) * draw.rng.uniform(0.9, 1.1)),
        "hair": draw.one(HAIRS),
        "leggings": draw.one(LEGGINGS),
    }


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("n", type=int)
    parser.add_argument("out", type=Path)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--markers", choices=get_args(Markers), help="the same in all scenes")
    parser.add_argument("--controls", type=float, default=0.25, help="share of scenes without a misfit")
    kind = parser.add_mutually_exclusive_group()
    kind.add_argument("--half", action="store_true", help="half tissues")
    kind.add_argument(
        "--various", action="store_true", help="as --stances, with cloths, pens, clothes, rooms, lamps and phones of all kinds"
    )
    kind.add_argument("--stances", action="store_true", help="arms anywhere, one-sided shoulders and hips, bodies of all sizes")
    options = parser.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    for i in range(options.n):
        draw = draw_half_spec if options.half else partial(draw_spec, any_stance=options.stances or options.various)
        spec = draw(f"scene_{i:03d}", options.seed * 10_000 + i, options.markers, options.controls)
        spec = vary(spec) if options.various else spec
        (options.out / f"{spec.name}.json").write_text(spec.model_dump_json(indent=1, by_alias=True, exclude_unset=True))


if __name__ == "__main__":
    main()
