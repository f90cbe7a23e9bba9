"""What the network sees and what it should say, stored: views of rendered fittings, and drawn cloth in the same form.

A stored picture is `told` (4, H, W), what `vision.folds.fold_maps.network_input` makes of the garment; `away` (4, H, W), the distances
from crests, low crests, hollows and low hollows (`distances.stored`); `height` (H, W), the relative height of the cloth in steps of
1 / HEIGHT_STEPS mm; and `bust` (2, 3), pixels of her left and right bust point, and 1 where it may be learnt from: where it is seen, and
no sticker in the picture tells where it is.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fitcheck.photo.card.scale import scales_from_cards
from fitcheck.photo.load import find_views, load_photo
from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.folds.bare_cloth import BareCloth, bare_cloth, inward_mm
from fitcheck.vision.folds.fold_maps import network_input
from fitcheck.vision.lines.seams import find_seams
from fitcheck.vision.person.pose import find_people
from fitcheck.vision.stickers.find_stickers import find_point_markers
from models.folds.distances import away_px, stored
from models.folds.drawn_cloth import drawn_cloth
from tests.scenes.fold_truth import relative_height
from tests.scenes.read_truth import height_picture, stretches

SHAPE = (384, 288)
HEIGHT_STEPS = 8.0
CARD_MM = 100.0  # of the scale card in the scenes
Arrays = dict[str, NDArray[Any]]


def of_scene(scene: Path) -> Iterator[Arrays]:
    """Every view of a scene folder as `fitcheck.vision.folds.bare_cloth` sees it in the photo, stickers, lines and all."""
    truth, folds = (json.loads((scene / name).read_text())["views"] for name in ("truth.json", "folds.json"))
    drape = np.load(scene / "drape.npz")
    vertices, triangles = drape["x"].astype(float), drape["T"].astype(int)
    height = relative_height(vertices, triangles, drape["rest"].astype(float))
    photos = [load_photo(file, view) for view, file in find_views(scene).items()]
    for photo, scale in zip(photos, scales_from_cards(photos, CARD_MM), strict=True):
        pose = find_people(photo)
        if pose is None or scale is None:
            continue
        stickers, cloth = find_point_markers(photo, pose=pose), find_cloth(photo.rgb, pose)
        bare = bare_cloth(photo, cloth, stickers, find_seams(photo, pose, stickers, scale.mm_per_px, cloth), scale.mm_per_px)
        if not bare.shows.any():
            continue
        size = bare.hangs.shape

        def to_here(px: NDArray[Any], bare: BareCloth = bare) -> NDArray[Any]:
            return np.asarray((px - bare.origin_px + 0.5) * bare.zoom - 0.5)

        seen = stretches(folds.get(photo.view, []))
        kinds = [(kind, clear) for kind in ("ridge", "valley") for clear in (True, False)]
        away = [away_px([to_here(part.px) for part in seen if (part.kind, part.clear) == kind], size) for kind in kinds]
        up = height_picture(truth[photo.view], vertices, triangles, height, to_here, size)
        at = [truth[photo.view]["landmarks"][f"bust_point_{side}"] for side in "LR"]
        bust = np.array([[*to_here(np.array(point["px"])), point["visible"] and not stickers] for point in at], float)
        yield _row(network_input(bare)[:, : size[0], : size[1]], np.stack(away), up, bust)


def of_drawn(rng: np.random.Generator, outlines: NDArray[Any]) -> Arrays:
    """Drawn cloth in the place of a photographed garment, one in three times all over the picture.

    Parameters
    ----------
    outlines : ndarray, shape (N, 4, *SHAPE)
        `told` of stored views, whose garments and bare cloth are taken.
    """
    hangs = shows = np.ones(SHAPE, bool)
    if rng.random() > 1 / 3:
        like = outlines[rng.integers(len(outlines))]
        hangs, shows = like[1] > 0, like[2] > 0
    columns = np.flatnonzero(hangs.any(axis=0))
    drawn = drawn_cloth(rng, SHAPE, (int(columns[0]), int(columns[-1])))
    cloth = BareCloth(drawn.brightness * hangs, hangs, shows, inward_mm(hangs), np.zeros(2), np.ones(2))
    return _row(network_input(cloth), drawn.away_px, drawn.height_mm * hangs, np.zeros((2, 3)))


def _row(told: NDArray[Any], away: NDArray[Any], height_mm: NDArray[Any], bust: NDArray[Any]) -> Arrays:
    return {
        "told": _fit_in(told.astype(np.float16), 0),
        "away": _fit_in(stored(away), 255),
        "height": _fit_in(np.clip(height_mm * HEIGHT_STEPS, -127, 127).astype(np.int8), 0),
        "bust": bust.astype(np.float32),
    }


def _fit_in(picture: NDArray[Any], beyond: int) -> NDArray[Any]:
    out = np.full((*picture.shape[:-2], *SHAPE), beyond, picture.dtype)
    rows, cols = min(picture.shape[-2], SHAPE[0]), min(picture.shape[-1], SHAPE[1])
    out[..., :rows, :cols] = picture[..., :rows, :cols]
    return out
