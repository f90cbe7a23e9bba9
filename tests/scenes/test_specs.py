"""Drawn specs are valid, varied and repeatable."""

import json
from pathlib import Path

import pytest
from pydantic import ValidationError
from scenes.spec import Spec
from scenes.specs import CAUSES, SHORT, UNREADABLE, draw_half_spec, draw_spec
from scenes.truth import differences

MANY = [draw_spec(f"scene_{seed}", seed) for seed in range(80)]


def test_the_same_seed_draws_the_same_scene() -> None:
    assert draw_spec("a", 7) == draw_spec("a", 7)
    assert draw_spec("a", 7) != draw_spec("a", 8)


def test_a_written_spec_reads_back() -> None:
    for spec in MANY:
        assert Spec.model_validate_json(spec.model_dump_json(by_alias=True, exclude_unset=True)) == spec


def test_controls_change_nothing_and_misfits_something() -> None:
    for spec in MANY:
        changed = any(differences(spec.reference, spec.subject).values()) or bool(spec.line_offsets_mm)
        assert changed == (spec.note != "control"), spec.note
    assert 10 <= sum(spec.note == "control" for spec in MANY) <= 32


def test_everything_asked_for_occurs() -> None:
    assert {spec.markers for spec in MANY} == {"none", "aruco", "pointer", "dots"}
    assert {cause for spec in MANY for cause in spec.note.split(" + ")} == {*CAUSES, "control"}
    assert any(spec.garment.front_pins for spec in MANY)
    assert any(spec.hide_lines for spec in MANY)
    assert draw_spec("a", 1, markers="dots", control_share=1.0).note == "control"


def test_half_tissues_differ_in_side_cloth_edge_and_cause() -> None:
    halves = [draw_half_spec(f"half_{seed}", seed) for seed in range(80)]
    half = [spec.garment.half for spec in halves if spec.garment.half]
    assert len(half) == len(halves)
    assert {spec.letters for spec in halves} == {("L",), ("R",)}
    assert {one.beyond_mm for one in half} == {15.0, 10.0, 2.5, 0.0}
    assert {one.held_by for one in half} == {"pins", "tape"}
    assert {cause for spec in halves for cause in spec.note.split(" + ")} == {*CAUSES, *SHORT, "control"} - {"centre back"}
    for spec in halves:
        if spec.note == "control":
            assert not spec.line_offsets_mm
            assert not any(differences(spec.reference, spec.subject).values())
            assert spec.garment.half
            assert not any(spec.garment.half.front_short_mm.model_dump().values())
    assert min(one.front_short_mm.bust for one in half) < -4
    assert max(one.front_short_mm.bust for one in half) > 15


def test_pens_can_be_read_on_the_cloth() -> None:
    assert not [spec for spec in MANY if {*spec.line_colours.values()} & {*UNREADABLE[str(spec.cloth)]}]


def test_causes_of_one_group_add_up() -> None:
    both = [spec for spec in MANY if {"round back", "forward shoulder"} <= {*spec.note.split(" + ")}]
    for spec in both:
        assert differences(spec.reference, spec.subject)["posture"]["upper_back_round"] >= 2
    assert both


@pytest.mark.parametrize(
    "wrong",
    [
        {"markers": "paint"},
        {"cloth": "chain mail"},
        {"line_offsets_mm": {"waist_sideways": 3}},
        {"hide_lines": ["collar"]},
        {"subject": {"posture": {"handstand": 180}}},
    ],
)
def test_unknown_words_are_refused(wrong: dict) -> None:
    with pytest.raises(ValidationError):
        Spec.model_validate({"name": "a", **wrong})


def test_the_scene_of_the_first_spec_files_can_still_be_read(tmp_path: Path) -> None:
    old = {
        "name": "s",
        "seed": 3,
        "light": {"from": "right", "window": 90},
        "views": {"front": {"yaw_err_deg": 0.4}},
        "cloth": [0.5, 0.5, 0.4],
    }
    spec = Spec.model_validate_json(json.dumps(old))
    assert spec.light.from_side == "right"
    assert spec.cloth_rgb == (0.5, 0.5, 0.4)
    assert spec.as_preview().camera.size == (600, 800)


def test_women_in_any_stance_have_their_arms_clear_and_controls_wear_what_was_cut_for_them() -> None:
    drawn = [draw_spec("a", seed, any_stance=True) for seed in range(80)]
    backs = [spec.subject.posture.arm_back for spec in drawn]
    assert min(backs) < 0 < 50 < max(backs)
    assert all(spec.subject.posture.arm_add < 33 for spec in drawn)
    one_sided = [abs(spec.subject.posture.shoulder_forward_right_extra) for spec in drawn]
    assert max(one_sided) > 5
    for spec in drawn:
        assert spec.reference.posture.arm_back == spec.subject.posture.arm_back
        assert (spec.note == "control") == (spec.reference == spec.subject and not spec.line_offsets_mm)
