"""The solved fitting in numbers."""

from dataclasses import replace

from fitcheck.stages.measure import measure_fitting


def test_measuring_takes_everything_off_the_solved_fitting(staged):
    assert {m.key for m in staged.measured.measurements} >= {"shoulder_seam_behind_tip_R", "bust_mark_above_L", "side_seam_tilt_R"}
    assert {p.id for p in staged.measured.posture} >= {"shoulder_slope", "stature"}
    assert set(staged.measured.standing) == {"front", "right", "back", "left"}
    assert len(staged.measured.folds) == sum(len(photo.garment.folds) for photo in staged.fitting.photos)
    assert staged.measured.marked


def test_measuring_twice_gives_the_same(staged):
    again = measure_fitting(staged.fitting, staged.solved)
    assert [(m.key, m.value, m.sd) for m in again.measurements] == [(m.key, m.value, m.sd) for m in staged.measured.measurements]


def test_in_a_casual_stance_the_heights_of_shoulders_and_hips_are_not_compared(staged):
    by_stance = {"shoulder_height_difference", "hip_height_difference"}
    front, *others = staged.fitting.photos
    casual = measure_fitting(replace(staged.fitting, photos=(front.doubted("stance_uneven"), *others)), staged.solved)
    assert by_stance & {m.id for m in staged.measured.measurements}
    assert not by_stance & {m.id for m in casual.measurements}
    assert not by_stance & {p.id for p in casual.posture}
    assert "evenly" in next(u.why for u in casual.unmeasured if u.id == "shoulder_height_difference")
    gone = {m.key for m in staged.measured.measurements} - {m.key for m in casual.measurements}
    assert gone == {m.key for m in staged.measured.measurements if m.id in by_stance}
