"""The key of folds read together is that of a measurement."""

import pytest

from fitcheck.core.folds import FoldGroup


@pytest.mark.parametrize(("at", "side", "key"), [("bust_point", "wearer_left", "fold_fan_bust_point_L"), ("hip", None, "fold_fan_hip")])
def test_key(at, side, key):
    assert FoldGroup("fold_fan", at, side, "front", (0,), 1.0, None, None, True).key == key
