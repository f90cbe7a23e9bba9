"""What makes one fitting look unlike another: cloth, pen, stickers, clothes beside the garment, what stands in the room.

Fields of spec.json; left out, everything is plain, as in scenes drawn without them. Lengths are millimetres unless the name says metres.
"""

from typing import Literal

from pydantic import BaseModel, ConfigDict

SIDE_M = 0.34  # of the stretch of a pattern that is repeated
Rgb = tuple[float, float, float]
ThingKind = Literal["shelf", "frame", "mirror", "doorway", "wardrobe", "chair", "plant", "curtain", "lamp", "poster"]
THINGS: tuple[ThingKind, ...] = ("shelf", "frame", "mirror", "doorway", "wardrobe", "chair", "plant", "curtain", "lamp", "poster")


class Part(BaseModel):
    """A part of a spec: no unknown fields, never changed."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Print(Part):
    """A pattern all over cloth or wall; `inks` are linear RGB, `strength` how far the ground is changed to them."""

    kind: Literal["tissue", "checks", "stripes", "flowers", "spots"]
    inks: tuple[Rgb, ...] = ((0.05, 0.08, 0.3),)
    repeats: int = 8  # in one stretch of 34 cm
    strength: float = 1.0


class Hand(Part):
    """How the seam lines are drawn: `shake` is the sd of the wander across the line, `gaps` the share left out.

    `pins_every`: pins across the lines, heads and all; 0: none.
    """

    shake: float = 0.0
    gaps: float = 0.0
    dash: float = 0.0
    pins_every: float = 0.0


class Stuck(Part):
    """How stickers lie: turned (those without an arrow; sd), and how high a crease across them and a peeling corner stand."""

    turn_sd_deg: float = 0.0
    crease: float = 0.0
    peel: float = 0.0
    share: float = 0.5  # of the stickers that are creased or peel


class Wears(Part):
    """What she wears besides the garment."""

    hair: Literal["bun", "down", "short"] = "bun"
    glasses: bool = False
    straps: bool = False
    necklace: bool = False
    belt: float = 0.0  # its width
    below: Literal["leggings", "skirt", "trousers"] = "leggings"
    below_rgb: Rgb = (0.1, 0.1, 0.15)


class Thing(Part):
    """One thing in the room, by the wall behind her; its details follow from the seed."""

    kind: ThingKind
    x_m: float
    seed: int = 0
