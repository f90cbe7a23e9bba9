"""What is printed from the page."""

import io

import pytest
from pypdf import PdfReader
from web.asked import on_table

POINTS_PER_MM = 72 / 25.4


def left(asked) -> list[str]:
    return [path.name for path in asked.house.bench.place.folder.rglob("*.pdf")]


def test_how_to_stand_and_her_paper_first(asked):
    def first(text: str) -> str:
        return text.split('class="button first"')[1].split("</a>")[0]

    assert "A4" in first(asked.get("/set-up").text)
    asked.house.choose({"paper": "letter"})
    text = asked.get("/set-up").text
    assert "Letter" in first(text)
    for words in ("Your right side faces the camera.", "something steady to hold on to"):
        assert words in text


@pytest.mark.parametrize(("paper", "size_mm"), [("a4", (210, 297)), ("letter", (215.9, 279.4))])
def test_card_and_stickers(asked, paper, size_mm):
    answer = asked.get(f"/print/card-{paper}.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.headers["content-disposition"] == f'inline; filename="card-{paper}.pdf"'
    sizes = {
        tuple(sorted(round(float(side) / POINTS_PER_MM, 1) for side in page.mediabox[2:]))
        for page in PdfReader(io.BytesIO(answer.body)).pages
    }
    assert sizes == {size_mm}
    assert left(asked) == []


def test_a_step_of_her_round(asked, case):
    work = on_table(asked, case)
    small, full = (asked.get(f"/fitting/{work.id}/sheet/1/{size}.pdf") for size in ("small", "full"))
    assert 'filename="forward_shoulder-small.pdf"' in small.headers["content-disposition"]
    assert 'filename="forward_shoulder-full.pdf"' in full.headers["content-disposition"]
    assert len(PdfReader(io.BytesIO(small.body)).pages) == 1 < len(PdfReader(io.BytesIO(full.body)).pages)
    assert "1.0 cm" in PdfReader(io.BytesIO(small.body)).pages[0].extract_text()
    assert left(asked) == []


@pytest.mark.parametrize("step", ["0/small", "9/small", "1/huge", "1/..%2fsmall"])
def test_what_is_no_step_is_no_sheet_and_leaves_nothing(asked, case, step):
    work = on_table(asked, case)
    assert asked.get(f"/fitting/{work.id}/sheet/{step}.pdf").status == 404
    assert left(asked) == []


def test_a_fitting_that_is_not_checked_has_no_sheet(asked):
    work = asked.house.bench.begin()
    assert asked.get(f"/fitting/{work.id}/sheet/1/small.pdf").status == 409
