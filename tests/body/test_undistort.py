"""Pixels freed of a lens' bending, against the formula forward (Brown, k1 alone)."""

from dataclasses import replace

import numpy as np
import pytest
import rig

from fitcheck.body.undistort import undistorted


def test_a_bent_pixel_goes_back_where_a_straight_lens_shows_it():
    camera = replace(rig.scale_at().camera, distortion=np.array([0.08, 0.0, 0.0, 0.0, 0.0]))
    middle, focal = camera.matrix[:2, 2], camera.matrix[0, 0]
    straight = middle + [[0.0, 0.0], [300.0, -200.0]]
    aside = (straight - middle) / focal
    bent = middle + (straight - middle) * (1 + 0.08 * (aside**2).sum(axis=1))[:, None]
    assert undistorted(camera, bent) == pytest.approx(straight, abs=0.01)
    assert undistorted(camera, np.zeros((0, 2))).shape == (0, 2)
