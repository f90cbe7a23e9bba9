"""Materials and simple objects in Blender. Metres."""

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import bpy
import numpy as np

from .mesh import Floats, Ints
from .spec import Rgb


def material(
    name: str,
    rgb: Rgb,
    rough: float = 0.6,
    spec: float = 0.3,
    bump: tuple[float, float] | None = None,
    stretch: tuple[float, float, float] = (1.0, 1.0, 1.0),
    translucent: float = 0.0,
    vary: float = 0.0,
) -> Any:
    """A principled material.

    Parameters
    ----------
    bump : tuple
        Scale of the noise and its height (m), stretched along the axes by `stretch`.
    translucent : float
        Share of light that comes through.
    vary : float
        Relative variation of the colour.
    """
    m = bpy.data.materials.new(name)
    m.use_nodes = True
    tree = m.node_tree
    shader, new, link = tree.nodes["Principled BSDF"], tree.nodes.new, tree.links.new
    for field, value in (("Base Color", (*rgb, 1)), ("Roughness", rough), ("Specular IOR Level", spec)):
        shader.inputs[field].default_value = value
    place = new("ShaderNodeTexCoord").outputs["Object"]
    if vary:
        noise, ramp = new("ShaderNodeTexNoise"), new("ShaderNodeValToRGB")
        noise.inputs["Scale"].default_value, noise.inputs["Detail"].default_value = 14, 3
        link(place, noise.inputs["Vector"])
        for element, position, factor in zip(ramp.color_ramp.elements, (0.3, 0.7), (1 - vary, 1 + vary), strict=True):
            element.position, element.color = position, (*(min(1, c * factor) for c in rgb), 1)
        link(noise.outputs["Fac"], ramp.inputs["Fac"])
        link(ramp.outputs["Color"], shader.inputs["Base Color"])
    if bump:
        noise, relief, mapping = new("ShaderNodeTexNoise"), new("ShaderNodeBump"), new("ShaderNodeMapping")
        noise.inputs["Scale"].default_value, noise.inputs["Detail"].default_value = bump[0], 2
        mapping.inputs["Scale"].default_value = stretch
        link(place, mapping.inputs["Vector"])
        link(mapping.outputs["Vector"], noise.inputs["Vector"])
        relief.inputs["Strength"].default_value, relief.inputs["Distance"].default_value = 0.6, bump[1]
        link(noise.outputs["Fac"], relief.inputs["Height"])
        link(relief.outputs["Normal"], shader.inputs["Normal"])
    if translucent:
        through, mix = new("ShaderNodeBsdfTranslucent"), new("ShaderNodeMixShader")
        through.inputs["Color"].default_value = (*rgb, 1)
        mix.inputs[0].default_value = translucent
        link(shader.outputs[0], mix.inputs[1])
        link(through.outputs[0], mix.inputs[2])
        link(mix.outputs[0], tree.nodes["Material Output"].inputs["Surface"])
    return m


def picture_material(name: str, path: Path) -> Any:
    """A matt print of a picture file."""
    m = material(name, (1.0, 1.0, 1.0), 0.85, 0.1)
    texture = m.node_tree.nodes.new("ShaderNodeTexImage")
    texture.image, texture.interpolation, texture.extension = bpy.data.images.load(str(path.resolve())), "Linear", "EXTEND"
    m.node_tree.links.new(texture.outputs["Color"], m.node_tree.nodes["Principled BSDF"].inputs["Base Color"])
    return m


def picture_on(m: Any, path: Path) -> None:
    """The picture repeated all over a material instead of its colour, and in the light that comes through."""
    texture = m.node_tree.nodes.new("ShaderNodeTexImage")
    texture.image, texture.extension = bpy.data.images.load(str(path.resolve())), "REPEAT"
    for node in m.node_tree.nodes:
        for field in ("Base Color", "Color"):
            if node.type in ("BSDF_PRINCIPLED", "BSDF_TRANSLUCENT") and field in node.inputs:
                m.node_tree.links.new(texture.outputs["Color"], node.inputs[field])


def mesh_object(
    name: str,
    v: Floats,
    faces: Ints | Sequence[tuple[int, ...]],
    materials: Sequence[Any],
    smooth: bool = True,
    subdivide: int = 0,
    uv: Floats | None = None,
) -> Any:
    """An object of vertices (n, 3) and faces; `uv`, (n, 2) or of each face's corners (m, k, 2), places a picture on it."""
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(v.tolist(), [], np.asarray(faces).tolist())
    if uv is not None:
        layer = mesh.uv_layers.new(name="uv")
        corners = uv.reshape(-1, 2) if uv.ndim == 3 else uv[[loop.vertex_index for loop in mesh.loops]]
        layer.data.foreach_set("uv", corners.astype(np.float32).ravel())
    mesh.update()
    mesh.polygons.foreach_set("use_smooth", [smooth] * len(mesh.polygons))
    for m in materials:
        mesh.materials.append(m)
    o = bpy.data.objects.new(name, mesh)
    bpy.context.scene.collection.objects.link(o)
    if subdivide:
        modifier = o.modifiers.new("subdivide", "SUBSURF")
        modifier.levels = modifier.render_levels = subdivide
    return o


def box(name: str, centre: tuple[float, float, float], size: tuple[float, float, float], mat: Any, turn_deg: float = 0.0) -> None:
    """A box, turned about the vertical."""
    bpy.ops.mesh.primitive_cube_add(size=1, location=centre)
    o = bpy.context.object
    o.name, o.scale = name, size
    o.rotation_euler = (0, 0, math.radians(turn_deg))
    o.data.materials.append(mat)


def ribbon(name: str, p: Floats, normals: Floats, width: float, lift: float, mat: Any) -> Any:
    """A thin strip along the polyline p (n, 3), raised by `lift` along its normals."""
    along = np.gradient(p, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True) + 1e-9
    across = np.cross(along, normals)
    across *= width / 2 / (np.linalg.norm(across, axis=1, keepdims=True) + 1e-9)
    v = np.concatenate([p + normals * lift - across, p + normals * (lift * 1.15), p + normals * lift + across])
    n, i = len(p), np.arange(len(p) - 1)
    strips = [np.stack([k + i, k + i + 1, k + n + i + 1, k + n + i], 1) for k in (0, n)]
    return mesh_object(name, v, np.concatenate(strips), [mat])
