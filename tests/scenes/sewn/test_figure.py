"""How far an edge stands off: a taut one bridges a hollow, and that is no fault."""

import numpy as np
import pytest

from tests.scenes.sewn.figure import Figure, Skin, figure


def hollowed() -> Figure:
    """A trunk 300 wide and 200 deep with a hollow 40 deep across its front at 1300 mm, drawn as points on its skin."""
    z, x = (part.ravel() for part in np.meshgrid(np.arange(1000.0, 1420.0, 5), np.arange(-40.0, 150.0, 5)))
    front = -100 + 40 * np.clip(1 - np.abs(z - 1300) / 50, 0, 1)
    points = np.concatenate([np.column_stack([x, front, z]), np.column_stack([x, np.full(len(x), 100.0), z])])
    normals = np.concatenate([np.tile([0.0, -1.0, 0.0], (len(x), 1)), np.tile([0.0, 1.0, 0.0], (len(x), 1))])
    at = {"back_neck": [0, 100, 1420], "front_neck": [0, -100, 1420], "side_neck_L": [60, 0, 1440], "waist_front": [0, -100, 1100]}
    at |= {"hip_side_L": [150, 0, 1165]}
    return figure(Skin(points, normals, {name: np.array(place, float) for name, place in at.items()}, {}))


def test_an_edge_over_a_hollow_is_measured_from_where_a_taut_one_would_lie() -> None:
    over = np.array([[50.0, -100.0, 1300.0], [50.0, -110.0, 1300.0], [50.0, -112.0, 1200.0], [50.0, -80.0, 1300.0]])
    bridging, gaping, on_flat, dipping = hollowed().stands_off(over)
    assert bridging == pytest.approx(0.0, abs=0.6)
    assert gaping == pytest.approx(10.0, abs=0.6)
    assert on_flat == pytest.approx(12.0, abs=0.6)
    assert dipping < 0
