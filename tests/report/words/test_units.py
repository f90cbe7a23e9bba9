"""Worked by hand: 1 in = 25.4 mm, 1/8 in = 3.175 mm."""

import pytest

from fitcheck.core.errors import KnowledgeError
from fitcheck.report.words.units import Units, amount, angle, fill, length, margin, plus_minus, quantity, quantity_margin, refill


@pytest.mark.parametrize(
    ("mm", "cm", "inches"),
    [
        (0, "0 cm", "0 in"),
        (0.4, "0 cm", "0 in"),
        (-0.4, "0 cm", "0 in"),
        (0.5, "0.1 cm", "0 in"),
        (1.58, "0.2 cm", "0 in"),  # 1.58 / 3.175 = 0.498 eighths
        (1.59, "0.2 cm", "1/8 in"),  # 0.501
        (6.35, "0.6 cm", "1/4 in"),
        (10, "1.0 cm", "3/8 in"),  # 3.15
        (12.7, "1.3 cm", "1/2 in"),
        (15.875, "1.6 cm", "5/8 in"),
        (19.05, "1.9 cm", "3/4 in"),
        (22.225, "2.2 cm", "7/8 in"),
        (25, "2.5 cm", "1 in"),  # 7.87
        (25.4, "2.5 cm", "1 in"),
        (-34.925, "−3.5 cm", "−1 3/8 in"),
        (-12.3, "−1.2 cm", "−1/2 in"),  # 3.87
        (1636, "163.6 cm", "64 3/8 in"),  # 64.41 in = 64 and 3.27 eighths
    ],
)
def test_length(mm: float, cm: str, inches: str) -> None:
    assert length(mm, "cm") == cm
    assert length(mm, "in") == inches


@pytest.mark.parametrize(
    ("sd_mm", "cm", "inches"),
    [
        (0.0, "0.1 cm", "1/8 in"),  # never less than one step
        (0.2, "0.1 cm", "1/8 in"),
        (1.4, "0.3 cm", "1/8 in"),  # 2.8 mm; 0.88 eighths
        (1.5, "0.3 cm", "1/8 in"),
        (1.54, "0.3 cm", "1/8 in"),  # 3.08 mm: a tenth of a step is let go
        (1.6, "0.4 cm", "1/8 in"),  # 3.2 mm -> 4; but 1.008 eighths: a tenth of a step is let go
        (4.0, "0.8 cm", "3/8 in"),  # 2.52 eighths -> 3
    ],
)
def test_margin_is_twice_the_sd_rounded_up(sd_mm: float, cm: str, inches: str) -> None:
    assert margin(sd_mm, "cm") == cm
    assert margin(sd_mm, "in") == inches


def test_plus_minus() -> None:
    assert plus_minus(10.2, 1.4, "cm") == "1.0 cm ± 0.3 cm"
    assert plus_minus(-10.2, 1.4, "in") == "−3/8 in ± 1/8 in"


def test_angles() -> None:
    assert angle(1.3) == "1.3°"
    assert angle(-1.34) == "−1.3°"
    assert angle(-0.04) == "0.0°"
    assert quantity(-1.3, "deg", "in") == "−1.3°"
    assert quantity(10, "mm", "in") == "3/8 in"
    assert quantity_margin(0.41, "deg", "cm") == "0.9°"  # 0.82 rounded up
    assert quantity_margin(0.4, "deg", "cm") == "0.8°"
    assert quantity_margin(0.001, "deg", "cm") == "0.1°"


def test_sentences_are_filled() -> None:
    text = "Raise by {amount}, half of it {half_amount}; the seam lies {mm:12.3} behind and leans {deg:1.3}, formerly {mm:-4}."
    assert fill(text, "cm", 10) == "Raise by 1.0 cm, half of it 0.5 cm; the seam lies 1.2 cm behind and leans 1.3°, formerly −0.4 cm."
    assert fill(text, "in", -10) == "Raise by 3/8 in, half of it 1/4 in; the seam lies 1/2 in behind and leans 1.3°, formerly −1/8 in."
    assert fill("Nothing to fill.", "in") == "Nothing to fill."


@pytest.mark.parametrize("text", ["{amout}", "{amount}", "{mm:}", "{mm:ten}", "{}", "{kg:1}"])
def test_an_unknown_field_is_refused(text: str) -> None:
    with pytest.raises(KnowledgeError, match="cannot be filled"):
        fill(f"Take {text} off.", "cm")


@pytest.mark.parametrize(
    ("mm", "units", "told"),
    [(7.5, "cm", "0.75 cm"), (-12.5, "cm", "1.25 cm"), (10, "cm", "1.0 cm"), (8, "cm", "0.8 cm"), (3.75, "cm", "0.4 cm"), (0, "cm", "0 cm")]
    + [
        (9.525, "in", "3/8 in"),
        (10.5, "in", "3/8 in"),
        (9.525 / 2, "in", "3/16 in"),
        (11.1125, "in/16", "7/16 in"),
        (12.7, "in/16", "1/2 in"),
        (31.75, "in", "1 1/4 in"),
    ],
)
def test_amounts_are_told_as_a_ruler_has_them(mm: float, units: Units, told: str) -> None:
    assert amount(mm, units) == told
    assert fill(f"{{cut:{mm}}}", units) == told
    assert fill("{amount}", units, mm) == told


def test_kept_sentences_are_told_in_the_units_of_who_reads_them():
    """10 mm are 1.0 cm and 3/8 in; what was kept in words, or comes with an archive and is no field of ours, stays as it is."""
    kept = "This round: forward shoulder, {cut:10.0}, seen {mm:12.3} off by {deg:1.32}."
    assert refill(kept, "cm") == "This round: forward shoulder, 1.0 cm, seen 1.2 cm off by 1.3°."
    assert refill(kept, "in") == "This round: forward shoulder, 3/8 in, seen 1/2 in off by 1.3°."
    strange = "This round: forward shoulder, 1.0 cm {hem} {mm:x} {amount}"
    assert refill(strange, "in") == strange
