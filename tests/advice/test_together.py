"""What may be made in one round, by the trade's own reasons."""

from fitcheck.advice.equation import equation
from fitcheck.advice.table import knowledge
from fitcheck.advice.together import made_together
from fitcheck.core.advice import Amount
from fitcheck.core.fitting import FittingFacts

FACTS = FittingFacts()


def together(measure, *amounts: tuple[str, float]) -> list[str]:
    keys = [f"{name}_{side}" for name in ("shoulder_seam_behind_tip", "bust_mark_above", "shoulder_tip_beyond") for side in "LR"]
    seen = [measure(key, 0.0) for key in (*keys, "front_neck_below", "side_neck_beyond_L", "side_neck_beyond_R")]
    fit = equation(seen, knowledge(), FACTS)
    return [a.id for a in made_together(fit, [Amount(id, "both", mm, 1.0) for id, mm in amounts])]


def test_the_bust_point_waits_for_the_shoulder_seam(measure) -> None:
    """With the seam brought 12 mm forward the front drops by 3 to 6 mm at the bust, which has to be looked at again."""
    assert together(measure, ("bust_point_height", -8.0), ("forward_shoulder", 12.0)) == ["forward_shoulder"]
    assert together(measure, ("bust_point_height", -8.0), ("forward_shoulder", 4.0)) == ["forward_shoulder", "bust_point_height"]


def test_a_neckline_that_the_shoulder_does_not_move_is_redrawn_in_the_same_round(measure) -> None:
    assert together(measure, ("neck_depth", 8.0), ("narrow_broad_shoulder", -8.0)) == ["narrow_broad_shoulder", "neck_depth"]


def test_there_are_three_at_most_the_first_groups_first(measure) -> None:
    asked = (("neck_width", 6.0), ("neck_depth", 8.0), ("bust_point_height", -8.0), ("narrow_broad_shoulder", -4.0))
    assert together(measure, *asked)[:2] == ["narrow_broad_shoulder", "bust_point_height"]
    assert len(together(measure, *asked)) == 3
