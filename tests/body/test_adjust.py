"""The joint adjustment against a rig whose truth is known and whose pictures OpenCV computes."""

from dataclasses import replace

import numpy as np
import pytest
import rig

from fitcheck.body.adjust import _Problem, adjust
from fitcheck.body.landmarks import _used, seen_ties
from fitcheck.body.point_table import seen_points
from fitcheck.body.prior_rows import LEAN_SD_DEG
from fitcheck.core.camera import CardHeight
from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.evidence import Evidence
from fitcheck.core.records import VIEWS, Sighting
from fitcheck.core.solution import Tie

SHOULDER_R = ("shoulder_point", "wearer_right")


def solved(points, turns=None, noise_px=0.0, scale=None):
    scale = scale or rig.scale_at()
    return adjust(Evidence(dict.fromkeys(VIEWS, scale), rig.sightings(points, scale, turns or {}, noise_px)))


def test_recovers_a_body_unlike_the_usual_one():
    points = rig.body(shoulder_point_L=[6, -8, 0], shoulder_point_R=[-6, -8, 0], waist_side_R=[0, 15, 9], waist_side_L=[0, 15, 9])
    body = solved(points)
    for key in (SHOULDER_R, ("waist_side", "wearer_right"), ("side_neck_point", "wearer_left")):
        error = body.position(*key) - points[key]
        assert np.all(np.abs(error) < 2.5 * body.sd(*key)), key
    drop = body.derive(lambda a, b: float(a[1] - b[1]), [("shoulder_point", "wearer_left"), ("waist_side", "wearer_left")])
    truth = points["shoulder_point", "wearer_left"][1] - points["waist_side", "wearer_left"][1]
    assert drop.value == pytest.approx(truth, abs=4)


def test_pictures_agree_with_opencv():
    """What the solution projects is where OpenCV's projectPoints put the points, once it has been fitted to them."""
    scale, points = rig.scale_at(), rig.body(waist_side_R=[0, 20, 12])
    body = adjust(Evidence(dict.fromkeys(VIEWS, scale), rig.sightings(points, scale, {})))
    keys = rig.SEEN_IN["right"]
    expected = rig.pixels(scale, "right", np.stack([points[key] for key in keys]))
    found = body.views["right"].project(np.stack([body.position(*key) for key in keys]))
    assert np.abs(found - expected).max() < 0.3


@pytest.mark.parametrize("turn_deg", [-6.0, 4.0])
def test_a_turned_front_view_is_noticed(turn_deg):
    """Bust and neck stand before the shoulders, so a turn moves them sideways against each other."""
    turn = solved(rig.body(), {"front": turn_deg}).turn_deg("front")
    assert np.sign(turn.value) == np.sign(turn_deg)
    assert abs(turn.value - turn_deg) < 2 * turn.sd


def test_uneven_shoulders_are_measured():
    points = rig.body(shoulder_point_R=[0, -12, 0])
    body = solved(points, noise_px=0.3)
    left, right = ("shoulder_point", "wearer_left"), SHOULDER_R
    difference = body.derive(lambda a, b: float(a[1] - b[1]), [left, right])
    assert difference.value == pytest.approx(12, abs=3)
    assert abs(difference.value - 12) < 2 * difference.sd


def test_what_two_points_share_cancels():
    """A scale error of 1 % is 1 % of a length, not 1 % of where its ends lie (JCGM 100:2008, 5.2)."""
    scale = rig.scale_at(scale_sd=0.01)
    points = rig.body()
    seen = rig.sightings(points, scale, {})
    anchor = points[SHOULDER_R]
    spot = rig.pixels(scale, "right", anchor + [0, 0, -10])[0]
    seen.append(Sighting("shoulder_seam_tip", "wearer_right", "right", "detected", spot, 0.5, kind="seam"))
    tie = Tie(("shoulder_seam_tip", "wearer_right"), SHOULDER_R, np.zeros(3), np.array([5.0, 60.0, 60.0]))
    body = adjust(Evidence(dict.fromkeys(VIEWS, scale), seen, [tie]))
    gap = body.derive(lambda seam, point: float(point[2] - seam[2]), [tie.point, SHOULDER_R])
    height = body.derive(lambda point: float(point[1]), [SHOULDER_R])
    assert gap.value == pytest.approx(10, abs=0.5)
    assert gap.sources["scale"] < 0.2
    assert height.sources["scale"] > 2
    assert gap.sd == pytest.approx(np.sqrt(sum(sd**2 for sd in gap.sources.values())), rel=0.01)


def test_intervals_hold_over_many_noisy_fittings():
    """95 % intervals of the seam gap contain the truth; every fitting has other noise, turns and gaps."""
    random = np.random.default_rng(8)
    scale, hits = rig.scale_at(), []
    for _ in range(40):
        points = rig.body()
        turns = {view: float(random.normal(0, 1.5)) for view in VIEWS}
        seen = rig.sightings(points, scale, turns)
        for s in seen:
            s.xy_px[:] += random.normal(0, 0.5, 2)
        gap = float(random.normal(5, 6))
        seam = points[SHOULDER_R] + [random.normal(0, 5), random.normal(0, 3), -gap]
        spot = rig.pixels(scale, "right", seam, turns["right"])[0] + random.normal(0, 0.5, 2)
        seen.append(Sighting("shoulder_seam_tip", "wearer_right", "right", "detected", spot, 0.5, kind="seam"))
        tie = Tie(("shoulder_seam_tip", "wearer_right"), SHOULDER_R, np.zeros(3), np.array([6.0, 60.0, 60.0]))
        body = adjust(Evidence(dict.fromkeys(VIEWS, scale), [s if s.kind == "seam" else _noisier(s) for s in seen], [tie]))
        result = body.derive(lambda seam, point: float(point[2] - seam[2]), [tie.point, SHOULDER_R])
        hits.append(abs(result.value - gap) < 1.96 * result.sd)
    assert 0.85 <= np.mean(hits) <= 1.0


def _noisier(s: Sighting) -> Sighting:
    return Sighting(s.name, s.side, s.view, s.grade, s.xy_px, 0.5, kind=s.kind)


def test_a_point_seen_once_is_unsure_in_depth():
    body = solved(rig.body())
    assert body.sd("waist_front")[2] > 6
    assert body.sd("waist_front")[0] < 3


def test_one_wild_sighting_does_not_bend_the_rest():
    scale, points = rig.scale_at(), rig.body()
    seen = rig.sightings(points, scale, {})
    wild = next(s for s in seen if s.name == "hip_side" and s.side == "wearer_right")
    wild.xy_px[:] += [40, 0]
    body = adjust(Evidence(dict.fromkeys(VIEWS, scale), seen))
    assert np.abs(body.position(*SHOULDER_R) - points[SHOULDER_R])[1] < 15


def test_nothing_seen_is_said_plainly():
    with pytest.raises(NothingMeasuredError, match="could be placed"):
        adjust(Evidence({"front": rig.scale_at()}, []))


@pytest.mark.parametrize("views", [VIEWS, ("front",)])
def test_what_is_no_standing_body_is_not_placed(views):
    """Points of a picture lying on its side: no body of a person's size explains them, whatever the arithmetic ends with."""
    scale = rig.scale_at()
    seen = [s for s in rig.sightings(rig.body(), scale, {}) if s.view in views]
    middle = np.mean([s.xy_px for s in seen], axis=0)
    for s in seen:
        s.xy_px[:] = middle + (s.xy_px - middle)[::-1]
    with pytest.raises(NothingMeasuredError, match="could be placed"):
        adjust(Evidence(dict.fromkeys(views, scale), seen))


def test_a_sticker_on_another_spot_turns_nobody():
    """The seat's sticker sits 42 mm beside the midline; she still stands square, and her other points stay where they are."""
    scale, points = rig.scale_at(), rig.body()
    seen = rig.sightings(points, scale, {})
    off = points["seat", None] + [42, 0, 15]
    wrong = next(s for s in seen if s.name == "seat")
    wrong.xy_px[:] = rig.pixels(scale, "back", off)[0]
    body = adjust(Evidence(dict.fromkeys(VIEWS, scale), seen))
    assert abs(body.turn_deg("back").value) < 2.0  # least squares alone makes 8 degrees of it
    assert abs(body.position("waist_back")[0]) < 2


def _heights(points, scales, seen, ties=()):
    body = adjust(Evidence(scales, seen, ties))
    return body, body.position("shoulder_point", "wearer_left")[1] - points["shoulder_point", "wearer_left"][1]


def test_soles_tell_where_the_floor_is():
    """The pose puts every heel 25 mm too high; toes and heels seen on the floor put it right, and make heights surer."""
    scale, points = rig.scale_at(), rig.body()
    seen, soles = rig.sightings(points, scale, {}), []
    for p in seen_points():
        if p.anchor[0] == "heel":
            at = points[p.anchor] + p.offset_mm
            for view in VIEWS:
                if _used(p, view) and p.edge == "bottom":
                    soles.append(
                        Sighting(p.name, p.side, view, "detected", rig.pixels(scale, view, at * [1, 0, 1])[0], 2.0, kind="outline_bottom")
                    )
                elif _used(p, view):
                    spot = rig.pixels(scale, view, at + [0, 25, 0])[0]
                    seen.append(Sighting(p.name, p.side, view, "detected", spot, 3.0, kind="pose"))
    scales = dict.fromkeys(VIEWS, scale)
    without, wrong_mm = _heights(points, scales, seen, seen_ties(seen))
    body, error_mm = _heights(points, scales, [*seen, *soles], seen_ties([*seen, *soles]))
    assert len(soles) == 6
    assert wrong_mm < -10
    assert abs(error_mm) < 0.4 * abs(wrong_mm)
    assert abs(error_mm) < 2 * body.sd("shoulder_point", "wearer_left")[1]
    assert body.sd("shoulder_point", "wearer_left")[1] < without.sd("shoulder_point", "wearer_left")[1]


def test_a_card_off_plumb_is_so_in_all_photos():
    """Leaning to image right in front and back alike is the card's doing, and so believed in the side views as well."""
    scale = replace(rig.scale_at(), plumb_sd_deg=0.6, hang_sd_deg=0.5)
    apart = replace(scale, hang_sd_deg=0.0)
    points = rig.body()
    found = []
    for s in (scale, apart):
        body = adjust(Evidence(dict.fromkeys(VIEWS, s), rig.sightings(points, s, {})))
        found.append(body.derive(lambda a, b: float(a[2] - b[2]), [("side_neck_point", "wearer_right"), ("hip_side", "wearer_right")]))
    both, own = found
    assert both.value == pytest.approx(own.value, abs=0.5)
    assert both.sources["plumb"] < own.sources["plumb"]


def test_a_card_tells_how_she_leans_in_the_picture_better_than_towards_the_camera():
    """Seen from the front a lean aside is the picture's roll, a lean forward its pitch; without a card neither is known."""
    scale = replace(rig.scale_at(), plumb_sd_deg=1.0)

    def doubts(source):
        s = replace(scale, source=source)
        problem = _Problem(Evidence({"front": s}, rig.sightings(rig.body(), s, {})), ("front",))
        lean = problem.at.views["front"] + 1
        rows = problem.known.rows(*problem.known.residuals(problem._start()), np.ones(len(problem.known.target)))
        return [1 / np.abs(rows.jacobian[:, column]).max() for column in (lean, lean + 1)]

    forward, aside = np.degrees(doubts("card"))
    assert forward == pytest.approx(np.hypot(1.0, LEAN_SD_DEG))
    assert aside == pytest.approx(LEAN_SD_DEG)
    assert np.degrees(doubts("height")) == pytest.approx(np.full(2, forward))


def test_a_smaller_body_does_not_fit_ties_better():
    """A tie missed by 1 % of the body counts alike for every size; the derivatives are those of the rows."""
    scale, points = rig.scale_at(), rig.body()
    seen = rig.sightings(points, scale, {})
    seen.append(Sighting("shoulder_seam_tip", "wearer_right", "right", "detected", seen[0].xy_px, 0.5, kind="seam"))
    tie = Tie(("shoulder_seam_tip", "wearer_right"), SHOULDER_R, np.array([2.0, 4.0, 0.0]), np.array([6.0, 20.0, 60.0]))
    problem = _Problem(Evidence(dict.fromkeys(VIEWS, scale), seen, (tie,)), VIEWS)

    def rows(x):
        residual, factors = problem.known.residuals(x)
        return problem.known.rows(residual, factors, np.ones(len(residual)))

    x = problem._start() + np.random.default_rng(3).normal(0, 0.01, problem.at.size)
    x[: 3 * len(problem.keys)] *= 1.4
    x[problem.at.stature] = 1.2
    found = rows(x)
    for column in (problem.at.stature, 3 * problem.at.number[tie.point]):
        step = np.zeros(problem.at.size)
        step[column] = 1e-5
        expected = -(rows(x + step).residuals - rows(x - step).residuals) / 2e-5
        assert found.jacobian[:, column] == pytest.approx(expected, abs=1e-4 * (1 + np.abs(expected).max()))
    larger = x.copy()
    larger[: 3 * len(problem.keys)] *= 1.1
    larger[problem.at.stature] *= 1.1
    assert rows(larger).residuals[problem.known.ties] == pytest.approx(found.residuals[problem.known.ties])
    weight = np.linspace(0.2, 1.0, len(found.residuals))
    residual, factors = problem.known.residuals(x)
    normal, right = problem.known.normal(residual, factors, weight)
    whole = problem.known.rows(residual, factors, weight)
    assert normal == pytest.approx(whole.jacobian.T @ whole.jacobian)
    assert right == pytest.approx(whole.jacobian.T @ whole.residuals)


def test_heights_hang_on_the_height_of_the_card():
    """Points alone tell how heights differ; where the floor lies they do not."""
    points, scale = rig.body(), rig.scale_at()
    told = replace(scale, above_floor=CardHeight(1120.0, 1.0))
    off = solved(points, scale=replace(scale, above_floor=CardHeight(1140.0, 1.0)))
    body = solved(points, scale=told)
    keys = rig.SEEN_IN["front"]
    errors = [body.position(*key)[1] - points[key][1] for key in keys]
    assert np.abs(errors).max() < 2.5
    assert np.median([off.position(*key)[1] - points[key][1] for key in keys]) == pytest.approx(20, abs=3)
    assert body.sd(*SHOULDER_R)[1] < 0.5 * solved(points, scale=scale).sd(*SHOULDER_R)[1]


def test_a_card_that_leans_on_its_stand():
    """Half a metre beside a card whose top leans aside, a level floor lies lower or higher in the card's frame than below the card."""
    points, scale = rig.body(), replace(rig.scale_at(), hang_sd_deg=0.5, plumb_sd_deg=0.6)
    lean = 0.006
    rolled = CardHeight(1120.0, 1.0, 420.0, 1120.0, lean, 0.001)
    body = solved(points, scale=replace(scale, above_floor=rolled))
    straight = solved(points, scale=replace(scale, above_floor=replace(rolled, roll=0.0)))
    aside = 350.0  # of the rig's optical axis, where she is taken to stand
    assert body.position(*SHOULDER_R)[1] - straight.position(*SHOULDER_R)[1] == pytest.approx(-aside * lean, abs=0.7)


def test_photos_that_agree_ill_make_everything_less_sure():
    """The same fitting with every sighting strayed by 6 pixels, told to be right to half a pixel: doubts grow, by twice at most."""
    points, scale, random = rig.body(), rig.scale_at(), np.random.default_rng(5)
    seen = rig.sightings(points, scale, {})
    strayed = [replace(s, xy_px=s.xy_px + random.normal(0, 6, 2)) for s in seen]
    calm, ill = (adjust(Evidence(dict.fromkeys(VIEWS, scale), found)) for found in (seen, strayed))
    assert calm.strain == 1
    assert 1.3 < ill.strain <= 2.0
    assert ill.sd("waist_front")[1] > 1.3 * calm.sd("waist_front")[1]
