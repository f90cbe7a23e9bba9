"""The size to cut: by the high bust, blended, with what is left over as first estimates, and the ease worked by hand."""

from pathlib import Path

import pytest

from fitcheck.advice.ease import ease_tables
from fitcheck.advice.size import Chart, SizeAdvice, choose_size, read_chart
from fitcheck.advice.table import knowledge
from fitcheck.core.errors import UsageError
from fitcheck.core.fitting import FittingFacts, TapeFacts

CHART = Path(__file__).parents[2] / "sample_images" / "sizes.toml"


def advice(chart: Chart | None = None, facts: FittingFacts | None = None, **cm: float) -> SizeAdvice:
    return choose_size(TapeFacts(unit="cm", **cm), chart or read_chart(CHART), knowledge(), ease_tables(), facts or FittingFacts())


def test_a_wearer_of_the_table_needs_nothing() -> None:
    found = advice(high_bust=85, bust=90, waist=72, hip=96, back_waist_length=40.5)
    assert found.size == "C"
    assert set(found.at.values()) == {"C"}
    assert found.estimates == ()
    assert {one.at: one.there for one in found.ease} == {"bust": pytest.approx(70), "waist": pytest.approx(30), "hip": pytest.approx(60)}


def test_sizes_are_blended_and_the_bust_is_altered() -> None:
    found = advice(high_bust=85, bust=97, waist=80, hip=107, back_waist_length=42.5)
    assert found.size == "C"
    assert found.at == {"bust": "C", "waist": "D-E", "hip": "E"}
    assert {a.id: round(a.amount_mm) for a in found.estimates} == {"full_small_bust": 35, "whole_bodice_length": 20}
    ease = {one.at: one.there for one in found.ease}
    # bust: finished 97 + 2 x 3.5 - 97 cm; waist: between D and E (83.25) less 80; hip: E 113 less 107
    assert ease == {"bust": pytest.approx(70), "waist": pytest.approx(32.5), "hip": pytest.approx(60)}
    text = " ".join(found.says)
    assert "blend to half way between sizes D and E" in text
    assert "blend to size E" in text


def test_beyond_the_chart_the_rest_is_an_alteration() -> None:
    found = advice(high_bust=102, bust=107, waist=100, hip=113)
    assert found.at["waist"] == "F"
    assert {a.id: round(a.amount_mm) for a in found.estimates} == {"waist_width": 50}


def test_inches_and_centimetres_agree(tmp_path: Path) -> None:
    text = CHART.read_text("utf-8")
    lines = [
        f"{line.split(' = ')[0]} = {float(line.split(' = ')[1]) / 2.54}"
        if line[:1].isalpha() and " = " in line and line.split(" = ")[1][0].isdigit()
        else line
        for line in text.splitlines()
    ]
    (tmp_path / "inches.toml").write_text("\n".join(lines).replace('unit = "cm"', 'unit = "in"'), "utf-8")
    chart = read_chart(tmp_path / "inches.toml")
    one, two = advice(high_bust=88, bust=97, waist=80, hip=100), advice(chart, high_bust=88, bust=97, waist=80, hip=100)
    assert one.at == two.at
    assert [a.amount_mm for a in one.estimates] == pytest.approx([a.amount_mm for a in two.estimates])


def test_skirts_are_bought_by_the_hip() -> None:
    found = advice(facts=FittingFacts(kind="skirt"), waist=77, hip=106)
    assert found.size == "E"
    assert found.at == {"waist": "D", "hip": "E"}


def test_layers_and_cloth_ask_for_more_ease() -> None:
    plain = ease_tables().wanted(FittingFacts(kind="coat"))["bust"]
    warm = ease_tables().wanted(FittingFacts(kind="coat", beneath="thick", cloth="quilted"))["bust"]
    assert plain == (130, 200)
    assert (warm[0] - plain[0], warm[1] - plain[1]) == (65, 65)
    assert any("wash a swatch" in text for text in ease_tables().says(FittingFacts(cloth="quilted")))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (
            'unit = "cm"',
            'unit = "ell"',
        ),
        ("bust = 85", "bust = 75"),
        ("waist = 62", "waste = 62"),
        ("bust = 80", "bust = nan"),
        ("\n[[size]]", "\n[[size"),
    ],
)
def test_a_mistake_in_the_chart_is_named(tmp_path: Path, change: str, says: str) -> None:
    text = CHART.read_text("utf-8")
    assert change in text
    (tmp_path / "chart.toml").write_text(text.replace(change, says, 1), "utf-8")
    with pytest.raises(UsageError, match=r"chart\.toml"):
        read_chart(tmp_path / "chart.toml")


def test_without_high_bust_or_chart_there_is_no_size(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="high bust"):
        advice(bust=97)
    with pytest.raises(UsageError, match="cannot be read"):
        read_chart(tmp_path / "none.toml")


@pytest.mark.parametrize(
    ("bought", "says"),
    [("C", "That is the size which was bought."), ("E", "2 sizes too large"), ("B", "1 size too small"), ("44", "is not in the chart")],
)
def test_the_size_that_was_bought_is_compared(bought: str, says: str) -> None:
    facts = FittingFacts(size_bought=bought)
    assert says in advice(facts=facts, high_bust=85, bust=90).says[1]
    assert not any("bought" in text for text in advice(high_bust=85, bust=90).says)


def test_every_mistake_of_a_chart_is_told_in_its_own_unit(tmp_path: Path) -> None:
    text = (
        CHART.read_text("utf-8").replace("waist = 62", "waste = 62").replace("hip = 91", "hip = 910").replace("bust = 90", 'bust = "wide"')
    )
    (tmp_path / "chart.toml").write_text(text, "utf-8")
    with pytest.raises(UsageError) as caught:
        read_chart(tmp_path / "chart.toml")
    for words in (
        "`size 1.waste` is no key here; did you mean `size 1.waist`?",
        "`size 2.hip` is 910, too large (0 to 300 cm); did you mean 91?",
        '`size 3.bust` is "wide"; it must be a number',
    ):
        assert words in str(caught.value)
