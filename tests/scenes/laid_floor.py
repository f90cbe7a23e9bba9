"""Floors laid of pieces, in Blender: planks of wood, tiles with their joints."""

from typing import Any, Literal

from .blender import material
from .spec import Rgb

PIECE_M = {"planks": (1.3, 0.16), "tiles": (0.33, 0.33)}  # length and breadth
JOINT_M = {"planks": 0.0015, "tiles": 0.005}
JOINT_RGB: dict[str, Rgb] = {"planks": (0.02, 0.015, 0.01), "tiles": (0.42, 0.40, 0.37)}
ROUGH = {"planks": 0.45, "tiles": 0.25}
UNLIKE = 0.25  # by how much of their colour pieces differ


def laid_floor(kind: Literal["planks", "tiles"], rgb: Rgb, across_m: float) -> Any:
    """The material of a floor that is `across_m` wide; planks run to image right, tiles are laid in rows."""
    m = material("floor", rgb, ROUGH[kind])
    tree = m.node_tree
    pieces = tree.nodes.new("ShaderNodeTexBrick")
    pieces.offset = 0.37 if kind == "planks" else 0.0
    length, breadth = (metres / across_m for metres in PIECE_M[kind])  # a box's own coordinates run over one unit
    shades = [tuple(min(1.0, c * factor) for c in rgb) for factor in (1 - UNLIKE, 1 + UNLIKE)]
    values = {
        "Color1": (*shades[0], 1),
        "Color2": (*shades[1], 1),
        "Mortar": (*JOINT_RGB[kind], 1),
        "Scale": 1.0,
        "Mortar Size": JOINT_M[kind] / across_m / 2,
        "Brick Width": length,
        "Row Height": breadth,
    }
    for name, value in values.items():
        pieces.inputs[name].default_value = value
    tree.links.new(tree.nodes.new("ShaderNodeTexCoord").outputs["Object"], pieces.inputs["Vector"])
    tree.links.new(pieces.outputs["Color"], tree.nodes["Principled BSDF"].inputs["Base Color"])
    return m
