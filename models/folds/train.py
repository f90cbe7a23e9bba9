"""Learn to read folds from rendered fittings whose draped cloth is known, and from drawn cloth.

    python -m models.folds.train views VIEWS.npz SCENE ...                 # scene folders of tests/scenes.make; a second each
    python -m models.folds.train fit VIEWS.npz WEIGHTS.pt --seconds 5400   # goes on from WEIGHTS.pt if it is there
    python -m models.folds.train export WEIGHTS.pt                         # writes folds.onnx, prints its sha256 for card.toml

From the repository's root; the last two need the dependency group `scenes` (torch) and onnx. A random spec for a scene comes from
`python -m tests.scenes.specs`. Every view is taken as `fitcheck.vision.bare_cloth` sees it in the photo, stickers, lines and all; its
truth are the crest and hollow lines of folds.json and the relative height of the cloth (tests/scenes/fold_truth.py). Lines lower than 3
mm or shorter than 60 mm count neither way.
"""

import argparse
import copy
import hashlib
import json
import time
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.photo.load import find_views, load_photo
from fitcheck.photo.scale import scales_from_cards
from fitcheck.vision.bare_cloth import BareCloth, bare_cloth, inward_mm
from fitcheck.vision.cloth import find_cloth
from fitcheck.vision.fold_maps import network_input
from fitcheck.vision.markers import find_point_markers
from fitcheck.vision.pose import find_people
from fitcheck.vision.seams import find_seams
from models.folds.drawn_cloth import drawn_cloth
from tests.benchmarks.scene_truth import in_view, true_lines
from tests.scenes.fold_truth import relative_height

HERE = Path(__file__).parent
SHAPE = (384, 288)  # of the stored views
WINDOW = (256, 192)  # of what the network sees at a time
BATCH, DRAWN = 24, 8
LINE_SIGMA = 1.5  # pixels: how a line's target falls to both sides
HEIGHT_UNIT, HEIGHT_STEPS = 3.0, 8.0  # mm; stored steps per mm
Arrays = dict[str, NDArray[Any]]


# ---------------------------------------------------------------- views


def views(out: Path, scenes: list[Path]) -> None:
    """Store what the network sees of every view and what it should say."""
    rows: list[Arrays] = []
    for scene in scenes:
        truth, folds = (json.loads((scene / name).read_text())["views"] for name in ("truth.json", "folds.json"))
        drape = np.load(scene / "drape.npz")
        height = relative_height(drape["x"].astype(float), drape["T"].astype(int), drape["rest"].astype(float))
        photos = [load_photo(file, view) for view, file in find_views(scene).items()]
        for photo, scale in zip(photos, scales_from_cards(photos, 100.0), strict=True):
            pose = find_people(photo)
            if pose is None or scale is None:
                continue
            stickers, cloth = find_point_markers(photo, pose=pose), find_cloth(photo.rgb, pose)
            bare = bare_cloth(photo, cloth, stickers, find_seams(photo, pose, stickers, scale.mm_per_px, cloth), scale.mm_per_px)
            size = bare.hangs.shape

            def to_here(px: NDArray[Any], bare: Any = bare) -> NDArray[Any]:
                return np.asarray((px - bare.origin_px + 0.5) * bare.zoom - 0.5)

            told = network_input(bare)[:, : size[0], : size[1]]
            lines = _line_masks(folds.get(photo.view, []), to_here, size)
            up = _height_map(truth[photo.view], drape["x"].astype(float), drape["T"].astype(int), height, to_here, size)
            rows.append({"told": _fit_in(told), "lines": _fit_in(lines), "height": _fit_in(np.clip(up * HEIGHT_STEPS, -127, 127))})
        print(scene.name, flush=True)
    kinds = {"told": np.float16, "lines": bool, "height": np.int8}
    np.savez_compressed(out, **{key: np.stack([row[key] for row in rows]).astype(kind) for key, kind in kinds.items()})


def _fit_in(picture: NDArray[Any]) -> NDArray[Any]:
    out = np.zeros((*picture.shape[:-2], *SHAPE), picture.dtype)
    rows, cols = min(picture.shape[-2], SHAPE[0]), min(picture.shape[-1], SHAPE[1])
    out[..., :rows, :cols] = picture[..., :rows, :cols]
    return out


def _line_masks(folds: list[dict[str, Any]], to_here: Any, shape: tuple[int, int]) -> NDArray[np.bool_]:
    """Crests, low crests, hollows and low hollows, as far as they are seen from within 60 degrees."""
    masks = np.zeros((4, *shape), np.uint8)
    for low, lines in enumerate(true_lines(folds)):
        for kind, px in lines:
            mask = masks[(0 if kind == "ridge" else 2) + low]
            cv2.polylines(mask, [np.round(to_here(px) * 16).astype(np.int32)], False, 1, 1, shift=4)
    return masks > 0


def _height_map(
    view: dict[str, Any], x: NDArray[Any], triangles: NDArray[Any], height: NDArray[Any], to_here: Any, shape: tuple[int, int]
) -> NDArray[np.float32]:
    """Relative height of the cloth that is seen, far triangles painted first."""
    px, seen = in_view(x, view)
    here = np.round(to_here(px) * 16).astype(np.int32)
    picture = np.zeros(shape, np.float32)
    for i in np.argsort(-seen[triangles].mean(1)[:, 2]):
        cv2.fillConvexPoly(picture, here[triangles[i]], float(height[triangles[i]].mean()), shift=4)
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), 1.2), np.float32)


# ---------------------------------------------------------------- fit


class Windows:
    """Random windows of the stored views, a share of them with drawn cloth in place of the photographed."""

    def __init__(self, file: Path, seed: int) -> None:
        with np.load(file) as stored:
            self.told, self.lines, self.height = stored["told"], stored["lines"], stored["height"]
        self.rng = np.random.default_rng(seed)
        self.order: list[int] = []

    def batch(self) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
        """Inputs (N, 4, H, W), line masks (N, 4, H, W) and heights in mm (N, H, W)."""
        while len(self.order) < BATCH:
            self.order += self.rng.permutation(len(self.told)).tolist()
        picked = [self._window(self.order.pop()) for _ in range(BATCH)]
        for k in range(DRAWN):
            picked[k] = self._drawn(picked[k][0] if k % 2 else None)
        told, lines, height = (np.stack(part) for part in zip(*picked, strict=True))
        return told, lines, height

    def _window(self, i: int) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
        rows, cols = np.nonzero(self.told[i, 1])
        at = [self._start(int(p.min()), int(p.max()), size) for p, size in zip((rows, cols), WINDOW, strict=True)]
        pads = [(max(0, -a), max(0, a + size - whole)) for a, size, whole in zip(at, WINDOW, SHAPE, strict=True)]

        def cut(picture: NDArray[Any]) -> NDArray[Any]:
            wide = np.pad(picture, [(0, 0)] * (picture.ndim - 2) + pads)
            y, x = at[0] + pads[0][0], at[1] + pads[1][0]
            return wide[..., y : y + WINDOW[0], x : x + WINDOW[1]]

        return cut(self.told[i]).astype(np.float32), cut(self.lines[i]), cut(self.height[i]).astype(np.float32) / HEIGHT_STEPS

    def _start(self, first: int, last: int, size: int) -> int:
        """The garment whole if it fits, else any part of it."""
        low, high = (last - size - 8, first + 8) if last - first < size else (first - 12, last - size + 12)
        return int(self.rng.integers(min(low, high), max(low, high) + 1))

    def _drawn(self, like: NDArray[Any] | None) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
        """Drawn cloth in the place of a photographed garment, or all over the window."""
        hangs, shows = (np.ones(WINDOW, bool),) * 2 if like is None or like[1].sum() < 2000 else (like[1] > 0, like[2] > 0)
        columns = np.flatnonzero(hangs.any(axis=0))
        drawn = drawn_cloth(self.rng, WINDOW, (int(columns[0]), int(columns[-1])))
        shows = shows & hangs if (shows & hangs).any() else hangs
        cloth = BareCloth(drawn.brightness * hangs, hangs, shows, inward_mm(hangs), np.zeros(2), np.ones(2))
        inputs = network_input(cloth)
        return inputs, drawn.lines & hangs, drawn.height_mm * hangs


def _targets(lines: NDArray[np.bool_]) -> NDArray[np.float32]:
    """1 on a line, falling to both sides."""
    out = np.zeros(lines.shape, np.float32)
    for mask, target in zip(lines.reshape(-1, *WINDOW), out.reshape(-1, *WINDOW), strict=True):
        if mask.any():
            away = cv2.distanceTransform((~mask).astype(np.uint8), cv2.DIST_L2, 5)
            target[:] = np.exp(-(np.maximum(away - 1, 0) ** 2) / (2 * LINE_SIGMA**2))
    return out


def fit(file: Path, weights: Path, seconds: float, rate: float, seed: int, device: str) -> None:
    """Train for a time, the learning rate falling as a cosine, and store the running mean of the weights."""
    import torch
    from torch.nn import functional

    from models.folds.network import Net

    torch.manual_seed(seed)
    windows, net = Windows(file, seed), Net()
    if weights.exists():
        net.load_state_dict({key: value.float() for key, value in torch.load(weights, weights_only=True).items()})
    net = net.to(device, memory_format=torch.channels_last)
    mean = copy.deepcopy(net).eval()
    optimiser = torch.optim.AdamW(net.parameters(), lr=rate, weight_decay=0.01)
    begun, step, spoken = time.monotonic(), 0, 0.0
    while (share := (time.monotonic() - begun) / seconds) < 1:
        for group in optimiser.param_groups:
            group["lr"] = rate * min(1.0, (step + 1) / 50) * (0.01 + 0.99 * 0.5 * (1 + np.cos(np.pi * share)))
        told, lines, height = windows.batch()
        told, lines, height = _changed(windows.rng, told, lines, height)
        goal, low = (torch.from_numpy(part).to(device) for part in np.split(_targets(lines)[:, [0, 2, 1, 3]], 2, axis=1))
        x, up = torch.from_numpy(told).to(device), torch.from_numpy(height).to(device)
        hangs = x[:, 1]
        with torch.autocast(device.split(":")[0], dtype=torch.bfloat16):
            said = net(x.contiguous(memory_format=torch.channels_last))
        said = said.float()
        weight = hangs[:, None] * (1 - 0.95 * ((low > 0.3) & (goal < low)).float())
        cross = functional.binary_cross_entropy_with_logits(said[:, :2], goal, reduction="none")
        likely = torch.sigmoid(said[:, :2])
        both = (likely * goal * weight).sum((2, 3))
        overlap = (2 * both + 20) / ((likely * weight).sum((2, 3)) + (goal * weight).sum((2, 3)) + 20)
        apart = functional.smooth_l1_loss(said[:, 2], up.clamp(-12, 12) / HEIGHT_UNIT, reduction="none")
        loss = (cross * weight * (1 + 4 * goal)).sum() / weight.sum() + 0.5 * (1 - overlap).mean() + (apart * hangs).sum() / hangs.sum()
        optimiser.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        optimiser.step()
        keep = min(0.997, (1 + step) / (20 + step)) if not weights.exists() else 0.997
        with torch.no_grad():
            for kept, new in zip(mean.state_dict().values(), net.state_dict().values(), strict=True):
                kept.lerp_(new, 1 - keep) if kept.dtype.is_floating_point else kept.copy_(new)
        step += 1
        if time.monotonic() - spoken > 60:
            spoken = time.monotonic()
            print(f"{step} steps, {spoken - begun:.0f} s, loss {float(loss.detach()):.3f}", flush=True)
    torch.save({key: value.half() if value.dtype.is_floating_point else value for key, value in mean.cpu().state_dict().items()}, weights)


def _changed(
    rng: np.random.Generator, told: NDArray[Any], lines: NDArray[Any], height: NDArray[Any]
) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Turned, mirrored, nearer or farther; exposure, contrast, uneven light and noise changed."""
    rows, cols = WINDOW
    out = [np.empty_like(part) for part in (told, lines, height)]
    for i in range(len(told)):
        grow, turn = np.exp(rng.normal(0, 0.08)), np.degrees(rng.normal(0, 0.12))
        move = cv2.getRotationMatrix2D((cols / 2, rows / 2), float(turn), float(grow))
        move[:, 2] += rng.uniform(-0.1, 0.1, 2) * (cols, rows)
        if rng.random() < 0.5:
            move = move @ np.array([[-1.0, 0, cols - 1], [0, 1, 0], [0, 0, 1]])

        def warped(picture: NDArray[Any], how: int, move: NDArray[Any] = move) -> NDArray[Any]:
            return np.asarray(cv2.warpAffine(picture.astype(np.float32), move, (cols, rows), flags=how))

        hangs = warped(told[i, 1], cv2.INTER_NEAREST)
        light = cv2.resize(rng.normal(0, 1, (4, 3)).astype(np.float32), (cols, rows), interpolation=cv2.INTER_CUBIC)
        bright = warped(told[i, 0], cv2.INTER_LINEAR) * np.exp(rng.normal(0, 0.2)) + rng.normal(0, 0.15)
        bright += 0.12 * rng.uniform() * light + 0.03 * rng.uniform() ** 2 * rng.normal(0, 1, WINDOW)
        inward = np.clip(warped(told[i, 3], cv2.INTER_LINEAR) * grow, 0, 1)
        out[0][i] = np.stack([bright * hangs, hangs, warped(told[i, 2], cv2.INTER_NEAREST) * hangs, inward * hangs])
        for j in range(4):
            out[1][i, j] = warped(cv2.dilate(lines[i, j].astype(np.uint8), np.ones((3, 3), np.uint8)), cv2.INTER_NEAREST) > 0
        out[2][i] = warped(height[i], cv2.INTER_LINEAR) * grow
    return out[0], out[1], out[2]


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    stage = parser.add_subparsers(dest="stage", required=True)
    first = stage.add_parser("views")
    first.add_argument("out", type=Path)
    first.add_argument("scenes", type=Path, nargs="+")
    second = stage.add_parser("fit")
    second.add_argument("views", type=Path)
    second.add_argument("weights", type=Path)
    second.add_argument("--seconds", type=float, default=5400.0)
    second.add_argument("--rate", type=float, default=2e-3)
    second.add_argument("--seed", type=int, default=0)
    second.add_argument("--device", default="cpu")
    stage.add_parser("export").add_argument("weights", type=Path)
    given = parser.parse_args()
    if given.stage == "views":
        views(given.out, given.scenes)
    elif given.stage == "fit":
        fit(given.views, given.weights, given.seconds, given.rate, given.seed, given.device)
    else:
        import torch

        from models.folds.network import Net, export

        net = Net()
        net.load_state_dict({key: value.float() for key, value in torch.load(given.weights, weights_only=True).items()})
        export(net, HERE / "folds.onnx")
        print(hashlib.sha256((HERE / "folds.onnx").read_bytes()).hexdigest())


if __name__ == "__main__":
    main()
