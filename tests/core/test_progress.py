"""How far a check is, in words."""

from fitcheck.core.progress import AtPhoto


def test_the_photo_that_is_read():
    assert AtPhoto("back", 3, 4).says == "reading the back, 3 of 4"
    assert AtPhoto("right", 1, 1).says == "reading your right side, 1 of 1"
