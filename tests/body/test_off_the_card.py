"""Who stands a step off the card is told what to move; who stands beside it is told nothing."""

from dataclasses import replace

import pytest
import rig

from fitcheck.body.adjust import adjust
from fitcheck.body.off_the_card import off_or_misprinted, off_the_card
from fitcheck.core.camera import FloorSeen
from fitcheck.core.evidence import Evidence
from fitcheck.core.records import VIEWS
from fitcheck.report.words.units import fill

from .test_sticker_size import with_stickers


def said(behind_mm: float, floor: FloorSeen | None = None) -> tuple[str, ...]:
    scale = replace(rig.scale_at(), inset_px=0.355, floor=floor)
    scales = dict.fromkeys(VIEWS, scale)
    evidence = Evidence(scales, with_stickers(scale, 31.0, behind_mm)).sized_by_stickers(1.0)
    return off_the_card(adjust(evidence), scales)


def centimetres(sentence: str) -> float:
    return float(next(word for word in fill(sentence, "cm").replace(" cm", "cm ").split() if word.endswith("cm"))[:-2])


def test_beside_the_card_nothing_is_said() -> None:
    assert said(0.0) == ()


def test_she_stood_behind_the_card() -> None:
    (sentence,) = said(400.0)
    assert sentence.startswith("You stood {mm:")
    assert "behind the scale card" in sentence
    assert centimetres(sentence) == pytest.approx(40, rel=0.2)


def test_the_card_hangs_behind_her() -> None:
    (sentence,) = said(-400.0)
    assert sentence.startswith("The scale card hangs {mm:")
    assert centimetres(sentence) == pytest.approx(40, rel=0.2)


def test_beside_floor_sheets_they_are_spoken_of() -> None:
    (sentence,) = said(400.0, FloorSeen(("left", "right"), 12, None))
    assert "behind the line of the floor sheets" in sentence


def test_stickers_too_large_beside_a_card_that_nobody_measured_may_mean_either() -> None:
    """5 % of 2.9 m: the card hangs 14 cm behind her, or was printed at 95 %."""
    scale = rig.scale_at()
    (sentence,) = off_or_misprinted(1.05, [scale] * 4)
    assert "5 % larger" in sentence
    assert "behind you" in sentence
    assert centimetres(sentence) == pytest.approx(scale.distance_mm * (1 - 1 / 1.05) / 10, abs=0.2)
    (sentence,) = off_or_misprinted(0.95, [scale] * 4)
    assert "before you" in sentence


def test_beside_floor_sheets_or_without_enough_stickers_no_card_is_suspected() -> None:
    on_floor = replace(rig.scale_at(), floor=FloorSeen(("left", "right"), 12, None))
    assert off_or_misprinted(1.05, [on_floor]) == ()
    assert off_or_misprinted(None, [rig.scale_at()]) == ()


def test_no_print_is_off_by_a_third_so_the_card_hangs_behind_her() -> None:
    """On the wall 80 cm behind her, seen from 2.5 m: the stickers look 31 % larger than its scale says."""
    (sentence,) = off_or_misprinted(1.31, [rig.scale_at()] * 4)
    assert sentence.startswith("The scale card hangs {mm:")
    assert centimetres(sentence) == pytest.approx(rig.scale_at().distance_mm * (1 - 1 / 1.31) / 10, abs=0.2)
