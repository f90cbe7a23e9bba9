"""What the user puts right herself."""

import tomllib

import numpy as np
import pytest

from fitcheck.body.placed import PlacedFile, put_right, put_seams_right, read_placed, written
from fitcheck.core.errors import UsageError
from fitcheck.core.records import SeamLine, Sighting


def test_file_and_command_line(tmp_path):
    path = tmp_path / "placed.toml"
    path.write_text(
        '[[point]]\nname = "shoulder_point"\nside = "wearer_right"\nview = "right"\nxy = [610, 490]\n'
        '[[point]]\nname = "waist_front"\nview = "front"\nxy = [580.5, 790]\n'
        '[[seam]]\nname = "shoulder"\nside = "wearer_right"\nview = "right"\npoints = [[600, 450], [610, 490]]\n'
    )
    points, seams = read_placed(path, ["shoulder_point:wearer_right:right=612,498"])
    assert {(p.name, p.view): tuple(p.xy_px) for p in points} == {
        ("shoulder_point", "right"): (612, 498),
        ("waist_front", "front"): (580.5, 790),
    }
    assert seams[0].points_px[0] == pytest.approx([600, 450])
    assert np.all(np.linalg.norm(np.diff(seams[0].points_px, axis=0), axis=1) < 2.5)


def test_nothing_said(tmp_path):
    assert read_placed(tmp_path / "placed.toml") == ((), ())


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("shoulder_point:right=1,2", "side"),
        ("waist_front:wearer_left:front=1,2", "no side"),
        ("elbow:wearer_left:front=1,2", "no body point"),
        ("shoulder_point", "cannot be read"),
        ("shoulder_point:wearer_left:right=1.2.3,4", "--point .* cannot be read"),
        ("sholder_point:wearer_left:right=1,4", 'no body point "sholder_point"; did you mean "shoulder_point"'),
        ("shoulder_point:wearer_left:top=1,2", "cannot be read"),
    ],
)
def test_what_cannot_be_meant(tmp_path, text, word):
    with pytest.raises(UsageError, match=word):
        read_placed(tmp_path / "placed.toml", [text])


@pytest.mark.parametrize("text", ["[[point]", '[[point]]\nname = "waist_front"\nview = "up"\nxy = [1, 2]', "colour = 3"])
def test_a_broken_file_is_named(tmp_path, text):
    (tmp_path / "placed.toml").write_text(text)
    with pytest.raises(UsageError, match=r"placed\.toml"):
        read_placed(tmp_path / "placed.toml")


def test_every_fault_of_a_file_is_told(tmp_path):
    path = tmp_path / "placed.toml"
    path.write_text(
        '[[point]]\nname = "sholder_point"\nside = "wearer_left"\nview = "left"\nxy = [1, 2]\n'
        '[[point]]\nname = "shoulder_point"\nview = "left"\nxy = [1, 2]\n'
        '[[point]]\nname = "waist_front"\nveiw = "front"\nxy = [1]\n'
        '[[seam]]\nname = "sholder"\nview = "right"\npoints = [[0, 0], [-5, 3]]\n'
    )
    with pytest.raises(UsageError) as caught:
        read_placed(path)
    for words in (
        'did you mean "shoulder_point"?',
        "shoulder_point needs a side",
        "`point 3.veiw` is no key here; did you mean `point 3.view`?",
        "`point 3.view` is missing",
        "`point 3.xy 2` is missing",
        'did you mean "shoulder"?',
        "`seam 1.points 2 1` is -5, too small (0 to 100000)",
    ):
        assert words in str(caught.value)


def test_a_seam_that_runs_to_and_fro_without_end_is_refused(tmp_path):
    path = tmp_path / "placed.toml"
    zigzag = ", ".join(f"[{100000 * (i % 2)}, {i}]" for i in range(900))
    path.write_text(f'[[seam]]\nname = "shoulder"\nside = "wearer_right"\nview = "right"\npoints = [{zigzag}]\n')
    with pytest.raises(UsageError, match="to and fro"):
        read_placed(path)


def test_placed_ones_win_in_their_view_only():
    def at(name, view, grade):
        return Sighting(name, None, view, grade, np.zeros(2), 1.0)

    placed = [at("waist_front", "front", "placed"), at("seat", "back", "placed")]
    front = put_right([at("waist_front", "front", "marker"), at("front_neck_point", "front", "marker")], placed, "front")
    assert [(s.name, s.grade) for s in front] == [("front_neck_point", "marker"), ("waist_front", "placed")]
    found = [SeamLine("waist", None, "front", np.zeros((2, 2)), 0.5)]
    mine = [SeamLine("waist", None, "front", np.ones((2, 2)), 1.0, "placed")]
    assert put_seams_right(found, mine, "front") == tuple(mine)
    assert put_seams_right(found, mine, "back") == tuple(found)


def test_a_seam_without_points_is_none(tmp_path):
    """What was taken for a shoulder seam is a crease: it goes, the other lines stay."""
    path = tmp_path / "placed.toml"
    path.write_text('[[seam]]\nname = "shoulder"\nside = "wearer_right"\nview = "right"\npoints = []\n')
    _, placed = read_placed(path)
    line = np.array([[0.0, 0], [0, 9]])
    found = [SeamLine("shoulder", "wearer_right", "right", line, 0.5), SeamLine("side", "wearer_right", "right", line, 0.5)]
    assert [s.name for s in put_seams_right(found, placed, "right")] == ["side"]
    assert [s.name for s in put_seams_right(found, placed, "left")] == ["shoulder", "side"]


def test_a_seam_of_one_point_is_refused(tmp_path):
    path = tmp_path / "placed.toml"
    path.write_text('[[seam]]\nname = "shoulder"\nside = "wearer_right"\nview = "right"\npoints = [[1, 2]]\n')
    with pytest.raises(UsageError, match="one point"):
        read_placed(path)


def test_what_is_written_reads_as_it_was(tmp_path):
    said = {
        "point": [{"name": "waist_front", "view": "front", "xy": [580.5, 790]}]
        + [{"name": "shoulder_point", "side": "wearer_left", "view": "left", "xy": [1, 2], "sure": True}],
        "seam": [{"name": "side", "side": "wearer_left", "view": "left", "points": [[1, 2], [3, 4.25]]}]
        + [{"name": "waist", "view": "back", "points": []}],
    }
    path = tmp_path / "placed.toml"
    path.write_text(written(PlacedFile.model_validate(said)))
    assert tomllib.loads(path.read_text()) == said
