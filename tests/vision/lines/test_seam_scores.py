"""Each seam's own line fits its name best."""

from dataclasses import replace

import numpy as np
import pytest
from vision.drawn_seams import frame, straight

from fitcheck.core.records import View
from fitcheck.vision.lines.seam_scores import inked, measures, run_of, scores


@pytest.mark.parametrize(
    ("view", "ends", "key"),
    [
        ("front", ((500, 250), (500, 780)), ("centre_front", None)),
        ("front", ((600, 360), (605, 750)), ("princess", "wearer_left")),
        ("front", ((570, 365), (630, 365)), ("bust_tick", "wearer_left")),
        ("front", ((310, 550), (690, 552)), ("waist", None)),
        ("front", ((430, 128), (335, 163)), ("shoulder", "wearer_right")),
        ("back", ((500, 250), (502, 780)), ("centre_back", None)),
        ("back", ((310, 400), (320, 780)), ("side", "wearer_left")),
        ("right", ((480, 380), (482, 780)), ("side", "wearer_right")),
        ("right", ((590, 380), (592, 780)), ("princess", "wearer_right")),
        ("left", ((510, 130), (500, 160)), ("shoulder", "wearer_left")),
    ],
)
def test_a_line_fits_the_seam_it_is_best(view: View, ends: tuple, key: tuple) -> None:
    at = frame(view)
    fit = scores(run_of(straight(*ends), at), at)
    assert max(fit, key=lambda name: fit[name]) == key
    assert fit[key] > 0.5


def test_the_measures_of_a_line() -> None:
    upright = measures(straight((600, 250), (600, 750)), frame("front"))
    # half way from the garment's middle to its outline, 100 px of 170 from the shoulders' middle, a tenth of the trunk down and beyond
    assert upright[:7] == pytest.approx([0.5, 0.5, 0.5, 100 / 170, 0.6, 0.1, 1.1], abs=0.01)
    assert upright[7:11] == pytest.approx([1.0, 0.0, np.log(450), 0.0], abs=1e-6)
    falling = [straight((600, 300), (650, 350)), straight((400, 300), (350, 350)), straight((350, 350), (400, 300))]
    assert [measures(line, frame("front"))[8] for line in falling] == pytest.approx([0.5] * 3)  # outwards on either side, either way drawn


def test_both_sides_of_the_body_are_read_alike() -> None:
    front = frame("front")
    assert measures(straight((600, 360), (605, 750)), front) == pytest.approx(measures(straight((400, 360), (395, 750)), front), abs=0.01)
    right, left = straight((590, 380), (592, 780)), straight((430, 380), (428, 780))
    assert measures(right, frame("right")) == pytest.approx(measures(left, frame("left")), abs=0.05)


def test_the_rim_of_a_sticker_on_the_shoulder_is_no_seam() -> None:
    at = frame("front")
    assert ("shoulder", "wearer_right") in scores(run_of(straight((400, 138), (360, 153)), at), at)  # 38 mm
    assert ("shoulder", "wearer_right") not in scores(run_of(straight((395, 140), (365, 151)), at), at)  # 29 mm


def test_what_is_missing_to_one_is_how_likely_a_line_is_no_seam() -> None:
    for view in ("front", "right", "back", "left"):
        at = frame(view)
        for line in (straight((500, 250), (500, 780)), straight((520, 480), (545, 505)), straight((0, 0), (40, 900))):
            fit = scores(run_of(line, at), at)
            assert all(0 <= share <= 1 for share in fit.values())
            assert sum(fit.values()) <= 1 + 1e-9


def test_a_bust_mark_that_nearly_reaches_the_outline_is_no_dart() -> None:
    at = frame("front")
    fit = scores(run_of(straight((600, 365), (678, 367)), at), at)  # level, inner end half way out
    assert fit["bust_tick", "wearer_left"] > 1.5 * fit["dart", "wearer_left"]


@pytest.mark.parametrize(
    ("change", "sure"), [((-1.0, 0.0, 0.0), True), ((-0.3, 0.5, 0.2), True), ((-0.4, -0.06, -0.08), False), ((0.45, 0.05, 0.1), False)]
)
def test_a_colourless_line_hardly_darker_than_its_cloth_may_be_shade(change: tuple, sure: bool) -> None:
    curve = replace(straight((430, 128), (335, 163)), change=np.array(change))
    assert (inked(run_of(curve, frame("front"))) > 0.9) == sure
