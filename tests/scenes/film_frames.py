"""Render what a film is composed of: python -m tests.scenes.film_frames SPEC OUT [--device gpu] [--preview]

Writes into OUT the four views as photos (front|right|back|left.jpg, each at the middle of its stand, swaying and breathing as she does
then), truth.json and folds.json as `make.py` does, the rendered moments of the film (keys/0000.jpg ..., clean: no lens blur, no noise) and
points.npz, from which `film.py` makes the film.
"""

import argparse
import json
import tempfile
import time
from pathlib import Path
from typing import Any

import bpy
import cv2
import numpy as np

from . import photograph
from .camera import Camera
from .fold_truth import fold_truth
from .mesh import Floats
from .motion import axis_m, breathed, draw_motion
from .room import add_card, add_floor_sheet, add_room
from .scene import drape_scene
from .spec import VIEW_YAW_DEG, Device, Spec
from .stickers import place_stickers
from .subject import Subject
from .truth import scene_truth, view_truth

QUALITY = 91  # of the rendered moments
PHOTO_SIZE = (1620, 2880)  # half as large again as a film in 1080p; phones' photos are larger still
TURN_SMALLER = 0.5  # what is blurred by motion needs no more


class _Breathing:
    """Moves the chest of all that she is and wears."""

    def __init__(self, subject: Subject, chest_z_m: float, axis_y_m: float) -> None:
        self._where = (chest_z_m, axis_y_m)
        self._meshes: list[tuple[Any, Floats]] = []
        for o in subject.objects:
            if np.allclose(o.matrix_basis, np.eye(4)):
                co = np.empty(3 * len(o.data.vertices), np.float32)
                o.data.vertices.foreach_get("co", co)
                self._meshes.append((o.data, co.reshape(-1, 3).astype(float)))

    def put(self, breath_m: float) -> None:
        for mesh, co in self._meshes:
            mesh.vertices.foreach_set("co", breathed(co, breath_m, *self._where).astype(np.float32).ravel())
            mesh.update()


def make_frames(spec: Spec, out: Path, device: Device = "cpu", photo_size: tuple[int, int] = PHOTO_SIZE) -> None:
    """Drape, render and write."""
    (out / "keys").mkdir(parents=True, exist_ok=True)
    (out / "spec.json").write_text(spec.model_dump_json(indent=1, by_alias=True, exclude_unset=True))
    bpy.ops.wm.read_factory_settings(use_empty=True)
    d, motion = drape_scene(spec), draw_motion(spec)
    truth: dict[str, Any] = scene_truth(spec, d) | {"views": {}, "seconds": {}}
    rng = np.random.default_rng(spec.seed)
    still = spec.camera.model_copy(update={"jitter": 0.0})
    turn_size = round(still.size[0] * TURN_SMALLER), round(still.size[1] * TURN_SMALLER)
    with tempfile.TemporaryDirectory() as work:
        folder = Path(work)
        subject = Subject(spec, d, folder)
        stickers = place_stickers(subject, spec, d, folder)
        card = add_card(spec.card, folder, spec.print_share)
        for sheet in spec.floor_sheets:
            add_floor_sheet(sheet, folder, spec.print_share)
        add_room(spec, folder)
        photograph.set_up(spec, device)
        bpy.context.scene.cycles.use_auto_tile = False  # one piece: tiles go by way of the disk
        bpy.context.scene.render.image_settings.compression = 0  # what is read again at once
        chest_z, axis_y = float(d.lm["bust_point_L"][2]), axis_m(d)
        breathing = _Breathing(subject, chest_z, axis_y)

        def posed(time_s: float) -> tuple[Floats, Floats]:
            breathing.put(motion.breath_m(time_s))
            turn, shift = motion.place(time_s, axis_y)
            subject.place(turn, shift)
            return turn, shift

        cam = Camera(still.model_copy(update={"size": photo_size}), rng)
        for i, stand in enumerate(motion.stands):
            begun = time.monotonic()
            turn, shift = posed((stand.start_s + stand.end_s) / 2)
            photo = photograph.take(spec, cam, spec.seed * 10 + i, folder)
            photograph.save_photo(out / f"{stand.view}.jpg", photo, still)
            stood = {"yaw_nominal_deg": VIEW_YAW_DEG[stand.view], "yaw_err_deg": spec.views[stand.view].yaw_err_deg}
            seen = view_truth(cam, turn, shift, d, stickers, card, photograph.line_of_sight)
            truth["views"][stand.view] = stood | seen | {"stands_s": [stand.start_s, stand.end_s]}
            truth["seconds"][stand.view] = round(time.monotonic() - begun, 1)
            print(f"{spec.name}: {stand.view} in {truth['seconds'][stand.view]} s", flush=True)
        begun, listed = time.monotonic(), []
        for i, key in enumerate(motion.moments()):
            posed(key.time_s)
            size = still.size if key.kind == "stand" else turn_size
            picture = photograph.through_lens(Camera(still.model_copy(update={"size": size}), rng), spec.seed * 10 + 10 + i, folder)
            cv2.imwrite(str(out / "keys" / f"{i:04d}.jpg"), np.clip(picture + 0.5, 0, 255), [cv2.IMWRITE_JPEG_QUALITY, QUALITY])
            listed.append({"time_s": key.time_s, "kind": key.kind})
        truth["seconds"]["film"] = round(time.monotonic() - begun, 1)
        print(f"{spec.name}: {len(listed)} moments in {truth['seconds']['film']} s", flush=True)
    points = (1e4 * np.concatenate([d.v_subject, d.x])).round().astype(np.int16)  # tenths of a millimetre
    np.savez_compressed(out / "points.npz", points=points)
    (out / "film.json").write_text(json.dumps({"keys": listed, "chest_z_m": chest_z, "axis_y_m": axis_y}))
    (out / "truth.json").write_text(json.dumps(truth, separators=(",", ":")))
    shapes = {"x": d.x, "rest": d.rest, "T": d.tris, "vS": d.v_subject, "quads": d.quads}
    (out / "folds.json").write_text(json.dumps(fold_truth(shapes, truth)))


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("spec", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--device", choices=("cpu", "gpu"), default="cpu")
    parser.add_argument("--preview", action="store_true", help="small and noisy")
    options = parser.parse_args()
    spec = Spec.model_validate_json(options.spec.read_text())
    if options.preview:
        size = spec.camera.size[0] // 4, spec.camera.size[1] // 4
        spec = spec.model_copy(update={"camera": spec.camera.model_copy(update={"size": size}), "samples": 4})
        make_frames(spec, options.out, photo_size=size)
    else:
        make_frames(spec, options.out, options.device)


if __name__ == "__main__":
    main()
