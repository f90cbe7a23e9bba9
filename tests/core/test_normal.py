"""The normal distribution against a printed table and against scipy's."""

import numpy as np
import pytest
from scipy.special import ndtr

from fitcheck.core.normal import share_below


@pytest.mark.parametrize(("sds", "share"), [(0.0, 0.5), (1.0, 0.8413), (1.96, 0.9750), (-1.645, 0.0500), (3.0, 0.9987)])
def test_shares_are_those_of_a_printed_table(sds, share):
    assert share_below(sds) == pytest.approx(share, abs=5e-5)


def test_far_tails_keep_their_digits_and_shape():
    values = np.linspace(-30, 30, 602).reshape(2, 301)
    np.testing.assert_allclose(share_below(values), ndtr(values), rtol=1e-12)
    assert share_below(-np.inf) == 0.0
    assert share_below(np.inf) == 1.0
