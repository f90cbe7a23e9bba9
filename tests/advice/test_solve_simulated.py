"""The solver's claims against known causes in simulated fittings; the full figures come from tests/benchmarks/solver.py."""

import numpy as np


def test_claims_hold_in_simulated_fittings_with_a_fifth_missing_and_one_wild(simulation) -> None:
    figures = simulation["simulate"](100, seed=20, missing=0.2, wild=True)
    assert figures.right / figures.claims > 0.82
    assert figures.found / figures.clear > 0.85
    assert np.median(figures.errors_mm) < 2.5
    assert np.mean(np.abs(figures.pulls) < 2) > 0.9
    for probability, frequency, number in figures.calibration():
        assert abs(probability - frequency) < 0.03 + 2.6 * np.sqrt(probability * (1 - probability) / number)


def test_simulated_garments_that_fit_are_left_alone(simulation) -> None:
    figures = simulation["simulate"](60, seed=21, most=0)
    assert figures.claims <= 6
