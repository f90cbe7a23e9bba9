"""The main job on the two sample fittings, against the truth of the program that drew them, and against the trade's usual ranges."""

import json
from pathlib import Path

import numpy as np
import pytest

from fitcheck.core.camera import Photo
from fitcheck.core.check import FitCheck
from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.fitting import FittingFacts, TapeFacts
from fitcheck.core.records import VIEWS
from fitcheck.core.settings import Settings
from fitcheck.measure.observables import ARMPIT_SD_MM
from fitcheck.photo.load import load_photo
from fitcheck.pipeline import check_fit

SAMPLES = Path(__file__).parents[1] / "sample_images"
TRUTH_NAMES = {"tip": "at_tip", "neck": "at_neck"}


def photos_of(sample: str) -> list[Photo]:
    return [load_photo(SAMPLES / sample / f"{view}.jpg", view) for view in VIEWS]


@pytest.fixture(scope="module")
def control() -> FitCheck:
    return check_fit(photos_of("control"))


@pytest.fixture(scope="module")
def forward() -> FitCheck:
    return check_fit(photos_of("forward_shoulder"))


def truth_of(sample: str) -> dict[str, float]:
    return json.loads((SAMPLES / sample / "truth.json").read_text())["observables_mm"]


def truth_for(truth: dict[str, float], key: str) -> float | None:
    word = key.replace("behind_tip", "behind_at_tip").replace("behind_neck", "behind_at_neck").replace("tilt_", "tilt_deg_")
    return truth.get({"shoulder_height_difference": "shoulder_right_lower"}.get(word, word))


def test_control_needs_nothing(control):
    assert control.round.steps == ()
    assert control.explanations[0].alterations == ()
    assert "othing to alter" in control.round.summary


def test_forward_shoulder_comes_after_its_balance_with_its_amount(forward):
    balance, first = forward.round.steps
    assert (balance.amount.id, first.amount.id) == ("rounded_erect_upper_back", "forward_shoulder")
    assert first.amount.side == "both"
    assert first.amount.amount_mm == pytest.approx(10.2, abs=4)
    assert 6 - 1 <= first.amount.amount_mm <= 13 + 1  # usual amounts of the alteration: 6-13 mm (common practice)
    assert len(forward.round.steps) <= 3
    assert any("{amount}" in step or "{mm:" in step for step in first.steps)
    assert any(e.measurement.startswith("shoulder_seam_behind") and abs(e.after) < abs(e.before) for e in first.expect)


def test_control_has_no_fold_group_to_speak_of(control):
    assert not [group for group in control.fold_groups if group.significant]
    assert not [m for m in control.measurements if m.id.startswith("fold_")]


def test_folds_lie_on_the_crests_and_hollows_of_the_draped_cloth(forward):
    truth = json.loads((SAMPLES / "forward_shoulder" / "folds.json").read_text())["views"]
    near, turns, lengths = [], [], []
    for fold in forward.folds:
        points = np.concatenate([np.array(line["px"]) for line in truth[fold.view] if line["kind"] == fold.kind])
        gaps = np.hypot(*(fold.points_px[:, None] - points[None]).transpose(2, 0, 1))
        scale = next(result.scale.mm_per_px for result in forward.photos if result.photo.view == fold.view)
        close = gaps.min(axis=1) < 10 / scale
        near.append(close.mean())
        lengths.append(fold.length_mm)
        true = points[gaps.argmin(axis=1)[close]]
        x, y = true[-1] - true[0]  # from end to end, as a fold's direction is told
        turns.append(abs((np.degrees(np.arctan2(x, y)) - fold.direction_deg + 90) % 180 - 90))
    assert sum(lengths) > 600
    assert np.average(near, weights=lengths) > 0.8
    assert np.average(turns, weights=lengths) < 6


@pytest.mark.parametrize("sample", ["control", "forward_shoulder"])
def test_shoulder_seam_is_measured_to_5_mm(sample, request):
    result: FitCheck = request.getfixturevalue({"control": "control", "forward_shoulder": "forward"}[sample])
    truth = truth_of(sample)
    errors = [
        m.value - truth[f"shoulder_seam_behind_at_tip_{m.key[-1]}"]
        for m in result.measurements
        if m.id == "shoulder_seam_behind" and m.at == "tip"
    ]
    assert len(errors) == 2
    assert np.median(np.abs(errors)) < 5


@pytest.mark.parametrize("sample", ["control", "forward_shoulder"])
def test_numbers_lie_within_three_of_their_own_uncertainties(sample, request):
    result: FitCheck = request.getfixturevalue({"control": "control", "forward_shoulder": "forward"}[sample])
    truth, compared = truth_of(sample), 0
    for m in result.measurements:
        true = truth_for(truth, m.key)
        if true is not None:
            compared += 1
            assert abs(m.value - true) < 3.3 * m.sd, m.key
    assert compared >= 14


@pytest.mark.parametrize("sample", ["control", "forward_shoulder"])
def test_body_is_a_plausible_woman(sample, request):
    """Within 3 sd of the surveys: shoulder slope 24 (4.6) degrees, Anthropometry 1.20; stature 1628.5 (64.2) mm, ANSUR II."""
    result: FitCheck = request.getfixturevalue({"control": "control", "forward_shoulder": "forward"}[sample])
    posture = {(p.id, p.side): p for p in result.posture}
    for side in ("wearer_left", "wearer_right"):
        assert posture["shoulder_slope", side].value == pytest.approx(24.3, abs=3 * 4.6)
    assert posture["stature", None].value == pytest.approx(1628.5, abs=3 * 64.2)
    truth = truth_of(sample)
    assert posture["stature", None].value == pytest.approx(truth["stature"], abs=3 * posture["stature", None].sd)
    assert posture["bust_span", None].value == pytest.approx(truth["bust_span"], abs=8)


def test_turn_of_every_view_within_its_uncertainty(forward):
    truth = json.loads((SAMPLES / "forward_shoulder" / "truth.json").read_text())["views"]
    for result in forward.photos:
        assert result.standing is not None
        assert abs(result.standing.turn_deg - truth[result.photo.view]["yaw_err_deg"]) < 2.5 * result.standing.turn_sd_deg


def test_what_was_not_measured_is_listed_with_its_reason(forward):
    assert {m.key for m in forward.measurements}.isdisjoint(u.key for u in forward.unmeasured)
    assert all(len(u.why) > 20 for u in forward.unmeasured)


def test_one_photo_alone_still_gives_what_it_shows():
    result = check_fit([load_photo(SAMPLES / "forward_shoulder" / "right.jpg", "right")])
    found = {m.key: m for m in result.measurements}
    assert found["shoulder_seam_behind_tip_R"].value == pytest.approx(10.2, abs=5)
    assert "shoulder_seam_behind_tip_L" not in found
    assert "view_missing" in result.flags


def test_views_with_their_names_mixed_up_are_not_measured():
    photos = {p.view: p for p in photos_of("control")}
    swapped = [_as(photos["back"], "front"), _as(photos["front"], "back"), photos["right"]]
    result = check_fit(swapped)
    flags = {r.photo.view: r.flags for r in result.photos}
    assert "view_mixed_up" in flags["front"]
    assert "view_mixed_up" in flags["back"]
    assert "view_mixed_up" not in flags["right"]
    assert all(m.view not in ("front", "back") for m in result.measurements)
    with pytest.raises(NothingMeasuredError, match="do not show the views"):
        check_fit(swapped[:2])


def test_a_photo_in_other_clothes_is_noticed():
    photos = photos_of("control")
    green = (photos[3].rgb * [0.45, 1.0, 0.5]).astype(np.uint8)
    result = check_fit([*photos[:3], Photo("left", "left.jpg", "0" * 64, green, photos[3].focal_px, "")])
    assert "different_person" in {r.photo.view: r.flags for r in result.photos}["left"]
    assert all("different_person" not in r.flags for r in result.photos[:3])


def _as(photo: Photo, view) -> Photo:
    return Photo(view, f"{view}.jpg", photo.sha256, photo.rgb, photo.focal_px, photo.camera_model)


def test_tape_measurements_of_the_true_body_agree_and_a_slip_does_not():
    truth = json.loads((SAMPLES / "control" / "truth.json").read_text())
    true_mm = truth["subject_girths_mm"] | {"bust_span": truth["observables_mm"]["bust_span"], "height": truth["observables_mm"]["stature"]}
    result = check_fit(photos_of("control"), Settings(FittingFacts(tape=TapeFacts(**true_mm))))
    assert {check.id for check in result.tape} == {"bust", "waist", "hip", "bust_span", "height"}
    assert all(check.agrees and check.own_mm == pytest.approx(check.tape_mm, rel=0.05) for check in result.tape)
    assert "tape_disagrees" not in result.flags
    slip = check_fit(photos_of("control"), Settings(FittingFacts(tape=TapeFacts(**true_mm | {"waist": 880.0}))))
    assert [check.id for check in slip.tape if not check.agrees] == ["waist"]
    assert "tape_disagrees" in slip.flags


def test_a_point_put_right_moves_the_result():
    """The wearer drags her right shoulder point 12 px back in the right photo; the seam then lies 11 mm less behind it."""
    from fitcheck.body.placed import read_placed
    from fitcheck.core.settings import Settings

    photo = load_photo(SAMPLES / "forward_shoulder" / "right.jpg", "right")
    before = {m.key: m for m in check_fit([photo]).measurements}["shoulder_seam_behind_tip_R"]
    x, y = json.loads((SAMPLES / "forward_shoulder" / "truth.json").read_text())["views"]["right"]["landmarks"]["shoulder_point_R"]["px"]
    points, _ = read_placed(SAMPLES / "none.toml", [f"shoulder_point:wearer_right:right={x - 12},{y}"])
    after = {m.key: m for m in check_fit([photo], Settings(placed_points=points)).measurements}["shoulder_seam_behind_tip_R"]
    assert before.value - after.value == pytest.approx(11, abs=4)


def test_a_card_printed_too_small_is_noticed_by_the_stickers():
    """Telling the program that the bar measures 105 mm makes the card disagree with the stickers as a wrong print does."""
    from fitcheck.core.fitting import FittingFacts
    from fitcheck.core.settings import Settings

    photos = photos_of("control")
    result = check_fit(photos, Settings(FittingFacts(card_bar_mm=105.0)))
    assert "card_scale_odd" in result.flags
    assert "card_scale_odd" not in check_fit(photos).flags
    crown = next(point for point in result.landmarks if point.name == "crown")
    assert abs(crown.position_mm[1] - truth_of("control")["stature"]) < 2.5 * crown.sd_mm[1]
    assert crown.sd_mm[1] > 40  # 5 % of a height, and no more claims than that


def test_neither_lines_nor_stickers_is_no_fitting(monkeypatch):
    """A person beside a card; her body alone says nothing of how a garment fits."""
    monkeypatch.setattr("fitcheck.stages.read.find_seams", lambda *_: ())
    monkeypatch.setattr("fitcheck.stages.see.find_point_markers", lambda *_, **__: ())
    monkeypatch.setattr("fitcheck.stages.read.find_dots", lambda *_, **__: ())
    photo = load_photo(Path(__file__).parents[1] / "sample_images" / "control" / "front.jpg", "front")
    with pytest.raises(NothingMeasuredError, match="No seam lines and no stickers"):
        check_fit([photo])


def test_where_the_fold_under_the_arm_is_lowest_is_a_doubt_of_the_side_line(forward):
    found = [m for m in forward.measurements if m.id == "side_seam_forward"]
    assert found
    for m in found:
        assert m.sources["definition"] >= ARMPIT_SD_MM
        assert m.sd**2 == pytest.approx(sum(sd**2 for sd in m.sources.values()), rel=0.02)
