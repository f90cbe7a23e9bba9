"""Evidence for the solver changes by copies."""

import numpy as np
import pytest
import rig

from fitcheck.core.evidence import Evidence
from fitcheck.core.records import Sighting
from fitcheck.core.solution import Tie

SEEN = Sighting("seat", None, "back", "marker", np.zeros(2), 1.0)
TIE = Tie(("a", None), ("seat", None), np.zeros(3), np.ones(3))


def test_points_are_added_to_a_copy():
    first = Evidence({"back": rig.scale_at()}, [SEEN])
    more = first.with_points([SEEN], [TIE]).sized_by_stickers(1.0)
    assert (len(more.sightings), len(more.ties), more.sticker_share) == (2, 1, 1.0)
    assert (len(first.sightings), len(first.ties), first.sticker_share) == (1, 0, None)


def test_a_doubted_card_counts_less_and_so_do_the_stickers_printed_with_it():
    scale = rig.scale_at()
    first = Evidence({"back": scale}, [SEEN]).sized_by_stickers(1.0)
    doubted = first.doubting_the_card(0.04)
    assert doubted.scales["back"].scale_sd == pytest.approx((scale.scale_sd**2 + 0.04**2) ** 0.5)
    assert doubted.sticker_share is None
    assert first.scales["back"] is scale
