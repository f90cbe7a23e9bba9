"""What fitcheck knows of the trade, as pages."""

import re

from fitcheck.advice.table import knowledge


def test_everything_with_a_name_leads_to_its_page(asked):
    text = asked.get("/words").text
    links = re.findall(r'href="(/words/[^"]+)"', text)
    table = knowledge()
    assert len(links) > len(table.alterations) + len(table.observables) + len(table.glossary)
    assert len(set(links)) == len(links)
    for one in (links[0], links[len(links) // 2], links[-1]):
        assert asked.get(one.replace("%20", " ")).status == 200


def test_an_alteration_is_explained_with_amounts_in_her_units(asked):
    text = asked.get("/words/forward_shoulder").text
    assert "<h1>Forward shoulder</h1>" in text
    assert "How it is done" in text
    assert re.search(r"\d\.\d cm", text)
    asked.house.choose({"units": "in"})
    text = asked.get("/words/forward_shoulder").text
    assert re.search(r"\d/\d in", text)
    assert not re.search(r"\d\.\d cm", text)


def test_a_word_that_is_none(asked):
    answer = asked.get("/words/forward_sholder")
    assert answer.status == 404
    assert "forward_shoulder" in answer.text  # what was probably meant
    assert "Search for it in the list of words." in answer.text
    assert "<script>" not in asked.get("/words/<script>").text


def test_all_rules_on_one_sheet(asked):
    text = asked.get("/rules").text
    assert "To be read and corrected by a dressmaker" in text
    assert text.count("<table>") > 3
    for row in list(knowledge().alterations.values())[::9]:
        assert row.name in text


def test_words_that_are_explained_wherever_they_stand(asked):
    rows = asked.get("/words.json").data
    (toile,) = [row for row in rows if "toile" in row["words"]]
    assert len(toile["means"]) > 10
    assert all("" not in row["words"] for row in rows)
