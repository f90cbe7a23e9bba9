"""Drawn specs with floor sheets are valid, repeatable, and a dozen and a half hold every set-up."""

import math

from scenes.floor_specs import draw_floor_spec
from scenes.spec import Spec

MANY = [draw_floor_spec(f"scene_{seed}", seed) for seed in range(100, 118)]


def test_the_same_seed_draws_the_same_scene() -> None:
    assert draw_floor_spec("a", 7) == draw_floor_spec("a", 7)
    assert draw_floor_spec("a", 7) != draw_floor_spec("a", 8)


def test_a_written_spec_reads_back() -> None:
    for spec in MANY:
        assert Spec.model_validate_json(spec.model_dump_json(by_alias=True, exclude_unset=True)) == spec


def test_every_set_up_occurs() -> None:
    assert {spec.card.held for spec in MANY} == {"stand", "frame", "wall", "nothing"}
    assert any(spec.card.held == "frame" and abs(spec.card.roll_deg) >= 2 for spec in MANY)
    assert {spec.room.laid for spec in MANY} == {"planks", "tiles", "boards"}
    assert {spec.camera.size for spec in MANY} == {(3024, 4032), (1080, 1920)}
    for holds in (
        lambda s: s.room.carpet and s.floor_sheets[0].ripple_mm > 0,
        lambda s: s.room.cupboard is not None,
        lambda s: s.toe_strips is not None,
        lambda s: s.print_share != 1.0,
        lambda s: any(sheet.curl_mm > 8 for sheet in s.floor_sheets),
        lambda s: all(sheet.curl_mm == 0 for sheet in s.floor_sheets),
        lambda s: any(sheet.views for sheet in s.floor_sheets),
        lambda s: any(sheet.print_share != 1.0 for sheet in s.floor_sheets),
        lambda s: any(abs(sheet.pos_m[0]) < 0.22 for sheet in s.floor_sheets),
    ):
        assert 0 < sum(map(holds, MANY)) < len(MANY)


def test_cameras_see_the_floor_at_a_grazing_angle_from_two_to_four_metres() -> None:
    for spec in MANY:
        assert 2.0 <= spec.camera.distance_m <= 4.0
        assert 14 <= math.degrees(math.atan(spec.camera.height_m / spec.camera.distance_m)) <= 31
    lenses = [spec.camera.f35_mm for spec in MANY]
    assert min(lenses) < 30
    assert max(lenses) > 54


def test_a_moved_sheet_lies_in_every_photo_once() -> None:
    for spec in MANY:
        for which in ("left", "right"):
            views = [
                view for sheet in spec.floor_sheets if sheet.which == which for view in sheet.views or ("front", "right", "back", "left")
            ]
            assert sorted(views) == ["back", "front", "left", "right"]
