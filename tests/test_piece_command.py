"""Photos of pieces, good ones and bad ones, each small: what is read, or one clear sentence with its exit code."""

from dataclasses import replace

import numpy as np
import pytest
from piece.compared import apart_mm, laid_on
from scenes.sheets.drafted import bodice, moved, shape, sleeve, trousers
from scenes.sheets.make import Spec, make

from fitcheck.core.errors import FitcheckError, NothingMeasuredError, PhotoError, UsageError
from fitcheck.piece_command import Wish, read_photos
from fitcheck.piece_photos import open_photos

SIZE = (2000, 1500)
FRONT = bodice("front", 1.0, 0.0, False, True)
BACK = bodice("back", 1.0, 0.0, False, False)
A4 = shape("sheet", np.array([[0, 0], [297, 0], [297, 210], [0, 210]], float))


def read(folder, spec, **wish):
    truth = make(replace(spec, size=SIZE, hands=0), folder)
    return truth, *read_photos(open_photos(sorted(folder.glob("photo_*.jpg"))), Wish(**wish))


def test_a_piece_cut_out_is_read_with_its_edges_dart_notches_and_grain(tmp_path):
    truth, own, _, reading = read(tmp_path, Spec(31, surface="wood", nested=False, drafted=FRONT, tilt_deg=8.0), allowance_mm=0.0)
    true = np.array(truth["cutting_line"])
    far = apart_mm(laid_on(own.outline, true), true)
    assert np.median(far) < 0.4
    assert np.percentile(far, 95) < 1.0
    assert list(own.edges) == ["neck", "shoulder", "armhole", "side_upper", "mouth_1", "side_lower", "waist", "centre"]
    assert len(own.darts) == 1
    assert len(own.notches) == 2
    assert reading.grain is not None


@pytest.mark.parametrize(
    ("drafted", "names"),
    [
        (sleeve(0.0, 0.0), {"cap": 448.4, "underarm_1": 434.2, "wrist": 210.0, "underarm_2": 434.2}),
        (trousers(0.0, 0.0), {"waist": 185.0, "side": 706.0, "hem": 250.0, "inseam": 445.6, "crotch": 287.1}),
    ],
    ids=["sleeve", "trousers"],
)
def test_sleeves_and_trousers_are_read_with_the_lengths_they_were_drafted_with(tmp_path, drafted, names):
    _, own, _, _ = read(
        tmp_path, Spec(51, surface="dark", drafted=drafted, nested=False, tilt_deg=4.0), allowance_mm=0.0, name=drafted.name
    )
    assert list(own.edges) == list(names)
    for edge, points in own.edges.items():
        assert float(np.hypot(*np.diff(points, axis=0).T).sum()) == pytest.approx(names[edge], abs=2.5), edge


def test_a_rectangle_with_its_grain_line_is_a_piece_and_so_is_a_form_without_any_line(tmp_path):
    _, band, _, reading = read(tmp_path / "band", Spec(62, drafted=A4, nested=False, tilt_deg=5.0), allowance_mm=0.0, name="band")
    assert reading.grain is not None
    sides = sorted(float(np.hypot(*np.diff(edge, axis=0).T).sum()) for edge in band.edges.values())
    assert sides == pytest.approx([210.0, 210.0, 297.0, 297.0], abs=1.5)
    _, plain, _, _ = read(
        tmp_path / "plain", Spec(15, drafted=FRONT, plain=True, nested=False, tilt_deg=5.0, surface="dark"), allowance_mm=0.0
    )
    assert "armhole" in plain.edges


def test_of_nested_sizes_one_is_asked_for(tmp_path):
    make(Spec(11, surface="dark", piece="skirt", nested=True, size=(2800, 2100), hands=0, tilt_deg=5.0), tmp_path)
    photo = tmp_path / "photo_1.jpg"
    with pytest.raises(UsageError, match=r"Several size lines.*1 solid line \(solid\), 2 dots \(dotted\), 3 short dashes \(short\)"):
        read_photos(open_photos([photo]), Wish(name="skirt_front"))


def test_dots_are_seen_at_six_megapixels_though_sizes_differ_along_one_edge_only(tmp_path):
    truth = make(Spec(36, surface="dark", piece="skirt", nested=True, size=(2800, 2100), hands=0, tilt_deg=5.0), tmp_path)
    assert truth["style"] == "dotted"
    own, _, reading = read_photos(open_photos([tmp_path / "photo_1.jpg"]), Wish(name="skirt_front", size="dotted"))
    assert reading.size == "dotted"
    true = np.array(truth["cutting_line"])
    far = apart_mm(laid_on(own.outline, true), true)
    assert np.median(far) < 0.4
    assert np.percentile(far, 95) < 1.0


def test_two_photos_with_the_card_moved_between_them_are_joined(tmp_path):
    truth, own, table, _ = read(tmp_path, Spec(45, surface="wood", piece="skirt", nested=False, photos=2, tilt_deg=6.0), name="skirt_front")
    assert len(table.views) == 2
    true = np.array(truth["cutting_line"])
    far = apart_mm(laid_on(own.outline, true), true)
    assert np.median(far) < 0.5
    assert np.percentile(far, 95) < 1.5


@pytest.mark.parametrize(
    ("spec", "kind", "says"),
    [
        (Spec(1, without_card=True, nested=False), NothingMeasuredError, "does not show the scale card"),
        (Spec(2, card_lean_deg=60.0, nested=False, tilt_deg=0.0), PhotoError, "degrees off straight above the card"),
        (Spec(3, tilt_deg=60.0, nested=False), FitcheckError, "degrees off straight above|pixels|scale card"),
        (Spec(4, cut_off=True, nested=False, tilt_deg=0.0, surface="dark"), FitcheckError, "cut off|scale card"),
        (Spec(5, drafted=FRONT, second=moved(BACK, (215, 20)), nested=False, tilt_deg=0.0), PhotoError, "Two pieces touch"),
        (
            Spec(7, drafted=FRONT, second=moved(BACK, (-30, -395)), nested=False, tilt_deg=5.0, surface="dark"),
            PhotoError,
            "Two pieces touch",
        ),
        (
            Spec(17, drafted=FRONT, card_at=(250.0, 60.0), nested=False, tilt_deg=5.0, surface="wood"),
            PhotoError,
            "The card lies on the piece",
        ),
        (Spec(9, drafted=A4, plain=True, nested=False, tilt_deg=5.0, surface="dark"), NothingMeasuredError, "Only a blank rectangle"),
        (Spec(10, drafted=A4, plain=True, nested=False, tilt_deg=5.0, surface="wood"), NothingMeasuredError, "Only a blank rectangle"),
        (
            Spec(13, drafted=FRONT, blank=True, nested=False, tilt_deg=5.0, surface="light_wood"),
            NothingMeasuredError,
            "No paper can be told",
        ),
        (Spec(14, drafted=FRONT, blank=True, nested=False, tilt_deg=5.0, surface="cloth"), NothingMeasuredError, "No paper can be told"),
    ],
    ids=[
        "no card",
        "card not in the plane",
        "sixty degrees",
        "cut off",
        "two touch along a side",
        "two overlap at a corner",
        "card on the piece",
        "blank sheet on a dark table",
        "blank sheet on wood",
        "nothing but the grain of a table",
        "nothing but cloth",
    ],
)
def test_what_cannot_be_read_is_one_clear_sentence(tmp_path, spec, kind, says):
    with pytest.raises(kind, match=says) as caught:
        read(tmp_path, spec)
    assert caught.value.exit_code in (2, 3, 4)
    assert "\n" not in str(caught.value)
