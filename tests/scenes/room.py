"""The room in Blender: walls, floor, lights, and the scale card on its stand. World frame (see camera.py), metres."""

import math
from pathlib import Path

import bpy
import numpy as np
from mathutils import Vector

from . import prints, toe_strips
from .blender import box, material, mesh_object, picture_material
from .laid_floor import laid_floor
from .lying_sheet import lying
from .mesh import Floats, rotation
from .placed import Card, FloorSheet
from .spec import VIEW_YAW_DEG, CardSpec, FloorSheetSpec, Rgb, Spec, ToeStrips
from .various import things

SHEET_CELLS = (33, 21)  # of a lying sheet's mesh, so that it can curl
FLOOR_M = (8.0, 8.0, 0.1)
CUPBOARD_M = 0.4  # wide and deep
FRAME, FRAME_BEHIND_M = (0.25, 0.05, 2.1), 0.012  # of a door: breadth, depth and height; how far behind a card's middle
CARPET_BUMP = (900.0, 0.004)  # of a pile: scale and height


def add_card(spec: CardSpec, folder: Path, share: float) -> Card | None:
    """The card on its stand, the door frame or the wall, of that size; its picture is written into `folder`. None where there is none."""
    if spec.held == "nothing":
        return None
    picture = folder / "card.png"
    marks = prints.card(picture)
    width, height = prints.CARD_WIDTH, prints.CARD_HEIGHT
    turn = rotation("z", spec.yaw_deg) @ rotation("x", spec.tilt_deg) @ rotation("y", spec.roll_deg)
    centre = np.array(spec.pos_m)

    def put(on_sheet_mm: Floats) -> Floats:
        x, y = on_sheet_mm.T
        return np.asarray(centre + share * np.stack([x - width / 2, np.zeros(len(x)), height / 2 - y], 1) / 1000 @ turn.T)

    sheet = put(np.array([[0, 0], [width, 0], [width, height], [0, height]]))
    normal = turn @ [0, -1.0, 0]
    uv = np.array([[0, 1.0], [1, 1], [1, 0], [0, 0]])
    mesh_object("card", sheet, [(3, 2, 1, 0)], [picture_material("card", picture)], smooth=False, uv=uv)
    board = np.concatenate([sheet - normal * 0.001, sheet - normal * 0.004])
    sides = [(0, 1, 2, 3), (7, 6, 5, 4), (0, 4, 5, 1), (1, 5, 6, 2), (2, 6, 7, 3), (3, 7, 4, 0)]
    mesh_object("board", board, sides, [material("board", (0.7, 0.7, 0.68), 0.7)], smooth=False)
    if spec.held == "stand":
        _add_stand(spec, centre - normal * 0.016)
    if spec.held == "frame":
        x, y = spec.pos_m[:2]
        box("door_frame", (x, y + FRAME_BEHIND_M + FRAME[1] / 2, FRAME[2] / 2), FRAME, material("door_frame", (0.6, 0.57, 0.5), 0.5))
    corners = {number: put(square) for number, square in marks.items()}
    return Card(corners, centre, normal, math.degrees(math.asin(abs(normal[2]))))


def _add_stand(spec: CardSpec, behind: Floats) -> None:
    stand = material("stand", (0.45, 0.45, 0.46), 0.4, 0.5)
    x, y, z = (float(q) for q in behind)
    if spec.stand == "pole":
        box("pole", (x, y, z / 2), (0.016, 0.016, z), stand)
        box("foot", (x, y, 0.01), (0.26, 0.20, 0.016), stand, spec.yaw_deg)
    else:
        things.card_stand(spec, behind, stand)


def add_floor_sheet(spec: FloorSheetSpec, folder: Path, share: float) -> FloorSheet:
    """A sheet lying on the floor, by a printer that prints `share` times too large; its picture is written into `folder`."""
    picture = folder / f"floor_{spec.which}.png"
    squares = prints.floor_sheet(picture, spec.which)
    across, down = SHEET_CELLS
    u, v = (part.ravel() for part in np.meshgrid(np.linspace(0, 1, across + 1), np.linspace(0, 1, down + 1)))
    first = np.arange(down)[:, None] * (across + 1) + np.arange(across)
    faces = np.stack([first, first + across + 1, first + across + 2, first + 1], -1).reshape(-1, 4)
    sheet = lying(spec, np.stack([u * prints.FLOOR_WIDTH, v * prints.FLOOR_HEIGHT], 1), share)
    uv = np.stack([u, 1 - v], 1)
    shape = mesh_object(f"floor_{spec.which}", sheet, faces, [picture_material(f"floor_{spec.which}", picture)], uv=uv)
    corners = {number: lying(spec, square, share) for number, square in squares.items()}
    return FloorSheet(spec.which, shape.name, spec.views, corners, np.concatenate(list(corners.values())).mean(axis=0))


def add_toe_strips(strips: ToeStrips, folder: Path, share: float) -> None:
    """The four toe strips, taped down; their pictures are written into `folder`."""
    for view in VIEW_YAW_DEG:
        path = folder / f"strip_{view}.png"
        toe_strips.picture(path, view)
        uv = np.array(
            [[toe_strips.BREADTH_MM / 2 / toe_strips.LENGTH_MM, 1], [toe_strips.BREADTH_MM / 2 / toe_strips.LENGTH_MM, 0], [1, 0], [1, 1]]
        )
        paper = picture_material(f"strip_{view}", path)
        mesh_object(f"strip_{view}", toe_strips.corners(strips, view, share), [(0, 1, 2, 3)], [paper], smooth=False, uv=uv)


def add_room(spec: Spec, folder: Path) -> None:
    """Walls, floor, ceiling, a window at one side and a lamp; all that stands there. Pictures are written into `folder`."""
    things.furnish(spec, folder)
    colours, light, wall_y = spec.colours, spec.light, spec.room.wall_y_m
    white = material("white", (0.78, 0.78, 0.76), 0.7)
    box("wall", (0, wall_y + 0.05, 1.5), (7, 0.1, 3.2), material("wall", colours.wall, 0.9))
    box("skirting", (0, wall_y - 0.008, 0.05), (7, 0.016, 0.10), white)
    carpet = material("floor", colours.floor, 0.95, 0.05, bump=CARPET_BUMP, vary=0.35) if spec.room.carpet else None
    boards = carpet or material("floor", colours.floor, 0.45, bump=(30, 0.001), stretch=spec.room.floor_grain, vary=0.25)
    if spec.room.laid != "boards" and not spec.room.carpet:
        boards = laid_floor(spec.room.laid, colours.floor, FLOOR_M[0])
    box("floor", (0, -2, -0.05), FLOOR_M, boards)
    if spec.room.cupboard is not None:
        x, y, high = spec.room.cupboard
        box("cupboard", (x, y, high / 2), (CUPBOARD_M, CUPBOARD_M, high), material("cupboard", (0.35, 0.27, 0.2), 0.5))
    box("ceiling", (0, -2, 2.75), (8, 8, 0.1), white)
    sign = -1 if light.from_side == "left" else 1
    box("side_wall", (-sign * 3.1, -2, 1.3), (0.1, 8, 3), material("side_wall", colours.side_wall, 0.9))
    _area("window", (sign * 2.2, light.y_m, 1.75), (0, -0.1, 1.2), (1.3, 1.6), light.window, light.rgb)
    if light.flash:
        _flash(spec)
    _area("lamp", (-sign * 0.8, -2.6, 2.55), (-sign * 0.4, -1.6, 0), (2, 2), light.fill, light.fill_rgb)
    world = bpy.data.worlds.new("world")
    bpy.context.scene.world, world.use_nodes = world, True
    colour, strength = world.node_tree.nodes["Background"].inputs[:2]
    colour.default_value, strength.default_value = (0.8, 0.85, 1, 1), light.ambient
    world.light_settings.distance = 1.5


def _flash(spec: Spec) -> None:
    """The phone's own lamp, 2 cm beside its lens."""
    data = bpy.data.lights.new("flash", "POINT")
    data.energy, data.shadow_soft_size = spec.light.flash, 0.004
    lamp = bpy.data.objects.new("flash", data)
    lamp.location = (spec.camera.x_m + 0.02, -spec.camera.distance_m + 0.01, spec.camera.height_m + 0.01)
    bpy.context.scene.collection.objects.link(lamp)


Point = tuple[float, float, float]


def _area(name: str, position: Point, aim: Point, size: tuple[float, float], energy: float, rgb: Rgb) -> None:
    data = bpy.data.lights.new(name, "AREA")
    data.shape, (data.size, data.size_y), data.energy, data.color = "RECTANGLE", size, energy, rgb
    lamp = bpy.data.objects.new(name, data)
    lamp.location = position
    lamp.rotation_euler = (Vector(aim) - Vector(position)).to_track_quat("-Z", "Y").to_euler()
    bpy.context.scene.collection.objects.link(lamp)
