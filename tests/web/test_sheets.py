"""One step of a round on paper."""

from dataclasses import replace

import pytest
from diary.conftest import step
from pypdf import PdfReader

from fitcheck.core.errors import UsageError
from fitcheck.core.fitting import FittingFacts
from fitcheck.web.sheets import write

POINTS_PER_MM = 72 / 25.4


def text(path) -> str:
    return " ".join(PdfReader(path).pages[0].extract_text().split())


@pytest.mark.parametrize(("paper", "size_mm"), [("a4", (210, 297)), ("letter", (215.9, 279.4)), ("anything else", (210, 297))])
def test_small_it_is_one_page_of_her_paper(tmp_path, paper, size_mm):
    write(tmp_path / "a.pdf", step(10.0), FittingFacts(), False, paper, "cm")
    (page,) = PdfReader(tmp_path / "a.pdf").pages
    assert [float(side) / POINTS_PER_MM for side in page.mediabox[2:]] == pytest.approx(size_mm, abs=0.2)


def test_it_says_what_it_is_and_what_is_done(tmp_path):
    write(tmp_path / "a.pdf", step(10.0), FittingFacts(), False, "a4", "cm")
    assert "Forward_shoulder, 1.0 cm" in text(tmp_path / "a.pdf")
    assert "Move it by 1.0 cm." in text(tmp_path / "a.pdf")
    write(tmp_path / "b.pdf", step(10.0), FittingFacts(), False, "a4", "in")
    assert "Forward_shoulder, 3/8 in" in text(tmp_path / "b.pdf")


def test_it_is_drawn_as_it_is_cut(tmp_path):
    """Rounded to what is cut, where that is another amount."""
    write(tmp_path / "a.pdf", replace(step(9.3), cut_mm=10.0), FittingFacts(), False, "a4", "cm")
    assert "1.0 cm" in text(tmp_path / "a.pdf").split(":")[0]


def test_at_full_size_it_takes_pages_to_tape_together(tmp_path):
    write(tmp_path / "a.pdf", step(10.0), FittingFacts(), True, "a4", "cm")
    assert len(PdfReader(tmp_path / "a.pdf").pages) > 4


def test_what_has_no_drawing_is_said(tmp_path):
    with pytest.raises(UsageError, match="no drawing"):
        write(tmp_path / "a.pdf", step(10.0, id="nothing"), FittingFacts(), False, "a4", "cm")
    assert not (tmp_path / "a.pdf").exists()
