"""Sentences that hold for some garments only."""

import pytest

from fitcheck.advice.only_for import only_for, said_of
from fitcheck.core.fitting import FittingFacts

TEXTS = ("Press.", "(skirt, trousers) Take in.", "(upper body) Lower.", "(sleeve) Ease.", "(sleeveless) Face.", "(coat) Line (twice) it.")


def test_the_words_in_front():
    assert only_for("(skirt, trousers) Take in.") == ("skirt", "trousers")
    assert only_for("Take (skirt) in.") == ()


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"kind": "skirt"}, ("Press.", "Take in.")),
        ({"kind": "dress"}, ("Press.", "Lower.", "Ease.")),
        ({"kind": "top", "sleeve": "none"}, ("Press.", "Lower.", "Face.")),
        ({"kind": "coat"}, ("Press.", "Lower.", "Ease.", "Line (twice) it.")),
    ],
)
def test_what_is_said_of_a_garment(facts, said):
    assert said_of(TEXTS, FittingFacts(**facts)) == said
