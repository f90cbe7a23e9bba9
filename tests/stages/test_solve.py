"""Where body and garment lie, and what is tried again."""

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.core.errors import UsageError
from fitcheck.core.fitting import FittingFacts, TapeFacts
from fitcheck.core.records import SeamLine, Sighting
from fitcheck.core.settings import Settings
from fitcheck.stages.solve import evidence_of, place, solve


def placed(photo, name, side, by_px):
    found = next(s for s in photo.stickers if (s.name, s.side) == (name, side))
    return Sighting(name, side, photo.view, "placed", found.xy_px + by_px, 2.0, kind="placed")


def test_every_photo_is_placed_and_the_seams_are_read_off(staged):
    assert list(staged.solved.body.views) == ["front", "right", "back", "left"]
    assert ("shoulder_seam_tip", "wearer_right") in staged.solved.body
    assert staged.solved.flags == ()
    assert staged.solved.evidence.sticker_share == 1.0


def test_a_point_put_right_moves_its_body_point_and_leaves_the_readings(staged):
    right = staged.fitting.photos[1]
    mark = placed(right, "shoulder_point", "wearer_right", np.array([-12.0, 0.0]))  # towards her back, as she faces image right
    moved = solve(staged.fitting, Settings(placed_points=(mark,)))
    by = moved.body.position("shoulder_point", "wearer_right") - staged.solved.body.position("shoulder_point", "wearer_right")
    assert -12 < by[2] < -2  # mm; what else is known of her body holds it back
    assert moved.seams == staged.solved.seams
    assert mark in moved.marks["right"]
    assert mark not in staged.solved.marks["right"]


def test_a_sticker_far_off_that_is_put_right_gives_what_the_right_one_gave(staged):
    """Where the search starts from must not matter: the body was first placed with the wrong one."""
    right = staged.fitting.photos[1]
    mark = placed(right, "shoulder_point", "wearer_right", np.zeros(2))
    wrong = tuple(replace(s, xy_px=s.xy_px + [60.0, 40.0]) if s.name == "shoulder_point" else s for s in right.stickers)
    photos = tuple(replace(p, stickers=wrong) if p.view == "right" else p for p in staged.fitting.photos)
    led_astray = replace(staged.fitting, photos=photos, body=place(photos, place(replace(p, outline=None) for p in photos)))
    found, expected = (solve(f, Settings(placed_points=(mark,))).body for f in (led_astray, staged.fitting))
    assert np.abs(found.positions_mm - expected.positions_mm).max() < 0.5


def test_a_seam_put_right_is_measured_in_place_of_the_one_read(staged):
    seam = next(line for line in staged.fitting.photos[1].garment.lines if line.name == "side")
    line = SeamLine("side", seam.side, "right", seam.points_px + [8.0, 0.0], 1.0, "placed")
    moved = solve(staged.fitting, Settings(placed_seams=(line,)))
    assert [s for s in moved.seams["right"] if s.name == "side"] == [line]
    by = moved.body.position("side_seam_waist", seam.side) - staged.solved.body.position("side_seam_waist", seam.side)
    assert by[2] == pytest.approx(8 * staged.agreed[1].scale.mm_per_px, abs=3)  # towards image right, as she faces


def test_a_tape_that_is_longer_all_round_is_taken_for_a_card_printed_off_size(staged):
    own = {"bust": 0.0, "waist": 0.0, "hip": 0.0, "height": 0.0}
    asked = solve(staged.fitting, Settings(FittingFacts(tape=TapeFacts(bust=900.0, waist=700.0, hip=950.0, height=1650.0))))
    own = {check.id: check.own_mm * 1.08 for check in asked.tape}
    longer = solve(staged.fitting, Settings(FittingFacts(tape=TapeFacts(**own))))
    assert "tape_disagrees" in longer.flags
    assert longer.evidence.sticker_share is None
    assert longer.body.sd("crown")[1] > 2 * staged.solved.body.sd("crown")[1]


def test_evidence_is_of_usable_photos_and_changes_by_copies(staged):
    photos = [replace(staged.fitting.photos[0], usable=False), *staged.fitting.photos[1:]]
    evidence = evidence_of(photos)
    assert "front" not in evidence.scales
    assert {s.view for s in evidence.sightings} == {"right", "back", "left"}
    doubted = evidence.doubting_the_card(0.05)
    assert all(doubted.scales[view].scale_sd == pytest.approx(np.hypot(evidence.scales[view].scale_sd, 0.05)) for view in evidence.scales)
    assert evidence.scales["right"].scale_sd < 0.02


def test_pixels_of_a_half_size_copy_are_asked_about_and_move_nothing(staged):
    right = staged.fitting.photos[1]
    mark = placed(right, "shoulder_point", "wearer_right", np.zeros(2))
    half = replace(mark, xy_px=mark.xy_px / 2)
    asked, sure, unmarked = (
        solve(fitting, Settings(placed_points=points))
        for fitting, points in (
            (staged.fitting, (half,)),
            (staged.fitting, (replace(half, kind="placed_sure"),)),
            (staged.fitting, (replace(mark, sd_px=500.0),)),
        )
    )
    assert "Times 2 they would fit" in asked.questions[0]
    place = [solved.body.position("shoulder_point", "wearer_right") for solved in (asked, unmarked, sure)]
    assert np.abs(place[0] - place[1]).max() < 10
    assert sure.questions == ()
    assert np.abs(place[2] - place[1]).max() > 10


def test_a_point_outside_its_picture_is_refused(staged):
    mark = replace(placed(staged.fitting.photos[1], "shoulder_point", "wearer_right", np.zeros(2)), xy_px=np.array([9000.0, 300.0]))
    with pytest.raises(UsageError, match="outside the right photo, which has 1500 x 2000 pixels"):
        solve(staged.fitting, Settings(placed_points=(mark,)))


def test_a_half_tissue_that_swings_before_her_is_told(staged):
    """Its front edge seen from the side 60 mm before where it hangs pinned, from the waist down; a full garment may stand off so."""

    def swung(photo):
        outline = photo.outline
        body = staged.solved.body
        waist = body.views[photo.view].project(body.position("waist_front"))[0, 1]
        below = np.clip((outline.rows_px - waist) / 120 + 0.5, 0, 1) * 60 / photo.scale.mm_per_px
        edges = outline.edges_px.copy()
        front = 1 if photo.view == "right" else 0
        edges[front] += below if front else -below
        return replace(photo, outline=replace(outline, edges_px=edges))

    photos = tuple(swung(photo) if photo.view in ("right", "left") else photo for photo in staged.fitting.photos)
    whole = replace(staged.fitting, photos=photos, body=None)
    assert "tissue_swings" in solve(replace(whole, half="wearer_right"), Settings()).flags
    assert "tissue_swings" not in solve(whole, Settings()).flags
    assert "tissue_swings" not in solve(replace(staged.fitting, half="wearer_right"), Settings()).flags
