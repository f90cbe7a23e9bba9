"""Propagation through a hand-made solution: two lengths sharing a scale error of 1 %, each end read to 1 mm."""

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.core.solution import Solution


def two_lengths() -> Solution:
    """Points at 500 and 490 mm on x, each known to 1 mm ("pixel"), and a common relative scale known to 1 % ("scale").

    Parameters are the six coordinates and the scale s; the readings are x (1 + s), so a row says dx + x ds.
    """
    keys = (("a", None), ("b", None))
    at = np.array([[500.0, 0, 0], [490.0, 0, 0]])
    rows, sources = [], []
    for i, x in enumerate((500.0, 490.0)):
        row = np.zeros(7)
        row[3 * i], row[6] = 1.0, -x
        rows.append(row)
        sources.append("pixel")
        for axis in (1, 2):
            held = np.zeros(7)
            held[3 * i + axis] = 1.0
            rows.append(held)
            sources.append("pixel")
    rows.append(np.r_[np.zeros(6), 1 / 0.01])
    sources.append("scale")
    design = np.array(rows)
    return Solution(keys, at, design, tuple(sources), design.T @ design, {}, {}, np.zeros(7))


def test_a_shared_scale_error_cancels_in_a_difference():
    """500 mm - 490 mm is 10 mm to 1.4 mm, not to 7 mm (JCGM 100:2008, 5.2, correlated input quantities)."""
    difference = two_lengths().derive(lambda a, b: float(a[0] - b[0]), [("a", None), ("b", None)])
    assert difference.value == pytest.approx(10)
    assert difference.sd == pytest.approx(np.sqrt(2 + 0.1**2), rel=1e-3)
    assert difference.sources["scale"] == pytest.approx(0.1, rel=1e-3)
    assert difference.sources["pixel"] == pytest.approx(np.sqrt(2), rel=1e-3)


def test_a_length_alone_bears_it():
    length = two_lengths().derive(lambda a: float(a[0]), [("a", None)])
    assert length.sd == pytest.approx(np.sqrt(5.0**2 + 1), rel=1e-3)


def test_the_gradient_of_a_curved_formula():
    """The distance of a from the origin has gradient (1, 0, 0) there."""
    distance = two_lengths().derive(lambda a: float(np.linalg.norm(a)), [("a", None)])
    assert distance.sd == pytest.approx(np.sqrt(26), rel=1e-3)


def test_the_end_gauge_of_the_guide():
    """JCGM 100:2008, annex H.1 (from memory): a 50 mm end gauge by comparison with a standard, u_c = 32 nm.

    l = l_s + d - l_s (da t + a_s dt), here in nm, 1e-6/K and K. Each row is one input's own standard uncertainty.
    """
    inputs = (  # value, standard uncertainty, source
        (50_000_623.0, 25.0, "standard"),
        (215.0, 5.8, "comparator"),  # mean of five readings
        (0.0, 3.9, "comparator"),  # its random effects
        (0.0, 6.7, "comparator"),  # its systematic effects
        (0.0, 0.58, "expansion"),  # da, difference of expansion
        (0.0, 0.029, "temperature difference"),  # dt
        (-0.1, 0.41, "temperature"),  # t
        (11.5, 1.2, "expansion of the standard"),  # a_s
        (0.0, 1.0, "nothing"),
    )
    values, sds = np.array([row[0] for row in inputs]), np.array([row[1] for row in inputs])
    keys = (("gauge", None), ("comparison", None), ("room", None))
    rows = np.diag(1 / sds)
    solution = Solution(keys, values.reshape(3, 3), rows, tuple(row[2] for row in inputs), np.diag(1 / sds**2), {}, {}, np.zeros(9))

    def length_nm(gauge, comparison, room):
        standard, *readings = (*gauge, comparison[0])
        return float(standard + sum(readings) - standard * 1e-6 * (comparison[1] * room[0] + room[1] * comparison[2]))

    found = solution.derive(length_nm, keys)
    assert found.value == pytest.approx(50_000_838, abs=0.5)
    assert found.sd == pytest.approx(32, abs=0.5)
    shares = {"standard": 25, "comparator": 9.7, "temperature difference": 16.6, "expansion": 2.9}
    assert {name: found.sources[name] for name in shares} == pytest.approx(shares, abs=0.1)
    assert all(found.sources.get(name, 0) < 0.01 for name in ("temperature", "expansion of the standard", "nothing"))


def test_reach_of_the_trunk_between_its_sections():
    """Half way between sections that reach 100 and 140 mm to her left it is 120; beyond the ends the nearest counts."""
    reach = np.array([[100.0, 80, 90, 70], [140.0, 60, 110, 50]])
    body = replace(two_lengths(), section_heights_mm=np.array([900.0, 1000.0]), section_reach_mm=reach)
    assert [body.reach_mm(950.0, quarter) for quarter in range(4)] == [120.0, 70.0, 100.0, 60.0]
    assert body.reach_mm(1200.0, 2) == 110.0


def test_strain_multiplies_every_doubt():
    """Readings that agree half as well as they should (1.5 times the doubts): 1.4 mm become 2.1, in every source alike."""
    usual = two_lengths()
    strained = replace(usual, strain=1.5)
    told, more = (body.derive(lambda a, b: float(a[0] - b[0]), [("a", None), ("b", None)]) for body in (usual, strained))
    assert more.value == told.value
    assert more.sd == pytest.approx(1.5 * told.sd)
    assert more.sources["pixel"] == pytest.approx(1.5 * told.sources["pixel"])
    assert strained.sd("a") == pytest.approx(1.5 * usual.sd("a"))
