"""Which half is worn: what is told counts, else what front and back show together."""

from pathlib import Path

import numpy as np
import pytest
import rig
from vision.cloth_scene import half_photograph, photograph, pose

from fitcheck.core.camera import Photo
from fitcheck.core.records import SeamLine, View
from fitcheck.core.seen import Garment, SeenPhoto
from fitcheck.core.settings import Settings
from fitcheck.core.worn_told import WornTold
from fitcheck.photo.load import load_photo
from fitcheck.pipeline import check_fit
from fitcheck.stages.worn_half import cut_alike, worn_half

SAMPLE = Path(__file__).parents[2] / "sample_images" / "half_tissue"
MIDDLE = np.array([[280.0, 0.0], [280.0, 759.0]])
TISSUE = (202, 172, 130)


def seen(rgb: np.ndarray, view: View) -> SeenPhoto:
    return SeenPhoto(Photo(view, "", "", rgb, None, ""), pose(), scale=rig.scale_at(), usable=True)


def half(tissue_left: bool, view: View) -> SeenPhoto:
    return seen(half_photograph(TISSUE, MIDDLE, tissue_left), view)


def test_nothing_told_the_photos_tell() -> None:
    right = [half(True, "front"), half(False, "back")]  # her right lies at image left of the front view only
    assert (worn_half(right, WornTold()).side, worn_half(right, WornTold()).flags) == ("wearer_right", ("half_right",))
    left = [half(False, "front"), half(True, "back")]
    assert (worn_half(left, WornTold()).side, worn_half(left, WornTold()).flags) == ("wearer_left", ("half_left",))


def test_a_whole_garment_is_none() -> None:
    assert worn_half([seen(photograph(TISSUE), "front")], WornTold()).side is None
    assert worn_half([], WornTold()).side is None


def test_what_is_told_counts() -> None:
    right = [half(True, "front"), half(False, "back")]
    assert worn_half(right, WornTold("full")).side is None
    assert worn_half(right, WornTold("half", "wearer_left")).side == "wearer_left"
    told = worn_half(right, WornTold("half"))
    assert (told.side, told.flags) == ("wearer_right", ())


def test_an_edge_without_a_line_is_cut_as_the_other_view_shows() -> None:
    """The front's line lies 14 mm inside its edge: so does the back's, whose edge is all that shows. Her right is at image right behind."""
    points = np.array([[300.0, 100.0], [300.0, 500.0]])
    by_edge = SeamLine("centre_back", "wearer_right", "back", points, 0.5, flags=("centre_by_edge",))
    front = seen(photograph(TISSUE), "front").with_garment(Garment(half="wearer_right", beyond_mm=14.0))
    back = seen(photograph(TISSUE), "back").with_garment(Garment((by_edge,), half="wearer_right"))
    scale = rig.scale_at().mm_per_px
    (moved,) = cut_alike([front, back], WornTold())[1].garment.lines
    assert moved.points_px[:, 0] == pytest.approx(300 + 14 / scale)
    assert moved.sd_px > 2.9 / scale
    assert cut_alike([front, back], WornTold(cut_mm=0.0))[1] is back
    assert cut_alike([back], WornTold())[0] is back


def test_a_half_that_was_told_but_does_not_show_is_doubted() -> None:
    doubted = worn_half([seen(photograph(TISSUE), "front")], WornTold("half"))
    assert doubted.side is not None
    assert doubted.flags == ("half_unsure",)


@pytest.fixture(scope="module")
def sample():
    return check_fit([load_photo(SAMPLE / f"{view}.jpg", view) for view in ("front", "right", "back", "left")], Settings())


def test_the_sample_is_found_out_and_measured(sample) -> None:
    """True at the centre front: 6.0 at the chest, 14.6 at the bust, 10.5 at the waist, 7.1 at the hip (truth.json)."""
    assert (sample.settings["tissue"], sample.settings["half"]) == ("half", "right")
    assert "half_right" in sample.flags
    found = {m.key: m.value for m in sample.measurements}
    for level, true in {"chest": 6.0, "bust": 14.6, "waist": 10.5, "hip": 7.1}.items():
        assert found[f"centre_front_short_{level}_R"] == pytest.approx(true, abs=2.5)
    assert found["shoulder_seam_behind_tip_R"] == pytest.approx(7.8, abs=2.5)
    assert not [key for key in found if key.endswith("_L")]


def test_nothing_of_the_sample_is_carried_over_unsaid(sample) -> None:
    """Every alteration made on both sides says that one side was seen."""
    both = [step for step in sample.round.steps if step.amount.side == "both"]
    assert both
    assert all("carried over to your left half" in step.why for step in both)
