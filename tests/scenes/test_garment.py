"""A shell cut in half, by hand: a sheet before the body and one behind."""

import numpy as np
from scenes.garment import half_of
from scenes.mesh import triangles


def test_a_half_ends_where_it_is_told_before_and_behind() -> None:
    x, z = np.meshgrid(np.linspace(-0.1, 0.1, 21), np.linspace(0.8, 1.2, 41))
    index = np.arange(x.size).reshape(x.shape)
    quads = np.stack([index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1]], -1).reshape(-1, 4)
    front, back = (np.stack([x.ravel(), np.full(x.size, y), z.ravel()], 1) for y in (-0.1, 0.1))
    side = np.array([[40 * 21, 40 * 21 + 1, x.size + 40 * 21], [20, 19, x.size + 20]])  # joined at both upper corners, as at the shoulders
    tris = np.concatenate([triangles(quads), triangles(quads) + x.size, side])
    shell = np.concatenate([front, back])
    for letter, sign in (("L", 1), ("R", -1)):
        s, kept = half_of(shell, tris, letter, np.full(len(shell), 0.012), np.full(len(shell), -0.008))
        worn = s @ shell
        assert kept.max() < len(worn)
        before = worn[:, 1] < 0
        assert np.isclose((worn[before, 0] * sign).min(), 0.012, atol=3e-4)
        assert np.isclose((worn[~before, 0] * sign).min(), -0.008, atol=3e-4)
