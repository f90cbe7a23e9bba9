"""The solved fitting in numbers."""

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
