"""Taking the picture: Cycles, then lens, blur and noise as a phone has them; and the JPEG with the EXIF a phone would write."""

from functools import lru_cache
from pathlib import Path

import bpy
import cv2
import numpy as np
from mathutils import Matrix, Vector
from numpy.typing import NDArray
from PIL import Image

from .camera import Camera
from .mesh import Floats
from .spec import CameraSpec, Device, Spec

LEAST_MARGIN = 1.05  # rendered larger than the photo, so that the lens may bend its edges inwards
MAKE, MODEL, ORIENTATION, EXIF_IFD = 271, 272, 274, 0x8769  # EXIF 2.32 tags
FOCAL_LENGTH, FOCAL_35MM, DATE, WIDTH, HEIGHT = 37386, 41989, 36867, 40962, 40963
Picture = NDArray[np.uint8]


def choose_device(device: Device) -> None:
    """Let Cycles render on the CPU, or on every GPU that the machine offers.

    Raises
    ------
    RuntimeError
        If a GPU is asked for and there is none.
    """
    cycles = bpy.context.scene.cycles
    cycles.device = device.upper()
    if device == "cpu":
        return
    cycles.denoising_use_gpu = True
    preferences = bpy.context.preferences.addons["cycles"].preferences
    for kind in [name for name, *_ in preferences.get_device_types(bpy.context) if name != "NONE"]:
        preferences.compute_device_type = kind
        preferences.get_devices()
        found = [d for d in preferences.devices if d.type == kind]
        if found:
            for d in preferences.devices:
                d.use = d in found
            return
    raise RuntimeError("no GPU that Cycles can use; leave out --device gpu")


def set_up(spec: Spec, device: Device) -> None:
    """Everything of the renderer that does not change from view to view."""
    scene = bpy.context.scene
    scene.render.engine = "CYCLES"
    choose_device(device)
    settings = {
        "samples": spec.samples,
        "use_adaptive_sampling": True,
        "adaptive_threshold": 0.06,
        "adaptive_min_samples": 6,
        "use_denoising": True,
        "denoiser": "OPENIMAGEDENOISE",
        "filter_width": 1.1,
        "max_bounces": 4,
        "diffuse_bounces": 2,
        "glossy_bounces": 1,
        "transmission_bounces": 1,
        "use_fast_gi": True,
        "fast_gi_method": "REPLACE",
        "ao_bounces_render": 1,
        "caustics_reflective": False,
        "caustics_refractive": False,
    }
    for name, value in settings.items():
        setattr(scene.cycles, name, value)
    scene.render.use_persistent_data = True
    scene.view_settings.view_transform, scene.view_settings.look = "AgX", "AgX - Medium High Contrast"
    scene.view_settings.exposure = spec.light.exposure
    scene.render.image_settings.file_format = "PNG"


def take(spec: Spec, cam: Camera, seed: int, folder: Path) -> Picture:
    """The photo as BGR (H, W, 3); the raw picture is written into `folder`."""
    image = cv2.GaussianBlur(through_lens(cam, seed, folder), (0, 0), spec.blur_px)
    rng = np.random.default_rng(seed)
    image += rng.normal(0, 1, image.shape) * (spec.noise * np.sqrt(0.35 + image / 255))
    image += cv2.GaussianBlur(rng.normal(0, 1, image.shape).astype(np.float32), (0, 0), 1.1) * spec.noise * 1.2
    return np.asarray(np.clip(image + 0.5, 0, 255), np.uint8)


def through_lens(cam: Camera, seed: int, folder: Path) -> NDArray[np.float32]:
    """What the lens shows, without blur or noise, as BGR (H, W, 3), 0..255; the raw picture is written into `folder`."""
    raw, into_raw = _render(cam, seed, folder / "raw.png")
    lens = (tuple(matrix.ravel().tolist()) for matrix in (cam.matrix, cam.dist, into_raw))
    source = _bent(cam.size, *lens)
    return np.asarray(cv2.remap(raw, source[..., 0], source[..., 1], cv2.INTER_CUBIC), np.float32)


@lru_cache(maxsize=3)
def _bent(size: tuple[int, int], matrix: tuple[float, ...], dist: tuple[float, ...], into_raw: tuple[float, ...]) -> NDArray[np.float32]:
    """Where the lens bends each pixel of a photo from in the undistorted picture, (H, W, 2); kept, as a film is taken through one lens."""
    width, height = size
    u, v = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    pinhole, other = (np.reshape(numbers, (3, 3)) for numbers in (matrix, into_raw))
    source = cv2.undistortPoints(np.stack([u, v], -1).reshape(-1, 1, 2), pinhole, np.array(dist), P=other)
    return np.asarray(source.reshape(height, width, 2), np.float32)


def _render(cam: Camera, seed: int, path: Path) -> tuple[Picture, Floats]:
    """The undistorted picture with its margin, and its intrinsics (3, 3)."""
    scene, (width, height) = bpy.context.scene, cam.size
    margin = _margin(cam)
    wide, high = int(width * margin), int(height * margin)
    ideal = cam.matrix + [[0, 0, (wide - width) / 2], [0, 0, (high - height) / 2], [0, 0, 0]]
    data = bpy.data.cameras.new("camera")
    data.sensor_fit, data.sensor_width, data.lens, data.clip_start = "HORIZONTAL", 36, ideal[0, 0] * 36 / wide, 0.05
    px, py = ideal[0, 2] + 0.5, ideal[1, 2] + 0.5  # Blender counts from the pixels' edges
    data.shift_x, data.shift_y = (wide / 2 - px) / wide, (py - high / 2) / wide
    o = bpy.data.objects.new("camera", data)
    scene.collection.objects.link(o)
    pose = np.eye(4)
    pose[:3, :3], pose[:3, 3] = cam.rotation.T @ np.diag([1, -1, -1]), cam.position
    o.matrix_world = Matrix(pose.tolist())
    scene.camera = o
    scene.cycles.seed = seed % 1000
    scene.render.resolution_x, scene.render.resolution_y = wide, high
    scene.render.filepath = str(path.resolve())
    bpy.ops.render.render(write_still=True)
    return np.asarray(Image.open(path).convert("RGB"))[..., ::-1], ideal


def _margin(cam: Camera) -> float:
    """By how much the undistorted picture must be larger, so that it fills the photo."""
    width, height = cam.size
    corners = np.array([[0, 0], [width, 0], [0, height], [width, height], [0, height / 2], [width, height / 2]], np.float32)
    straight = cv2.undistortPoints(corners.reshape(-1, 1, 2), cam.matrix, cam.dist, P=cam.matrix).reshape(-1, 2)
    outwards = np.abs(straight - [width / 2, height / 2]) / [width / 2, height / 2]
    return max(LEAST_MARGIN, float(outwards.max()) + 0.02)


def line_of_sight(cam: Camera, points: Floats, tolerance: float) -> list[bool]:
    """For each world point (n, 3), whether nothing lies between camera and point, ignoring the last `tolerance` metres."""
    graph, out = bpy.context.evaluated_depsgraph_get(), []
    for p in points.reshape(-1, 3):
        way = p - cam.position
        far = float(np.linalg.norm(way))
        hit = bpy.context.scene.ray_cast(graph, Vector(cam.position), Vector(way / far), distance=far - tolerance)
        out.append(not hit[0])
    return out


def save_photo(path: Path, bgr: Picture, camera: CameraSpec) -> None:
    """JPEG, upright, with the 35 mm equivalent focal length in whole mm as phones write it."""
    image = Image.fromarray(bgr[..., ::-1].copy())
    exif = image.getexif()
    exif[MAKE], exif[MODEL], exif[ORIENTATION] = "Scene Maker", "Scene Maker", 1
    more = exif.get_ifd(EXIF_IFD)
    more[FOCAL_35MM], more[FOCAL_LENGTH], more[DATE] = round(camera.f35_mm), round(camera.f35_mm / 6.0, 2), "2026:05:01 10:00:00"
    more[WIDTH], more[HEIGHT] = image.size
    image.save(path, quality=camera.jpeg, exif=exif)
