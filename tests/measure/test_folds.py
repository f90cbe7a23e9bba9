"""Every reading of folds, drawn on the outline of a body; and drawings that are none of them."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from fitcheck.core.folds import Fold, FoldGroup
from fitcheck.core.records import Side, View
from fitcheck.core.solution import PointKey
from fitcheck.measure.fold_frame import BodyPlaces
from fitcheck.measure.folds import group_folds

LEFT: Side = "wearer_left"
RIGHT: Side = "wearer_right"
MM_PER_PX = 0.8
Point = tuple[float, float]

# A body as the photo shows it: mm from the back neck point, aside (outwards) and down.
PAIRS: dict[str, Point] = {
    "side_neck_point": (62, 5),
    "shoulder_point": (160, 40),
    "underarm_point": (155, 165),
    "bust_point": (88, 215),
    "shoulder_blade": (85, 150),
    "waist_side": (132, 385),
    "hip_side": (175, 550),
}
MIDDLE: dict[str, Point] = {"back_neck_point": (0, 0), "front_neck_point": (0, 70), "waist_front": (0, 390), "waist_back": (0, 390)}


def to_px(view: View, aside: float, down: float, side: Side | None = None) -> np.ndarray:
    """Her left lies at image right in the front view, at image left in the back view."""
    sign = 1.0 if (side in (None, LEFT)) == (view != "back") else -1.0
    return (np.array([600.0, 400.0]) + [sign * aside, down]) / MM_PER_PX


def body(view: View) -> dict[View, BodyPlaces]:
    points: dict[PointKey, np.ndarray] = {(name, None): to_px(view, *at) for name, at in MIDDLE.items()}
    sides: tuple[Side, Side] = (LEFT, RIGHT)
    points |= {(name, side): to_px(view, *at, side) for name, at in PAIRS.items() for side in sides}
    return {view: BodyPlaces(view, points, MM_PER_PX)}


def fold(view: View, side: Side | None, *through: Point, tension: str = "taut", height: float = 4.0) -> Fold:
    """A fold through points given as (aside, down) in mm; three points bend."""
    knots = np.array([to_px(view, *point, side) for point in through])
    t = np.linspace(0, len(knots) - 1, 41)
    points = np.stack([np.polyval(np.polyfit(np.arange(len(knots)), knots[:, i], len(knots) - 1), t) for i in (0, 1)], 1)
    points = points if points[0, 1] <= points[-1, 1] else points[::-1]
    x, y = points[-1] - points[0]
    length = float(np.hypot(*np.diff(points, axis=0).T).sum()) * MM_PER_PX
    taut = tension == "taut"
    return Fold(
        view,
        "ridge",
        points,
        length,
        float(np.degrees(np.arctan2(x, max(y, 1e-9)))),
        18.0 if taut else 34.0,
        height,
        height / 3 * length / 60,
        "taut" if taut else "loose",
        1.5,
        0.9,
    )


def groups(view: View, *folds: Fold) -> tuple[FoldGroup, ...]:
    return group_folds(folds, body(view))


def towards_bust(side: Side, *starts: Point) -> list[Fold]:
    """Folds that run at the bust point and end 35 mm before it."""
    bust = np.array(PAIRS["bust_point"])
    folds = []
    for start in starts:
        way = bust - start
        end = bust - 35 * way / np.hypot(*way)
        folds.append(fold("front", side, start, (float(end[0]), float(end[1]))))
    return folds


CASES: list[tuple[str, View, list[Fold], str]] = [
    ("taut fan to the bust point", "front", towards_bust(LEFT, (150, 290), (150, 190), (140, 110)), "fold_fan_bust_point_L"),
    ("the same on her right", "front", towards_bust(RIGHT, (140, 310), (155, 240), (150, 130)), "fold_fan_bust_point_R"),
    (
        "loose uprights below the bust",
        "front",
        [fold("front", RIGHT, (a, 250), (a + 4, 360), tension="loose") for a in (75, 100)],
        "fold_verticals_below_bust_R",
    ),
    (
        "taut levels across the bust",
        "front",
        [fold("front", None, (-80, down), (80, down + 4)) for down in (195, 225)],
        "fold_horizontals_bust",
    ),
    ("across the back", "back", [fold("back", None, (-90, down), (85, down)) for down in (130, 170)], "fold_horizontals_blade"),
    ("across the hip", "front", [fold("front", None, (-110, down), (110, down)) for down in (530, 570)], "fold_horizontals_hip"),
    ("V from the neck", "front", [fold("front", LEFT, (60, 30), (145, 160))], "fold_v_neck_to_underarm_L"),
    (
        "level fold under the back neck",
        "back",
        [fold("back", None, (-70, 35), (70, 38), tension="loose")],
        "fold_loose_horizontals_back_neck",
    ),
    ("from the shoulder tip to the centre", "front", [fold("front", RIGHT, (150, 55), (60, 130))], "fold_diagonal_shoulder_to_centre_R"),
    ("the same at the back", "back", [fold("back", LEFT, (150, 55), (50, 120))], "fold_diagonal_shoulder_to_centre_L"),
    ("from the neck to the front armhole", "front", [fold("front", LEFT, (75, 25), (150, 105))], "fold_diagonal_neck_to_armhole_L"),
    (
        "loose levels above the back waist",
        "back",
        [fold("back", None, (-80, down), (75, down), tension="loose") for down in (340, 370)],
        "fold_loose_horizontals_back_waist",
    ),
    ("from the blade to the side waist", "back", [fold("back", RIGHT, (75, 190), (125, 350))], "fold_diagonal_blade_to_waist_R"),
    (
        "upright beside the back armhole",
        "back",
        [fold("back", LEFT, (130, 80), (135, 180), tension="loose")],
        "fold_verticals_back_armhole_L",
    ),
    ("smile under the abdomen", "front", [fold("front", None, (-80, 470), (0, 505), (80, 470))], "fold_smiles_abdomen"),
    ("smile under the seat", "back", [fold("back", None, (-90, 570), (0, 610), (90, 570))], "fold_smiles_seat"),
]


@pytest.mark.parametrize(("view", "folds", "key"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_each_reading_is_named(view: View, folds: Sequence[Fold], key: str) -> None:
    (group,) = groups(view, *folds)
    assert group.key == key
    assert group.view == view
    assert sorted(group.folds) == list(range(len(folds)))
    assert group.strength == pytest.approx(sum(f.strength for f in folds))
    assert group.take_up_mm == pytest.approx(1.5 * len(folds))


def test_diagonals_say_from_where_to_where() -> None:
    (group,) = groups("back", fold("back", RIGHT, (75, 190), (125, 350)))
    assert (group.starts_at, group.ends_at) == ("blade", "waist")
    (fan,) = groups("front", *towards_bust(LEFT, (150, 290), (150, 190), (140, 110)))
    assert fan.ends_at == "bust_point"


def test_folds_that_do_not_meet_are_no_fan() -> None:
    apart = [fold("front", LEFT, (a, 260), (a + 50, 340)) for a in (40, 65, 90)]
    assert not [g for g in groups("front", *apart) if g.id == "fold_fan"]


def test_a_fan_to_nowhere_has_no_name() -> None:
    centre = np.array([0.0, 460.0])
    spokes = [np.array([np.cos(a), np.sin(a)]) for a in np.radians([200, 250, 300])]
    folds = [fold("front", None, tuple(centre + 40 * s), tuple(centre + 120 * s)) for s in spokes]
    assert not [g for g in groups("front", *folds) if g.id == "fold_fan"]


def test_a_fan_seen_from_the_side_is_at_the_near_bust() -> None:
    fan = [replace(f, view="right") for f in towards_bust(LEFT, (150, 290), (150, 190), (140, 110))]
    places = body("front")["front"]
    points = dict(places.points_px)  # seen from the side both bust points lie in one place, the far one hidden and by chance nearer
    points["bust_point", RIGHT] = points["bust_point", LEFT] + [12, 5]
    (group,) = group_folds(fan, {"right": replace(places, view="right", points_px=points)})
    assert group.key == "fold_fan_bust_point_R"


def test_loose_levels_at_the_bust_are_no_pull() -> None:
    assert groups("front", *(fold("front", None, (-80, d), (80, d), tension="loose") for d in (195, 225))) == ()


def test_both_sides_of_one_v_are_read_each_on_its_own() -> None:
    found = groups("front", fold("front", LEFT, (60, 30), (145, 160)), fold("front", RIGHT, (60, 30), (145, 160)))
    assert {g.key for g in found} == {"fold_v_neck_to_underarm_L", "fold_v_neck_to_underarm_R"}


def test_crest_and_hollow_of_one_fold_count_once() -> None:
    crest = fold("front", RIGHT, (75, 250), (79, 360), tension="loose")
    hollow = replace(fold("front", RIGHT, (95, 250), (99, 360), tension="loose"), kind="valley")
    (group,) = groups("front", crest, hollow)
    assert group.strength == pytest.approx(crest.strength)
    assert group.take_up_mm == pytest.approx(1.5)


def test_faint_and_short_folds_are_not_called_significant() -> None:
    (low,) = groups("front", fold("front", RIGHT, (150, 55), (60, 130), height=2.0))
    (short,) = groups("front", fold("front", RIGHT, (150, 55), (110, 85)))
    (clear,) = groups("front", fold("front", RIGHT, (150, 55), (60, 130)))
    assert (low.significant, short.significant, clear.significant) == (False, False, True)


def test_without_a_measure_of_heights_there_is_no_take_up() -> None:
    (group,) = groups("front", replace(fold("front", RIGHT, (150, 55), (60, 130)), take_up_mm=None, take_up_sd_mm=None))
    assert group.take_up_mm is None
    assert group.take_up_sd_mm is None
