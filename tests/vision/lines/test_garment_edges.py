"""Neckline, armholes and hem: on the sample photos where the truth's lines reach them, and drawn."""

from dataclasses import replace

import numpy as np
import pytest
from vision.cloth_scene import GARMENT, photograph, pose
from vision.samples import sample, truth

from fitcheck.core.camera import Photo
from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.lines.garment_edges import find_edges
from fitcheck.vision.person.pose import find_people
from fitcheck.vision.stickers.find_stickers import find_point_markers


def edges_of(scene, view):
    photo = sample(scene, view)
    person = find_people(photo)
    found = find_edges(photo, person, find_point_markers(photo, pose=person), 1.0, find_cloth(photo.rgb, person))
    return {(edge.name, edge.side): edge for edge in found}


def away(edge, xy):
    """Distance of a point from the edge as a polyline."""
    a, b = edge.points_px[:-1], edge.points_px[1:]
    along = b - a
    share = np.clip(((xy - a) * along).sum(1) / np.maximum((along * along).sum(1), 1e-9), 0, 1)
    return np.hypot(*(a + share[:, None] * along - xy).T).min()


@pytest.mark.parametrize("scene", ["control", "forward_shoulder"])
@pytest.mark.parametrize(("view", "lines"), [("front", ("centre_front", "princess_L", "princess_R")), ("back", ("centre_back",))])
def test_the_hem_runs_through_the_lower_ends_of_the_drawn_lines(scene, view, lines):
    """The truth's lines end within a resampling step (10 mm) of the hem."""
    hem = edges_of(scene, view)["hem", None]
    assert hem.points_px[0, 0] < hem.points_px[-1, 0]
    for name in lines:
        line = np.array(truth(scene)["views"][view]["seams"][name]["px"])
        lower = line[line[:, 1].argmax()]
        y = np.interp(lower[0], *hem.points_px.T)
        assert -1.5 < y - lower[1] < 10


@pytest.mark.parametrize("scene", ["control", "forward_shoulder"])
def test_neckline_and_armholes_in_the_front_photo(scene):
    """The neckline passes the upper end of the centre front line; the armholes begin near the shoulder seam's outer ends."""
    edges = edges_of(scene, "front")
    views = truth(scene)["views"]["front"]
    line = np.array(views["seams"]["centre_front"]["px"])
    assert away(edges["neckline", None], line[line[:, 1].argmin()]) < 10
    armholes = [edge for (name, _), edge in edges.items() if name == "armhole"]
    assert armholes
    for armhole in armholes:
        side = "L" if armhole.side == "wearer_left" else "R"
        tip = np.array(views["garment_marks"][f"shoulder_seam_tip_end_{side}"]["px"])
        assert np.hypot(*(armhole.points_px - tip).T).min() < 40
        assert armhole.points_px[:, 1].max() - tip[1] > 40


def drawn(below, mask_below=40):
    """The drawn garment with a broad band of another colour below it, 0.5 mm per px."""
    rgb = photograph((214, 208, 186))
    x0, _, x1, y1 = GARMENT
    rgb[y1:, x0:x1] = below
    person = pose()
    mask = person.mask.copy()
    mask[y1 - 8 : y1 + mask_below, x0:x1] = True
    photo = Photo("front", "", "", rgb, None, "")
    return find_edges(photo, replace(person, mask=mask), (), 0.5, find_cloth(rgb, person))


def test_a_drawn_hem_to_a_third_of_a_pixel():
    (hem,) = drawn(below=(40, 45, 60), mask_below=60)
    assert (hem.name, hem.side, hem.flags) == ("hem", None, ())
    assert hem.points_px[:, 1] == pytest.approx(GARMENT[3] - 0.5, abs=0.35)
    assert np.ptp(hem.points_px[:, 0]) > 0.8 * (GARMENT[2] - GARMENT[0])
    assert hem.sd_px < 2.5


def test_the_wall_below_is_no_hem():
    assert drawn(below=(150, 160, 170), mask_below=8) == ()
