"""Learn to read folds from rendered fittings whose draped cloth is known, and from drawn cloth.

    python -m models.folds.train views VIEWS.npz SCENE ...            # scene folders of tests/scenes.make; a second each
    python -m models.folds.train drawn DRAWN.npz 1680 VIEWS.npz       # drawn cloth with the outlines of stored views
    python -m models.folds.train fit WEIGHTS.pt VIEWS.npz ... --drawn DRAWN.npz --seconds 780 --device cuda [--start OLD.pt]
    python -m models.folds.train export WEIGHTS.pt [--out FILE]       # writes folds.onnx, prints its sha256 for card.toml

From the repository's root, with the dependency group `scenes` (torch, onnx). A random spec for a scene comes from
`python -m tests.scenes.specs`. The network says where crests and hollows of folds run and how high the cloth stands; lines lower than 3
mm or shorter than 60 mm count neither way.
"""

import argparse
import copy
import hashlib
import time
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

import numpy as np
import torch
from torch import Tensor
from torch.nn import functional

from models.folds.changed import changed
from models.folds.network import Net, export
from models.folds.views import Arrays, of_drawn, of_scene

HERE = Path(__file__).parent
BATCH, DRAWN = 32, 8  # pictures at a time, and how many of them drawn
WARM_UP = 200  # steps
LOW_COUNTS = 0.05  # weight of the pixels about lines that need not be found
HEIGHT_UNIT, HIGHEST = 3.0, 12.0  # mm
POINT_WEIGHT = 0.03  # of the bust points, nats
KEPT = 0.999  # share of the running mean of the weights that a step leaves
STORED = ("told", "away", "height", "bust")
Pool = dict[str, Tensor]


def store(out: Path, rows: Iterable[Arrays]) -> None:
    """Write stored pictures into one file."""
    all_rows = list(rows)
    np.savez_compressed(out, **{key: np.stack([row[key] for row in all_rows]) for key in all_rows[0]})


def fit(
    weights: Path, views: Sequence[Path], drawn: Path | None, start: Path | None, seconds: float, rate: float, seed: int, device: str
) -> None:
    """Train for a time, the learning rate falling as a cosine, and store the running mean of the weights."""
    torch.manual_seed(seed)
    net = Net() if start is None else _network(start)
    net = net.to(device, memory_format=torch.channels_last).train()
    mean = copy.deepcopy(net).eval()
    optimiser = torch.optim.AdamW(net.parameters(), lr=rate, weight_decay=0.01)
    batches = _batches(_pool(views, device), _pool([drawn], device) if drawn else None)
    begun, step, spoken = time.monotonic(), 0, 0.0
    while (share := (time.monotonic() - begun) / seconds) < 1:
        for group in optimiser.param_groups:
            group["lr"] = rate * min(1.0, (step + 1) / WARM_UP) * (0.005 + 0.995 * 0.5 * (1 + np.cos(np.pi * share)))
        seen, goal, up, bust = changed(*next(batches))
        with torch.autocast(device.split(":")[0], dtype=torch.bfloat16):
            said, likely = net(seen.contiguous(memory_format=torch.channels_last))
        loss = _loss(said.float(), goal, up, seen[:, 1]) + POINT_WEIGHT * _point_loss(likely.float(), bust)
        optimiser.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        optimiser.step()
        with torch.no_grad():
            for kept, new in zip(mean.state_dict().values(), net.state_dict().values(), strict=True):
                if kept.dtype.is_floating_point:
                    kept.lerp_(new, 1 - min(KEPT, (1 + step) / (20 + step)))
        step += 1
        if time.monotonic() - spoken > 20:
            spoken = time.monotonic()
            print(f"{step} steps, {spoken - begun:.0f} s, loss {float(loss.detach()):.3f}", flush=True)
    torch.save({key: value.half() if value.dtype.is_floating_point else value for key, value in mean.cpu().state_dict().items()}, weights)


def _network(weights: Path) -> Net:
    net = Net()
    net.load_state_dict({key: value.float() for key, value in torch.load(weights, map_location="cpu", weights_only=True).items()})
    return net


def _pool(files: Sequence[Path], device: str) -> Pool:
    parts: list[Pool] = []
    for file in files:
        with np.load(file) as stored:
            parts.append({key: torch.from_numpy(stored[key]) for key in STORED})
    return {key: torch.cat([part[key] for part in parts]).to(device) for key in parts[0]}


def _batches(photographed: Pool, drawn: Pool | None) -> Iterator[tuple[Tensor, ...]]:
    """STORED of BATCH pictures, for ever: each photographed view once before any comes again, drawn ones as they come."""
    wanted = BATCH - (DRAWN if drawn else 0)
    order = torch.zeros(0, dtype=torch.long)
    while True:
        while len(order) < wanted:
            order = torch.cat([order, torch.randperm(len(photographed["told"]))])
        now, order = order[:wanted], order[wanted:]
        picked = [(photographed, now)]
        if drawn:
            picked.append((drawn, torch.randint(len(drawn["told"]), (DRAWN,))))
        yield tuple(torch.cat([pool[key][i.to(pool[key].device)] for pool, i in picked]) for key in STORED)


def _loss(said: Tensor, goal: Tensor, up: Tensor, hangs: Tensor) -> Tensor:
    """Cross entropy and overlap (Dice) of the lines, and the height of the cloth, over the garment.

    Parameters
    ----------
    said : Tensor, shape (N, 3, H, W)
    goal : Tensor, shape (N, 4, H, W)
        Of crests, low crests, hollows and low hollows.
    up, hangs : Tensor, shape (N, H, W)
        Heights in mm; 1 on the garment.
    """
    clear, low = goal[:, [0, 2]], goal[:, [1, 3]]
    weight = hangs[:, None] * torch.where((low > 0.3) & (clear < low), LOW_COUNTS, 1.0)
    cross = functional.binary_cross_entropy_with_logits(said[:, :2], clear, reduction="none")
    likely = torch.sigmoid(said[:, :2])
    both, either = (likely * clear * weight).sum((2, 3)), ((likely + clear) * weight).sum((2, 3))
    overlap = (2 * both + 20) / (either + 20)
    apart = functional.smooth_l1_loss(said[:, 2], up.clamp(-HIGHEST, HIGHEST) / HEIGHT_UNIT, reduction="none")
    lines = (cross * weight * (1 + 4 * clear)).sum() / weight.sum() + 0.5 * (1 - overlap).mean()
    return lines + (apart * hangs).sum() / hangs.sum()


def _point_loss(likely: Tensor, bust: Tensor) -> Tensor:
    """Minus the log of the probability (softmax over the picture) that the maps (N, 2, H/2, W/2) give the true places, mean."""
    rows, cols = likely.shape[2:]
    log = torch.log_softmax(likely.flatten(2), 2).reshape(-1, 1, rows, cols)
    block = (bust[..., :2] - 0.5) / 2
    size = torch.tensor([cols, rows], device=likely.device)
    told = (bust[..., 2] > 0) & (block > 1).all(2) & (block < size - 2).all(2)
    grid = (2 * block / (size - 1) - 1).reshape(-1, 1, 1, 2)
    at = functional.grid_sample(log, grid, padding_mode="border", align_corners=True).reshape(told.shape)
    return -(at * told).sum() / told.sum().clamp(min=1)


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    stage = parser.add_subparsers(dest="stage", required=True)
    first = stage.add_parser("views")
    first.add_argument("out", type=Path)
    first.add_argument("scenes", type=Path, nargs="+")
    second = stage.add_parser("drawn")
    second.add_argument("out", type=Path)
    second.add_argument("count", type=int)
    second.add_argument("views", type=Path)
    second.add_argument("--seed", type=int, default=0)
    third = stage.add_parser("fit")
    third.add_argument("weights", type=Path)
    third.add_argument("views", type=Path, nargs="+")
    third.add_argument("--drawn", type=Path)
    third.add_argument("--start", type=Path)
    third.add_argument("--seconds", type=float, default=780.0)
    third.add_argument("--rate", type=float, default=3e-3)
    third.add_argument("--seed", type=int, default=0)
    third.add_argument("--device", default="cpu")
    last = stage.add_parser("export")
    last.add_argument("weights", type=Path)
    last.add_argument("--out", type=Path, default=HERE / "folds.onnx")
    given = parser.parse_args()
    if given.stage == "views":
        store(given.out, (row for scene in given.scenes for row in of_scene(scene)))
    elif given.stage == "drawn":
        rng = np.random.default_rng(given.seed)
        outlines = np.load(given.views)["told"]
        store(given.out, (of_drawn(rng, outlines) for _ in range(given.count)))
    elif given.stage == "fit":
        fit(given.weights, given.views, given.drawn, given.start, given.seconds, given.rate, given.seed, given.device)
    else:
        export(_network(given.weights), given.out)
        print(hashlib.sha256(given.out.read_bytes()).hexdigest())


if __name__ == "__main__":
    main()
