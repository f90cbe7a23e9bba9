"""Who is in each photo."""

from dataclasses import replace

import numpy as np

from fitcheck.stages.people import find_everyone


def test_each_photo_has_its_own_wearer_and_an_empty_one_has_nobody(staged):
    front, right = staged.photos[:2]
    found = list(find_everyone([right, replace(front, rgb=np.full((800, 600, 3), 200, np.uint8)), front]))
    assert [pose is not None for pose in found] == [True, False, True]
    np.testing.assert_array_equal(found[2].points_px, staged.seen[0].pose.points_px)
