"""Grey levels as light."""

import numpy as np
import pytest

from fitcheck.core.light import light_of


def test_the_ends_of_the_scale_and_its_middle():
    """Half of full light is coded as 186 of 255; grey level 128 is a fifth of full light."""
    assert light_of(np.array([0, 255])) == pytest.approx([0, 1])
    assert light_of(np.array([186.0, 128.0])) == pytest.approx([0.5, 0.22], abs=0.003)
