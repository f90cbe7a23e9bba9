"""Names of edges, the file of a piece, and the paper against the tape."""

from dataclasses import replace

import numpy as np
import pytest
from piece.own_pieces import as_read
from scenes.sheets.drafted import bodice, skirt, sleeve, trousers

from fitcheck.advice.ease import ease_tables
from fitcheck.core.errors import UsageError
from fitcheck.core.fitting import FittingFacts
from fitcheck.piece.ease_check import check_ease
from fitcheck.piece.edge_names import named_piece
from fitcheck.piece.own_piece import OwnPiece
from fitcheck.piece.piece_file import read_own, write_piece
from fitcheck.piece.reading import Reading


def lying(piece: OwnPiece, turn_deg: float, mirrored: bool, first: int) -> Reading:
    """A piece as it might lie on the table: turned, perhaps face down, its edges counted from anywhere, clockwise."""
    turn = np.radians(turn_deg)
    matrix = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) @ np.diag([-1.0 if mirrored else 1.0, 1.0])
    names = list(piece.edges)
    edges = [piece.edges[name] @ matrix.T + [30, -70] for name in names]
    if mirrored:
        edges, names = [edge[::-1] for edge in edges[::-1]], names[::-1]
    edges, names = edges[first:] + edges[:first], names[first:] + names[:first]
    darts = tuple(dart @ matrix.T + [30, -70] for dart in piece.darts)
    mouths = tuple(i for i, name in enumerate(names) if name.startswith("mouth"))
    fold = names.index(piece.fold) if piece.fold else None
    grain = None if piece.grain is None else piece.grain @ matrix.T + [30, -70]
    return Reading(tuple(edges), (), None, darts, (), grain, fold, (), mouths)


@pytest.mark.parametrize("turn", [0.0, 90.0, 173.0, -80.0])
@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize(
    "piece",
    [
        as_read(bodice("front", 1.0, 15.0, True, True)),
        as_read(bodice("front", 0.0, 0.0, False, False)),
        as_read(bodice("back", 2.0, 10.0, False, False)),
    ],
)
def test_edges_are_named_however_the_piece_lies(piece, turn, mirrored):
    found = named_piece(read := lying(piece, turn, mirrored, 3), piece.name, piece.allowance_mm, read.mouths)
    assert list(found.edges) == list(piece.edges)
    assert found.mirrored == mirrored
    assert found.fold == piece.fold
    np.testing.assert_allclose(found.edges["shoulder"], piece.edges["shoulder"] - piece.edges["centre"][-1] + [0, 0], atol=1e-6)


def test_a_skirt_is_named_too():
    piece = as_read(skirt("skirt_front", 1.0, 0.0, True))
    found = named_piece(lying(piece, 33.0, False, 2), "skirt_front", 0.0)
    assert list(found.edges) == ["waist", "side", "hem", "centre"]


@pytest.mark.parametrize("grain", [True, False])
@pytest.mark.parametrize("turn", [0.0, 90.0, 200.0, -65.0])
@pytest.mark.parametrize("first", [0, 2, 3])
def test_sleeves_and_trousers_are_named_as_they_lie(grain, turn, first):
    for piece, wanted in (
        (as_read(sleeve(1.0, 0.0)), ["cap", "underarm_1", "wrist", "underarm_2"]),
        (as_read(trousers(1.0, 0.0)), ["waist", "side", "hem", "inseam", "crotch"]),
    ):
        read = lying(replace(piece, grain=piece.grain if grain else None), turn, False, first)
        found = named_piece(read, piece.name, 0.0)
        assert list(found.edges) == wanted
        assert not found.mirrored
        for name in wanted:
            np.testing.assert_allclose(
                found.edges[name] - found.outline.min(axis=0), piece.edges[name] - piece.outline.min(axis=0), atol=1e-6
            )


def test_trousers_face_down_are_turned_over_and_a_sleeve_that_is_none_gets_numbers():
    piece = as_read(trousers(0.0, 15.0))
    found = named_piece(lying(piece, 25.0, True, 1), "trousers_front", 15.0)
    assert found.mirrored
    assert list(found.edges) == list(piece.edges)
    corners = np.array([[0.0, 0.0], [297.0, 0.0], [297.0, 410.0], [0.0, 410.0], [0.0, 0.0]])
    band = OwnPiece("band", {f"edge_{k}": corners[k : k + 2] for k in range(4)})
    assert set(named_piece(lying(band, 0.0, False, 0), "sleeve", 0.0).edges) == {"edge_1", "edge_2", "edge_3", "edge_4"}


def test_any_other_piece_gets_numbers_and_its_grain_upright():
    piece = as_read(bodice("back", 0.0, 0.0, False, False))
    found = named_piece(lying(piece, 40.0, False, 0), "yoke", 0.0)
    assert list(found.edges)[:2] == ["edge_1", "edge_2"]
    assert np.ptp(found.grain[:, 0]) < 1e-6


def test_a_piece_is_read_back_as_it_was_written(tmp_path):
    piece = replace(as_read(bodice("front", 1.0, 15.0, True, True)), done=(("forward_shoulder", 10.0),), notes=('said "so"',))
    write_piece(tmp_path / "piece.toml", piece)
    back = read_own(tmp_path / "piece.toml")
    assert (back.name, back.allowance_mm, back.fold, back.done, back.notes) == (piece.name, 15.0, "centre", piece.done, piece.notes)
    assert list(back.edges) == list(piece.edges)
    assert back.area_mm2() == pytest.approx(piece.area_mm2(), rel=2e-4)
    np.testing.assert_allclose(back.darts[0], piece.darts[0], atol=0.006)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (('name = "neck"', 'name = "shoulder"'), "two edges are named shoulder"),
        (('fold = "centre"', 'fold = "side"'), "none of the edges"),
        (("allowance_mm = 15", "allowance_mm = 150"), "too large"),
        (("[[edge]]", "[[egde]]"), "no key here"),
    ],
)
def test_faults_typed_in_are_told(tmp_path, change, says):
    write_piece(tmp_path / "piece.toml", as_read(bodice("front", 1.0, 15.0, True, True)))
    text = (tmp_path / "piece.toml").read_text().replace(*change, 1)
    (tmp_path / "piece.toml").write_text(text)
    with pytest.raises(UsageError, match=says):
        read_own(tmp_path / "piece.toml")


def test_a_point_moved_off_is_told(tmp_path):
    piece = as_read(bodice("back", 1.0, 0.0, False, False))
    edges = dict(piece.edges)
    edges["shoulder"] = edges["shoulder"] + [0.0, 8.0]
    write_piece(tmp_path / "piece.toml", replace(piece, edges=edges))
    with pytest.raises(UsageError, match="ends elsewhere than"):
        read_own(tmp_path / "piece.toml")


def test_the_paper_is_measured_as_a_tape_would():
    """Size 1: quarter bust 248 at the underarm, quarter waist 215 at the side; halves of front and back, twice."""
    pieces = [as_read(bodice(name, 1.0, 15.0, True, name == "front")) for name in ("front", "back")]
    facts = FittingFacts.model_validate({"tape": {"unit": "cm", "bust": 91.0, "waist": 82.0, "back_waist_length": 40.0}, "kind": "dress"})
    rows = {row.at: row for row in check_ease(pieces, facts, ease_tables())}
    assert rows["waist"].paper_mm == pytest.approx(4 * 215, abs=8)
    assert rows["waist"].ease_mm == pytest.approx(4 * 215 - 820, abs=8)
    assert 4 * 240 < rows["bust"].paper_mm < 4 * 248
    assert rows["back length"].paper_mm == pytest.approx(418 + 4 - 22, abs=3)
    assert rows["bust"].says == "as usual"
    assert "hip" not in rows


def test_waist_darts_are_no_width():
    drafted = skirt("skirt", 1.0, 0.0, True)
    piece = as_read(drafted)
    assert piece.darts
    rows = {
        row.at: row
        for row in check_ease(
            [replace(piece, name="skirt_front"), replace(piece, name="skirt_back")], FittingFacts(kind="skirt"), ease_tables()
        )
    }
    assert "hip" in rows
    assert rows["hip"].usual_mm == (50.0, 80.0)
    assert rows["hip"].tape_mm is None
    assert rows["hip"].says == ""
