"""How she moves in a film: she stands, sways about her ankles, breathes, and turns on the spot from view to view. Metres, degrees, seconds.

Amounts are estimates after what is commonly said of quiet standing: the head sways by some millimetres in periods of two to six seconds;
the chest rises by three millimetres with every breath.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from .mesh import Floats, rotation
from .scene import Draped
from .spec import Spec, View

ORDERS: dict[int, tuple[View, ...]] = {1: ("front", "right", "back", "left"), -1: ("front", "left", "back", "right")}
ANKLE_M = 0.08  # above the floor: she sways about it
SWAY_HZ = (0.17, 0.31, 0.46)
SWAY_DEG = {"forward": (0.08, 0.10, 0.06), "right": (0.05, 0.07, 0.04)}  # 0.1 degree is 2.6 mm at the head
BREATH_M, BREATH_HZ = 0.0015, (0.2, 0.3)  # the chest's way to either side of its middle
RISE_SHARE = 0.35  # of it by which shoulders and head rise
STAND_S, TURN_S = (2.8, 3.6), (1.8, 2.6)
COMES_S, COMES_DEG, GOES_S, GOES_DEG = (
    1.2,
    55.0,
    1.0,
    40.0,
)  # the film begins as she turns into the first view and ends as she leaves the last
STANDS_AGAIN_M = 0.012  # sd of where her feet are, from stand to stand
BOB_M = 0.012  # of each step of a turn, downwards
CHEST_M = 0.13  # sd in height of the part of her that breath widens

KEYS_OF_STAND = 6  # pictures that are really rendered, both ends among them
DEG_BETWEEN_KEYS = 7.5  # while she turns
Kind = Literal["stand", "turn"]


@dataclass(frozen=True)
class Stand:
    """A stretch in which she stands in one view; `yaw_deg` goes on from stand to stand, as she turns on."""

    view: View
    start_s: float
    end_s: float
    yaw_deg: float
    lean_deg: tuple[float, float]
    feet_m: tuple[float, float]


@dataclass(frozen=True)
class Key:
    """A moment that is rendered."""

    time_s: float
    kind: Kind


@dataclass(frozen=True)
class Motion:
    """One film's motion.

    Attributes
    ----------
    phases : ndarray, shape (7,)
        Of her sway forward and to her right, three each, and of her breath; turns.
    """

    stands: tuple[Stand, ...]
    way: int
    ends_s: float
    phases: Floats
    breath_hz: float

    def held(self, time_s: float) -> Stand | None:
        """The stand at a time; None while she turns."""
        return next((stand for stand in self.stands if stand.start_s <= time_s <= stand.end_s), None)

    def breath_m(self, time_s: float) -> float:
        """How far her chest is forward of its middle."""
        return float(BREATH_M * np.sin(2 * np.pi * (self.breath_hz * time_s + self.phases[6])))

    def place(self, time_s: float, axis_y_m: float) -> tuple[Floats, Floats]:
        """world = turn @ subject + shift; she turns about the upright at `axis_y_m` in her own frame."""
        yaw, forward, right, x, y, bob = self._stance(time_s)
        swayed = [
            float(np.dot(SWAY_DEG[way], np.sin(2 * np.pi * (np.multiply(SWAY_HZ, time_s) + phases))))
            for way, phases in (("forward", self.phases[:3]), ("right", self.phases[3:6]))
        ]
        turn = rotation("z", yaw) @ rotation("x", forward + swayed[0]) @ rotation("y", -right - swayed[1])
        return turn, np.array([x, y, ANKLE_M - bob]) - turn @ np.array([0, axis_y_m, ANKLE_M])

    def _stance(self, time_s: float) -> Floats:
        """Yaw, lean forward and to her right, feet x and y, bob."""
        rows = [np.array([s.yaw_deg, *s.lean_deg, *s.feet_m, 0.0]) for s in self.stands]
        comes, goes = rows[0].copy(), rows[-1].copy()
        comes[0] -= self.way * COMES_DEG
        goes[0] += self.way * GOES_DEG
        moments = [0.0, *(t for s in self.stands for t in (s.start_s, s.end_s)), self.ends_s]
        rows = [comes, *(row for row in rows for _ in range(2)), goes]
        i = int(np.clip(np.searchsorted(moments, time_s, side="right") - 1, 0, len(moments) - 2))
        share = float(np.clip((time_s - moments[i]) / (moments[i + 1] - moments[i]), 0, 1))
        smooth = share**3 * (10 - 15 * share + 6 * share**2)  # the smoothest way from rest to rest
        now = np.asarray(rows[i] + (rows[i + 1] - rows[i]) * smooth)
        if i % 2 == 0:
            now[5] = BOB_M * np.sin(2 * np.pi * share) ** 2
        return now

    def moments(self) -> list[Key]:
        """Moments to render, in order."""
        keys = [Key(float(t), "stand") for s in self.stands for t in np.linspace(s.start_s, s.end_s, KEYS_OF_STAND)]
        edges = [0.0, *(t for s in self.stands for t in (s.start_s, s.end_s)), self.ends_s]
        for a, b in zip(edges[::2], edges[1::2], strict=True):
            fine = np.linspace(a, b, 400)
            yaw = np.array([self._stance(t)[0] for t in fine])
            n = int(np.ceil(abs(yaw[-1] - yaw[0]) / DEG_BETWEEN_KEYS))
            ways = np.linspace(0, 1, n + 1)[(a > 0) : (n if b < self.ends_s else n + 1)]
            gone = (yaw - yaw[0]) / (yaw[-1] - yaw[0])
            keys += [Key(float(np.interp(way, gone, fine)), "turn") for way in ways]
        return sorted(keys, key=lambda key: key.time_s)


def axis_m(d: Draped) -> float:
    """How far behind the origin of her frame she turns: midway between her underarm points."""
    return float((d.lm["underarm_L"][1] + d.lm["underarm_R"][1]) / 2)


def draw_motion(spec: Spec) -> Motion:
    """The motion of a spec's film; the same for the same spec. Turn and lean in each view are the spec's."""
    rng = np.random.default_rng(spec.seed + 77)
    way = 1 if rng.uniform() < 0.5 else -1
    at, stands = COMES_S, []
    for k, view in enumerate(ORDERS[way]):
        standing = spec.views[view]
        end = at + rng.uniform(*STAND_S)
        feet = standing.stand_m or tuple(float(m) for m in rng.normal(0, STANDS_AGAIN_M, 2))
        stands.append(Stand(view, at, end, way * 90.0 * k + (standing.yaw_err_deg or 0.0), standing.lean_deg, (feet[0], feet[1])))
        at = end + rng.uniform(*TURN_S)
    return Motion(tuple(stands), way, stands[-1].end_s + GOES_S, rng.uniform(0, 1, 7), float(rng.uniform(*BREATH_HZ)))


def breathed(p: Floats, breath_m: float, chest_z_m: float, axis_y_m: float) -> Floats:
    """Subject points (n, 3) with the chest so far forward: most at its height and before, nothing behind; what is above rises a little."""
    x, y, z = p.T
    before = np.clip((axis_y_m - y) / 0.12 + 0.3, 0, 1)
    height = np.exp(-(((z - chest_z_m) / CHEST_M) ** 2) / 2)
    up = np.clip((z - chest_z_m + 0.2) / 0.3, 0, 1)
    return np.stack([x, y - breath_m * before * height, z + RISE_SHARE * breath_m * up * up * (3 - 2 * up)], 1)
