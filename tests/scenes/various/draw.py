"""A random spec made as various as life: cloth, pen, stickers, clothes, room, lamps and phone drawn anew."""

from typing import Any

from ..draw import Draw
from ..looks import HAIRS, LEGGINGS, SKINS, TOPS
from ..spec import LINE_COLOURS, USUAL_COLOURS, Rgb, Spec
from .parts import THINGS

GROUNDS: dict[str, Rgb] = {
    "white": (0.78, 0.77, 0.74),
    "cream": (0.72, 0.62, 0.45),
    "tissue": (0.62, 0.44, 0.25),
    "rose": (0.70, 0.36, 0.36),
    "sky": (0.35, 0.52, 0.72),
    "sage": (0.33, 0.42, 0.28),
    "grey": (0.36, 0.36, 0.38),
    "navy": (0.03, 0.05, 0.14),
    "wine": (0.20, 0.02, 0.05),
}
INKS: tuple[Rgb, ...] = (
    (0.04, 0.07, 0.3),
    (0.5, 0.05, 0.06),
    (0.05, 0.2, 0.08),
    (0.6, 0.45, 0.1),
    (0.3, 0.3, 0.32),
    (0.75, 0.74, 0.7),
    (0.02, 0.02, 0.02),
)
LEAST_CONTRAST = 0.22  # between pen and ground, on each colour's share of linear light: below it nobody would take that pen
SLOTS_M = (-1.5, -0.9, -0.25, 0.3, 0.95, 1.6)
STANDS = ("pole", "pole", "round", "tripod", "none")
PHONES: dict[str, tuple[tuple[float, float], tuple[float, float], tuple[int, int]]] = {  # 35 mm focal length, k1, picture
    "main": ((23.5, 28.5), (-0.06, 0.06), (3024, 4032)),
    "old": ((28.0, 34.0), (-0.10, 0.02), (2268, 3024)),
    "far": ((48.0, 56.0), (-0.03, 0.03), (1512, 2016)),
}


def vary(spec: Spec) -> Spec:
    """The same women and misfit in another fitting; the same for the same spec."""
    draw = Draw(spec.seed + 700_000_000)
    cloth, garment = _cloth(draw)
    pens = _pens(draw, cloth)
    update: dict[str, Any] = {
        "cloth": cloth,
        "garment": spec.garment.model_dump(exclude_unset=True) | garment,
        "line_colours": pens,
        "line_width_mm": draw.one((1.5, 2.0, 3.0, 4.0, 8.0)),
        "hide_lines": tuple(USUAL_COLOURS) if draw.chance(0.12) else spec.hide_lines,
        "hand": _hand(draw),
        "stuck": {"turn_sd_deg": draw.between(0, 25), "crease": draw.one((0, 0, 0.8, 2)), "peel": draw.one((0, 0, 4, 9))},
        "wears": _wears(draw),
        "camera": _camera(draw),
        "card": spec.card.model_dump(exclude_unset=True) | {"stand": draw.one(STANDS)},
        "room": _room(draw),
        "light": _light(draw),
        "colours": spec.colours.model_dump(exclude_unset=True) | {"skin": draw.one(SKINS), "hair": draw.one(HAIRS)},
        "noise": draw.one((1.0, 2.0, 4.0)),
        "blur_px": draw.between(0.4, 1.4, 2),
    }
    if garment["see_through"]:
        update["colours"] |= {"beneath": "top", "top": draw.one(TOPS), "leggings": draw.one(LEGGINGS)}
    return Spec.model_validate(spec.model_dump(by_alias=True, exclude_unset=True) | update)


def _cloth(draw: Draw) -> tuple[Rgb, dict[str, Any]]:
    kind = draw.one(("plain", "plain", "tissue", "tissue", "checks", "stripes", "flowers", "spots"))
    see_through = draw.between(0.1, 0.35, 2) if kind in ("plain", "tissue") and draw.chance(0.35) else 0.0
    ground = GROUNDS["tissue"] if kind == "tissue" else GROUNDS[draw.one(list(GROUNDS))]
    pattern: dict[str, Any] | None = None
    if kind == "tissue":
        pattern = {"kind": kind}
    elif kind != "plain":
        inks = tuple(draw.one(INKS) for _ in range(3))
        pattern = {"kind": kind, "inks": inks, "repeats": draw.one((4, 6, 9, 14)), "strength": draw.between(0.3, 1.0, 2)}
    return ground, {"cloth_print": pattern, "see_through": see_through}


def _pens(draw: Draw, ground: Rgb) -> dict[str, str]:
    """One pen for all lines in half of the fittings; each can be seen on the ground."""
    readable = [name for name, rgb in LINE_COLOURS.items() if max(abs(a - b) for a, b in zip(rgb, ground, strict=True)) > LEAST_CONTRAST]
    readable = readable or ["orange", "pink"]
    if draw.chance(0.5):
        return dict.fromkeys(USUAL_COLOURS, "black" if "black" in readable and draw.chance(0.5) else draw.one(readable))
    drawn = {line: draw.one(readable) for line in USUAL_COLOURS}
    same = {"bust_tick": "princess", "princess_back": "princess", "centre_back": "centre_front"}
    return {line: drawn[same.get(line, line)] for line in drawn}


def _hand(draw: Draw) -> dict[str, float]:
    return {
        "shake": draw.one((0.0, 0.4, 0.8, 1.2)),
        "gaps": draw.one((0.0, 0.0, 0.1, 0.25)),
        "dash": draw.one((0.0, 0.0, 0.0, 12.0, 25.0)),
        "pins_every": draw.one((0.0, 0.0, 40.0, 80.0)),
    }


def _wears(draw: Draw) -> dict[str, Any]:
    return {
        "hair": draw.one(("bun", "down", "down", "short")),
        "glasses": draw.chance(0.35),
        "straps": draw.chance(0.25),
        "necklace": draw.chance(0.2),
        "belt": draw.one((0.0, 0.0, 0.0, 0.0, 10.0, 30.0)),
        "below": draw.one(("leggings", "skirt", "trousers")),
        "below_rgb": draw.one(LEGGINGS + TOPS),
    }


def _camera(draw: Draw) -> dict[str, Any]:
    f35, k1, size = PHONES[draw.one(("main", "main", "old", "far"))]
    f35_mm = draw.between(*f35)
    nearest = f35_mm * 0.060  # head to feet in the picture
    return {
        "size": size,
        "f35_mm": f35_mm,
        "f_error_pct": draw.about(0, 0.6, 2),
        "distance_m": max(round(nearest * draw.between(1.0, 1.75, 3), 2), 1.75),
        "height_m": draw.between(0.85, 1.5, 2),
        "x_m": draw.between(-0.05, 0.3, 2),
        "aim_height_m": draw.between(0.84, 0.92, 2),
        "dist": (draw.between(*k1, 3), draw.between(-0.02, 0.03, 3), draw.about(0, 0.0005, 5), draw.about(0, 0.0005, 5), 0.0),
        "centre_offset_px": (draw.about(0, size[0] * 0.004), draw.about(0, size[0] * 0.004)),
        "roll_deg": draw.about(0, 1.5),
        "jpeg": draw.one((78, 86, 92, 95)),
    }


def _room(draw: Draw) -> dict[str, Any]:
    slots = [x for x in SLOTS_M if draw.chance(0.65)]
    pattern = None
    if draw.chance(0.3):
        pattern = {
            "kind": draw.one(("stripes", "flowers", "checks", "spots")),
            "inks": tuple(draw.one(INKS) for _ in range(3)),
            "repeats": draw.one((2, 3, 5)),
            "strength": draw.between(0.15, 0.7, 2),
        }
    return {
        "wall_y_m": draw.between(0.8, 1.6, 2),
        "carpet": draw.chance(0.3),
        "wall_print": pattern,
        "things": [
            {"kind": draw.one(THINGS), "x_m": round(x + draw.about(0, 0.05, 2), 2), "seed": int(draw.rng.integers(1 << 30))} for x in slots
        ],
    }


def _light(draw: Draw) -> dict[str, Any]:
    side, kind = draw.one(("left", "right")), draw.one(("window", "window", "yellow lamps", "flash", "dull"))
    usual = {"from": side, "y_m": draw.between(-2.0, 0.2), "ambient": draw.between(0.08, 0.2, 2), "exposure": draw.between(0.3, 0.8, 2)}
    if kind == "window":
        return usual | {"window": draw.between(70, 170, 0), "rgb": (1.0, 0.97, draw.between(0.9, 1.0, 2)), "fill": draw.between(3, 20, 0)}
    if kind == "yellow lamps":
        return usual | {
            "window": draw.between(0, 15, 0),
            "fill": draw.between(70, 110, 0),
            "fill_rgb": (1.0, draw.between(0.62, 0.8, 2), draw.between(0.3, 0.5, 2)),
        }
    if kind == "flash":
        return usual | {"window": draw.between(5, 30, 0), "fill": draw.between(5, 20, 0), "flash": draw.between(70, 140, 0)}
    return usual | {"window": draw.between(25, 50, 0), "fill": draw.between(15, 40, 0), "exposure": draw.between(0.9, 1.3, 2)}
