"""Specs as various as life are valid, repeatable, and draw from everything; patterns repeat without a break; hands shake as told."""

from typing import Literal, get_args

import numpy as np
import pytest
from scenes.camera import Camera
from scenes.spec import LINE_COLOURS, USUAL_COLOURS, CameraSpec, Spec
from scenes.specs import draw_spec
from scenes.various import cloths, hands
from scenes.various.draw import LEAST_CONTRAST, vary
from scenes.various.parts import Hand, Print, ThingKind

MANY = [vary(draw_spec(f"scene_{seed}", seed, any_stance=True)) for seed in range(120)]
KINDS = ("checks", "stripes", "flowers", "spots")


def test_the_same_spec_varies_alike_and_reads_back() -> None:
    assert vary(draw_spec("a", 7)) == vary(draw_spec("a", 7))
    for spec in MANY:
        assert Spec.model_validate_json(spec.model_dump_json(by_alias=True, exclude_unset=True)) == spec


def test_who_she_is_and_what_does_not_fit_stay() -> None:
    for seed, spec in enumerate(MANY[:20]):
        plain = draw_spec(f"scene_{seed}", seed, any_stance=True)
        assert (spec.subject, spec.line_offsets_mm, spec.markers) == (plain.subject, plain.line_offsets_mm, plain.markers)


def test_everything_occurs() -> None:
    assert {thing.kind for spec in MANY for thing in spec.room.things} == {*get_args(ThingKind)}
    assert {spec.garment.cloth_print.kind if spec.garment.cloth_print else None for spec in MANY} == {None, "tissue", *KINDS}
    assert {spec.card.stand for spec in MANY} == {"pole", "round", "tripod", "none"}
    assert {spec.wears.hair for spec in MANY} == {"bun", "down", "short"}
    assert {spec.wears.below for spec in MANY} == {"leggings", "skirt", "trousers"}
    assert any(spec.light.flash for spec in MANY)
    assert any(spec.light.fill_rgb[2] < 0.5 for spec in MANY)
    assert {3024, 2268, 1512} == {spec.camera.size[0] for spec in MANY}
    assert any(len({*spec.line_colours.values()}) == 1 for spec in MANY)
    assert any({*spec.hide_lines} == {*USUAL_COLOURS} for spec in MANY)


def test_every_pen_can_be_seen_on_its_cloth() -> None:
    for spec in MANY:
        for pen in spec.line_colours.values():
            assert max(abs(a - b) for a, b in zip(LINE_COLOURS[pen], spec.cloth_rgb, strict=True)) > LEAST_CONTRAST


@pytest.mark.parametrize("kind", KINDS)
def test_a_pattern_meets_itself_when_repeated(kind: Literal["checks", "stripes", "flowers", "spots"]) -> None:
    """The step from the last row to the first, and from the last column, is no larger than steps inside."""
    tile = cloths.cover((0.7, 0.6, 0.5), Print(kind=kind, inks=((0.0, 0.0, 0.0),), repeats=4), 3)
    assert np.ptp(tile) > 60
    for axis in (0, 1):
        inside = np.abs(np.diff(tile, axis=axis)).mean(axis=(1 - axis, 2))
        across = np.abs(np.take(tile, 0, axis) - np.take(tile, -1, axis)).mean()
        assert across <= 1.2 * inside.max()


def test_a_steady_hand_draws_the_line_itself() -> None:
    p = np.stack([np.linspace(0, 0.5, 126), np.zeros(126), np.zeros(126)], 1)
    up, random = np.tile([0.0, 0, 1], (126, 1)), np.random.default_rng(1)
    assert hands.shaken(p, up, Hand(), random) is p
    assert hands.strokes(p, Hand(), random) == [slice(0, 126)]


def test_a_shaky_hand_wanders_on_the_surface_by_its_sd() -> None:
    p = np.stack([np.linspace(0, 20, 5001), np.zeros(5001), np.zeros(5001)], 1)
    moved = hands.shaken(p, np.tile([0.0, 0, 1], (5001, 1)), Hand(shake=1.0), np.random.default_rng(1)) - p
    assert np.abs(moved[:, [0, 2]]).max() < 1e-12
    assert 0.0006 < moved[:, 1].std() < 0.0010  # straight between knots: 0.82 of the knots' sd


def test_gaps_leave_out_their_share_and_dashes_three_eighths() -> None:
    p = np.stack([np.linspace(0, 20, 5001), np.zeros(5001), np.zeros(5001)], 1)

    def drawn(hand: Hand) -> float:
        return sum(run.stop - run.start for run in hands.strokes(p, hand, np.random.default_rng(1))) / len(p)

    assert 0.74 < drawn(Hand(gaps=0.25)) < 0.85  # some gaps overlap
    assert abs(drawn(Hand(dash=24.0)) - 1 / 1.6) < 0.05


def test_a_camera_held_off_level_rolls_the_picture() -> None:
    """Rolled by 2 degrees, a plumb line 1 m high leans by 2 degrees in the picture, whichever way."""
    top, foot = [0.15, 0.0, 1.35], [0.15, 0.0, 0.35]
    angles = []
    for roll in (0.0, 2.0):
        camera = Camera(CameraSpec(roll_deg=roll, jitter=0.0, dist=(0, 0, 0, 0, 0)), np.random.default_rng(0))
        a, b = camera.project(np.array([top, foot]))
        angles.append(float(np.degrees(np.arctan2(a[0] - b[0], b[1] - a[1]))))
    assert abs(abs(angles[1] - angles[0]) - 2.0) < 0.1
