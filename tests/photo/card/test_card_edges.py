"""Edges of the card's cells on cards drawn from a known camera."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from fitcheck.core.points import card_corners_mm
from fitcheck.photo.camera.flat_target import Corners
from fitcheck.photo.camera.lens import FIXED, Lens
from fitcheck.photo.camera.pose_from_target import FlatPose, fit_flat_pose
from fitcheck.photo.card.card_edges import CELL_MM, edges_of_square, find_card_edges
from fitcheck.photo.card.find_card import find_card
from fitcheck.photo.card.scale import scale_from_card

from ..conftest import Card

CARDS = [
    Card(distance_mm=2600, right_mm=350, up_mm=150, yaw_deg=9, pitch_deg=-6, roll_deg=1.0),
    Card(distance_mm=2900, right_mm=420, yaw_deg=-7, pitch_deg=4),
    Card(distance_mm=3300, right_mm=-380, yaw_deg=-12, pitch_deg=5, focal_px=3600),
    Card(distance_mm=2700, right_mm=400, yaw_deg=5, pitch_deg=-2, bending=(-0.03, 0.0)),
    Card(distance_mm=3100, right_mm=300, up_mm=200, yaw_deg=2, pitch_deg=3, roll_deg=-0.6),
    Card(distance_mm=2800, right_mm=-420, yaw_deg=-4, pitch_deg=7, roll_deg=0.4),
]


def by_corners(photo) -> tuple[tuple[int, ...], FlatPose]:
    found = find_card(photo.rgb[:, :, 0].copy())
    corners_mm = card_corners_mm()[list(found.ids), :, :2]
    height, width = photo.rgb.shape[:2]
    return found.ids, fit_flat_pose(Corners(corners_mm, found.corners_px), 0.1, (width, height), Lens(photo.focal_px, FIXED))


def test_the_edges_of_a_square_are_those_of_its_picture():
    """Marker 5 drawn at 4 px a cell: black lies on the one side of every edge and white on the other."""
    drawn = np.pad(cv2.aruco.generateImageMarker(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100), 5, 24), 4, constant_values=255)
    left, top = card_corners_mm()[5, 0, :2]
    edges = edges_of_square(5, card_corners_mm()[5, 0, :2], CELL_MM)
    assert len(edges) >= 24  # its rim at least
    for x, y, across_x, across_y in edges:
        for step, grey in ((-1.0, 0), (1.0, 255)):
            column, row = (x + step * across_x - left) / 7.5 * 4 + 4, (top - y - step * across_y) / 7.5 * 4 + 4
            assert drawn[int(row), int(column)] == grey


@pytest.mark.parametrize("card", CARDS)
def test_edges_lie_where_they_were_drawn(photograph, card):
    """All moved alike by how the light spreads; else to a tenth of a pixel each, and no direction more than another."""
    photo = photograph(replace(card, light_spreads=True))
    edges = find_card_edges(photo.rgb, *args(photo))
    off = ((edges.found_px - card.project(np.pad(edges.middles_mm, ((0, 0), (0, 1))))) * edges.normals).sum(axis=1)
    assert len(off) > 400
    assert abs(off.mean()) < 0.08
    assert off.std() < 0.08
    for side in (edges.normals[:, 0] > 0.9, edges.normals[:, 0] < -0.9, edges.normals[:, 1] > 0.9, edges.normals[:, 1] < -0.9):
        assert off[side].mean() == pytest.approx(off.mean(), abs=0.03)


def args(photo):
    ids, near = by_corners(photo)
    return ids, 1.0, near.camera


def test_they_tell_the_tilt_better_than_corners(photograph):
    errors = []
    for card in CARDS:
        photo = photograph(replace(card, light_spreads=True))
        for rotation in (by_corners(photo)[1].rotation, scale_from_card(photo).camera.rotation):
            errors.append(np.degrees(cv2.Rodrigues(rotation @ card.rotation.T)[0].ravel()[:2]))
    corners, edges = np.sqrt((np.array(errors).reshape(-1, 2, 2) ** 2).mean(axis=(0, 2)))
    assert edges < 0.7 * corners
    assert edges < 0.25


def test_a_print_of_another_size_has_its_edges_elsewhere(photograph):
    card = Card(right_mm=300, print_x=0.97, print_y=0.97, marker_mm=45.0)
    photo = photograph(card)
    ids, near = by_corners(photo)
    there = find_card_edges(photo.rgb, ids, 1.0, near.camera)
    smaller = find_card_edges(photo.rgb, ids, 0.97, replace(near, translation_mm=0.97 * near.translation_mm).camera)
    assert smaller.middles_mm == pytest.approx(0.97 * there.middles_mm)
    assert smaller.found_px == pytest.approx(there.found_px, abs=0.01)


def test_too_small_cut_off_or_blank_there_are_none(photograph):
    small = photograph(Card(distance_mm=3000, focal_px=1100, right_mm=200))
    assert find_card_edges(small.rgb, *args(small)) is None
    photo = photograph(Card(right_mm=300))
    ids, near = by_corners(photo)
    assert find_card_edges(photo.rgb[:, :1000], ids, 1.0, near.camera) is None
    assert find_card_edges(np.full_like(photo.rgb, 150), ids, 1.0, near.camera) is None


def test_a_card_too_small_for_edges_is_still_a_card(photograph):
    scale = scale_from_card(photograph(Card(distance_mm=3000, focal_px=1300, right_mm=200)))
    assert scale.mm_per_px == pytest.approx(3000 / 1300, rel=0.004)
