"""Each seam's own line fits its name best."""

from dataclasses import replace

import numpy as np
import pytest
from vision.drawn_seams import frame, straight

from fitcheck.core.records import View
from fitcheck.vision.lines.seam_scores import inked, run_of, scores


@pytest.mark.parametrize(
    ("view", "ends", "key"),
    [
        ("front", ((500, 250), (500, 780)), ("centre_front", None)),
        ("front", ((600, 360), (605, 750)), ("princess", "wearer_left")),
        ("front", ((570, 365), (630, 365)), ("bust_tick", "wearer_left")),
        ("front", ((310, 550), (690, 552)), ("waist", None)),
        ("front", ((380, 160), (300, 190)), ("shoulder", "wearer_right")),
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


def test_the_measures_of_a_run() -> None:
    run = run_of(straight((500, 250), (500, 750)), frame("front"))
    assert run.steep == pytest.approx(90)
    assert (run.top, run.bottom, run.across) == pytest.approx((0.1, 1.1, 0.0))
    assert run.length_mm == pytest.approx(450)
    assert np.isclose(run.level, 0.6)


def test_a_bust_mark_that_nearly_reaches_the_outline_is_no_dart() -> None:
    at = frame("front")
    fit = scores(run_of(straight((600, 365), (678, 367)), at), at)  # level, inner end half way out
    assert fit["bust_tick", "wearer_left"] > 1.5 * fit["dart", "wearer_left"]


@pytest.mark.parametrize(
    ("change", "sure"), [((-1.0, 0.0, 0.0), True), ((-0.3, 0.5, 0.2), True), ((-0.4, -0.06, -0.08), False), ((0.45, 0.05, 0.1), False)]
)
def test_a_colourless_line_hardly_darker_than_its_cloth_may_be_shade(change: tuple, sure: bool) -> None:
    at = frame("front")
    curve = straight((380, 160), (300, 190))
    pen, other = (run_of(replace(curve, change=np.array(c)), at) for c in ((-0.8, 1.2, 0.6), change))
    key = ("shoulder", "wearer_right")
    assert (inked(other) > 0.9) == sure
    assert scores(other, at)[key] == pytest.approx(inked(other) * scores(pen, at)[key])
