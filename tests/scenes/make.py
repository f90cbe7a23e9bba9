"""Make one scene: python -m tests.scenes.make SPEC OUT [--device gpu] [--preview] [--views front,right]

Writes front|right|back|left.jpg, spec.json, truth.json (rewritten after every view), folds.json and drape.npz into OUT.
Needs the dependency group `scenes` and Python 3.11. See README.md beside this file.
"""

import argparse
import json
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import bpy
import numpy as np

from . import photograph
from .camera import Camera
from .fold_truth import fold_truth
from .mesh import Floats, rotation
from .room import add_card, add_floor_sheet, add_room, add_toe_strips
from .scene import Draped, drape_scene
from .spec import VIEW_YAW_DEG, Device, Spec, Standing, View
from .stickers import place_stickers
from .subject import Subject
from .toe_strips import on_strips
from .truth import mm, scene_truth, sheet_truth, view_truth


def make(spec: Spec, out: Path, device: Device = "cpu", only: Sequence[View] = ()) -> None:
    """Drape, photograph and write one scene.

    Parameters
    ----------
    only : sequence of View
        These views alone; all four where it is empty.
    """
    out.mkdir(parents=True, exist_ok=True)
    (out / "spec.json").write_text(spec.model_dump_json(indent=1, by_alias=True, exclude_unset=True))
    begun = time.monotonic()
    bpy.ops.wm.read_factory_settings(use_empty=True)
    d = drape_scene(spec)
    truth: dict[str, Any] = scene_truth(spec, d) | {"views": {}, "seconds": {"drape": round(time.monotonic() - begun, 1)}}
    print(f"{spec.name}: draped in {truth['seconds']['drape']} s, moved by {truth['garment_moved_mm_p50_p95']} mm", flush=True)
    rng = np.random.default_rng(spec.seed)
    with tempfile.TemporaryDirectory() as work:
        folder = Path(work)
        subject = Subject(spec, d, folder)
        stickers = place_stickers(subject, spec, d, folder)
        truth["point_markers_mm"] = {name: mm(sticker.centre, 2) for name, sticker in stickers.items()}
        card = add_card(spec.card, folder, spec.print_share)
        sheets = [add_floor_sheet(sheet, folder, spec.print_share) for sheet in spec.floor_sheets]
        if spec.toe_strips is not None:
            add_toe_strips(spec.toe_strips, folder, spec.print_share)
        add_room(spec, folder)
        photograph.set_up(spec, device)
        for i, (view, yaw_deg) in enumerate(VIEW_YAW_DEG.items()):
            cam = Camera(spec.camera, rng)
            drawn_deg = round(float(rng.normal(0, 0.8)), 2)  # drawn for every view, so that the others stay as they are
            standing = spec.views.get(view, Standing())
            error_deg = drawn_deg if standing.yaw_err_deg is None else standing.yaw_err_deg
            if only and view not in only:
                continue
            begun = time.monotonic()
            turn, shift = _pose(d, view, yaw_deg + error_deg, standing)
            if spec.toe_strips is not None and standing.stand_m is None:
                shift = on_strips(d.v_subject, turn, view, spec.toe_strips, standing.off_strip_m, spec.print_share)
            lie = [sheet for sheet in sheets if view in sheet.views or not sheet.views]
            for sheet in sheets:
                bpy.data.objects[sheet.shape].hide_render = sheet not in lie
            subject.place(turn, shift)
            photo = photograph.take(spec, cam, spec.seed * 10 + i, folder)
            photograph.save_photo(out / f"{view}.jpg", photo, spec.camera)
            stood = {"yaw_nominal_deg": yaw_deg, "yaw_err_deg": error_deg, "lean_deg": list(standing.lean_deg)}
            truth["views"][view] = stood | view_truth(cam, turn, shift, d, stickers, card, photograph.line_of_sight)
            if sheets:
                truth["views"][view]["floor_sheets"] = [sheet_truth(cam, sheet) for sheet in lie]
            truth["seconds"][view] = round(time.monotonic() - begun, 1)
            _write(out / "truth.json", truth)
            print(f"{spec.name}: {view} in {truth['seconds'][view]} s", flush=True)
    draped, cut = ((1000 * cloth).astype(np.float32) for cloth in (d.x, d.rest))
    np.savez_compressed(out / "drape.npz", x=draped, rest=cut, T=d.tris.astype(np.uint16))
    _write(out / "folds.json", fold_truth({"x": d.x, "rest": d.rest, "T": d.tris, "vS": d.v_subject, "quads": d.quads}, truth))


def _pose(d: Draped, view: View, yaw_deg: float, standing: Standing) -> tuple[Floats, Floats]:
    """world = turn @ subject + shift: she turns about the axis between her underarm points; in side views she stands back so that her
    near side seam is at the depth of the card."""
    forward, right = standing.lean_deg
    turn = rotation("z", yaw_deg) @ rotation("x", forward) @ rotation("y", -right)
    axis = np.array([0, (d.lm["underarm_L"][1] + d.lm["underarm_R"][1]) / 2, 0])
    half_waist = (d.lm["waist_side_L"][0] - d.lm["waist_side_R"][0]) / 2
    back = half_waist + 0.01 if view in ("right", "left") else 0.0
    return turn, np.array([*(standing.stand_m or (0.0, back)), 0]) - turn @ axis


def _write(path: Path, content: dict[str, Any]) -> None:
    path.write_text(json.dumps(content, separators=(",", ":")))


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("spec", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--device", choices=("cpu", "gpu"), default="cpu")
    parser.add_argument("--preview", action="store_true", help="small and noisy: 600 x 800 pixels, 4 samples")
    parser.add_argument("--views", default="", help="only these, with commas between")
    options = parser.parse_args()
    spec = Spec.model_validate_json(options.spec.read_text())
    only: list[View] = [view for view in VIEW_YAW_DEG if view in options.views.split(",")]
    make(spec.as_preview() if options.preview else spec, options.out, options.device, only)


if __name__ == "__main__":
    main()
