"""The direction of every effect of every alteration, against the sentence of its row that a dressmaker can check by eye.

The sentence says what is seen while the pattern lacks the alteration; the measurement says in its own words what a number above zero
means. Where both say the same the effect must be above zero, where they say the contrary below.
"""

import pytest
from advice.directions import agree

from fitcheck.advice.table import knowledge

LEVELS = ("front", "back", "side", "neck", "chest", "bust", "waist", "hip", "blade")  # the sentence names them
EFFECTS = [
    (row.id, key, per_10)
    for row in knowledge().alterations.values()
    for key, per_10 in (*row.effects.per_10.items(), *row.effects.one_side_per_10.items())
]


@pytest.mark.parametrize(
    ("one", "other", "sign"),
    [
        ("the seam lies behind the bone", "the seam lies in front of the bone", -1),
        ("the lower end swings to the front", "the lower end swings to the back", -1),
        ("the lower end swings to the front", "the lower end swings to the front", 1),
        ("the right shoulder is the lower one", "your left shoulder is lower than your right", -1),
        ("the right shoulder is the lower one", "the left shoulder is the higher one", 1),
        ("the base lies below the arm", "the base sits too high", -1),
    ],
)
def test_sentences_are_compared_by_their_words(one, other, sign):
    assert agree(one, other) == agree(other, one) == sign


def test_sentences_with_nothing_in_common_are_not_compared():
    with pytest.raises(ValueError, match="Nothing compares"):
        agree("the seam lies behind the bone", "the hem is too tight")


@pytest.mark.parametrize(("alteration", "key", "per_10"), EFFECTS)
def test_the_sign_of_every_effect_is_what_its_sentence_says(alteration, key, per_10):
    table = knowledge()
    observable, at = table.places[key]
    says = table.alterations[alteration].effects.shows[key]
    assert agree(says, observable.plus) * per_10 > 0
    assert at not in LEVELS or at in says


@pytest.mark.parametrize("place", knowledge().places)
def test_findings_say_what_the_measurement_means(place):
    table = knowledge()
    observable, _ = table.places[place]
    row = table.findings[place]
    means = {"sleeve_hem_above": "the sleeve is too short", "hem_above_wanted": "the garment is too short"}.get(
        observable.id, observable.plus
    )
    assert agree(row.plus, means) == 1
    assert agree(row.minus, means) == -1
