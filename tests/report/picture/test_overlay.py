from dataclasses import replace
from itertools import combinations
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from fitcheck.core.check import FitCheck, PhotoResult
from fitcheck.core.records import Verdict
from fitcheck.report.picture.crops import Box
from fitcheck.report.picture.fold_lines import DrawnFold
from fitcheck.report.picture.gaps import gaps_in
from fitcheck.report.picture.labels import Rect
from fitcheck.report.picture.overlay import GAP_COLOURS, LAYERS, PLAIN_COLOUR, Pane, overlay

WHOLE = Box(0, 0, 1500, 2000)
VERDICTS: dict[str, Verdict] = {
    "shoulder_seam_behind_tip_R": "present",
    "side_seam_forward_hip_R": "unclear",
    "side_seam_forward_bust_R": "absent",
}

FOLDS = [DrawnFold(np.array([[600.0, 700.0], [620.0, 800.0]]), "#882255", hollow, "Folds fanning") for hollow in (False, True)]


@pytest.fixture(scope="module")
def drawn(check: FitCheck, right: PhotoResult) -> ET.Element:
    return ET.fromstring(overlay(right, gaps_in(right, check.measurements), VERDICTS, "cm", Pane(WHOLE, 375), folds=FOLDS))


def layer(svg: ET.Element, name: str) -> ET.Element:
    (found,) = (group for group in svg.findall("g") if group.get("class") == name)
    return found


def points_of(line: ET.Element) -> np.ndarray:
    return np.array([[float(value) for value in pair.split(",")] for pair in line.get("points", "").split()])


def texts(group: ET.Element) -> list[str]:
    return [text.text or "" for text in group.iter("text")]


def test_every_kind_has_its_own_group(drawn: ET.Element) -> None:
    assert tuple(group.get("class") for group in drawn.findall("g")) == LAYERS
    assert all(len(layer(drawn, name)) for name in LAYERS if name != "frames")


def test_folds_have_their_groups_colour_and_hollows_are_dashed(drawn: ET.Element) -> None:
    crest, hollow = (part.findall("polyline")[-1] for part in layer(drawn, "folds"))
    assert crest.get("stroke") == hollow.get("stroke") == "#882255"
    assert crest.get("stroke-dasharray") is None
    assert hollow.get("stroke-dasharray") is not None
    assert points_of(crest) == pytest.approx(FOLDS[0].points_px + 0.5, abs=0.051)


def test_points_lie_half_a_unit_on_from_pixel_centres(drawn: ET.Element, right: PhotoResult) -> None:
    assert drawn.get("viewBox") == "0 0 1500 2000"
    circles = [part.findall("circle")[0] for part in layer(drawn, "points")]
    centres = np.array([[float(c.get("cx", "")), float(c.get("cy", ""))] for c in circles])
    assert centres == pytest.approx(np.array([s.xy_px for s in right.sightings]) + 0.5, abs=0.051)


def test_seams_run_along_their_points(drawn: ET.Element, right: PhotoResult) -> None:
    for part, seam in zip(layer(drawn, "seams"), right.seams, strict=True):
        line = points_of(part.findall("polyline")[-1])
        apart = np.hypot(*(line[:, None] - (seam.points_px + 0.5)[None]).transpose(2, 0, 1))
        assert apart.min(axis=1).max() < 0.1
        assert line[[0, -1]] == pytest.approx(seam.points_px[[0, -1]] + 0.5, abs=0.051)


def test_a_crop_keeps_the_photos_coordinates_and_only_changes_the_window(check: FitCheck, right: PhotoResult) -> None:
    box = Box(580, 380, 680, 455)
    svg = ET.fromstring(overlay(right, gaps_in(right, check.measurements), VERDICTS, "cm", Pane(box, 343)))
    assert svg.get("viewBox") == "580 380 100 75"
    names = {title.text for title in layer(svg, "points").iter("title")}
    assert names == {"shoulder point, your right", "side neck point, your right"}
    assert texts(layer(svg, "gaps")) == ["1.0 cm", "0.6 cm"]


def test_amounts_follow_the_units_and_verdicts_the_colours(check: FitCheck, right: PhotoResult, drawn: ET.Element) -> None:
    assert sorted(texts(layer(drawn, "gaps"))) == ["0.5 cm", "0.6 cm", "1.0 cm", "1.1 cm", "1.3 cm"]
    inches = ET.fromstring(overlay(right, gaps_in(right, check.measurements), VERDICTS, "in", Pane(WHOLE, 375)))
    assert sorted(texts(layer(inches, "gaps"))) == ["1/2 in", "1/2 in", "1/4 in", "1/4 in", "3/8 in"]
    pills = {
        text.text: rect.get("stroke")
        for rect, text in zip(layer(drawn, "gaps").iter("rect"), layer(drawn, "gaps").iter("text"), strict=True)
    }
    assert pills == {
        "1.0 cm": GAP_COLOURS["present"],
        "1.3 cm": GAP_COLOURS["unclear"],
        "0.5 cm": GAP_COLOURS["absent"],
        "1.1 cm": PLAIN_COLOUR,
        "0.6 cm": PLAIN_COLOUR,
    }


def test_the_arrow_tips_are_the_ends_of_the_gap(check: FitCheck, right: PhotoResult) -> None:
    (gap,) = (gap for gap in gaps_in(right, check.measurements) if gap.item.key == "shoulder_seam_behind_tip_R")
    for screen in (375, 5000):  # arrows from outside, and from within
        svg = ET.fromstring(overlay(right, [gap], VERDICTS, "cm", Pane(WHOLE, screen)))
        tips = [points_of(polygon)[0] for polygon in layer(svg, "gaps").findall("polygon")]
        assert np.array(tips) == pytest.approx(gap.ends_px + 0.5, abs=0.051)


def test_labels_do_not_cover_each_other(check: FitCheck) -> None:
    for result in check.photos:
        svg = ET.fromstring(overlay(result, gaps_in(result, check.measurements), VERDICTS, "cm", Pane(WHOLE, 375)))
        pills = [r for name in ("gaps", "names") for r in layer(svg, name).iter("rect")]
        rects = [Rect(*(float(r.get(key, "")) for key in ("x", "y", "width", "height"))) for r in pills]
        assert not any(one.meets(other) for one, other in combinations(rects, 2))


def test_text_is_sized_for_the_smallest_screen(drawn: ET.Element) -> None:
    sizes = [float(text.get("font-size", "")) * 375 / 1500 for text in drawn.iter("text")]
    assert min(sizes) >= 10
    assert max(sizes) <= 14


def test_frames_carry_their_letters(right: PhotoResult) -> None:
    svg = ET.fromstring(overlay(right, [], {}, "cm", Pane(WHOLE, 375), [("A", Box(580, 380, 680, 455))]))
    assert texts(layer(svg, "frames")) == ["A"]
    assert [rect.get("x") for rect in layer(svg, "frames").iter("rect")] == ["580", "580"]  # with its halo


def test_without_a_scale_no_plumb_line_is_claimed(right: PhotoResult, drawn: ET.Element) -> None:
    assert len(layer(drawn, "plumb")) == 2  # the line and its halo
    assert len(layer(ET.fromstring(overlay(replace(right, scale=None), [], {}, "cm", Pane(WHOLE, 375))), "plumb")) == 0


def test_the_plumb_line_starts_where_the_side_seam_is_measured_from(check: FitCheck, right: PhotoResult) -> None:
    gaps = gaps_in(right, check.measurements)
    anchor = next(gap.body_px for gap in gaps if gap.item.id == "side_seam_forward")
    svg = ET.fromstring(overlay(replace(right, sightings=()), gaps, {}, "cm", Pane(WHOLE, 375)))
    line = points_of(layer(svg, "plumb").findall("polyline")[-1])
    assert line[0] == pytest.approx(anchor + 0.5, abs=0.051)
    assert line[1][1] == pytest.approx(2000.5)


def test_names_are_escaped(right: PhotoResult) -> None:
    evil = replace(right.sightings[0], name="<script>alert(1)</script>&")
    text = overlay(replace(right, sightings=(evil,), seams=()), [], {}, "cm", Pane(WHOLE, 375))
    assert "<script" not in text
    assert "<script>alert(1)</script>&, your right" in [title.text for title in ET.fromstring(text).iter("title")]
