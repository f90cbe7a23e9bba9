"""The profile sheet: dots at the amounts that were needed, and what belongs into the next pattern."""

import re
from datetime import date

import pytest

from fitcheck.core.check import PostureValue
from fitcheck.core.diary import Profile, Usual
from fitcheck.report.page.profile_page import profile_page

NAMES = {("back_length", True): "lengthen the back", ("back_length", False): "shorten the back", ("neck", True): "widen the neck"}


def usual(id="back_length", needed=2, garments=3, low=8.0, high=16.0, amounts=(("blouse", 10.0, 1.0), ("coat", 14.0, 1.0))):
    return Usual(id, "both", needed, garments, 12.0, 1.0, 2.0, low, high, amounts)


def page(*rows, **changes):
    facts = {"body": (), "tapes": (), "notes": ()} | changes
    return profile_page(
        Profile("Marta", "", 4, ("blouse", "coat", "dress"), rows, **facts), NAMES, {"shoulder_forward": "shoulder"}, "cm"
    ).replace("\xa0", " ")


def dots(html):
    return [float(x) for x in re.findall(r'<circle cx="([\d.]+)"', html)]


def test_a_dot_lies_at_its_share_of_the_widest():
    """The widest is 18 and twice its 1, so 20 mm, over 190 units: 10 mm lie half way."""
    html = page(usual(amounts=(("blouse", 10.0, 1.0), ("coat", 18.0, 1.0))))
    assert dots(html) == pytest.approx([95, 171])
    x, width = map(float, re.search(r'<rect x="([\d.]+)" y="-7" width="([\d.]+)"', html).groups())
    assert (x, x + width) == pytest.approx((8 / 20 * 190, 16 / 20 * 190))


def test_amounts_below_zero_count_from_nought_too_and_have_their_own_name():
    below = Usual("back_length", "both", 2, 3, -12.0, 1.0, 2.0, -16.0, -8.0, (("blouse", -10.0, 1.0), ("coat", -18.0, 1.0)))
    html = page(below)
    assert dots(html) == pytest.approx([95, 171])
    assert "Shorten the back" in html
    assert "0.8 cm to 1.6 cm" in html


def test_a_band_over_nought_begins_there():
    html = page(usual(low=-2.0, high=16.0))
    assert '<rect x="0.0"' in html
    assert "up to 1.6 cm" in html


@pytest.mark.parametrize(("needed", "garments", "often"), [(2, 4, True), (2, 5, False), (1, 1, False), (1, 2, False)])
def test_twice_and_in_half_of_the_garments_is_often(needed, garments, often):
    html = page(usual(needed=needed, garments=garments))
    assert ("Came up less often" in html) is not often
    assert f"in {needed} of {garments}" in html


def test_her_body_and_her_notes():
    body = (PostureValue("shoulder_forward", "wearer_left", 21.0, "mm", 2.0),)
    html = page(body=body, tapes=(("bust", 930.0, date(2026, 4, 2)),), notes=((date(2026, 4, 3), "Likes <b>room</b>."),))
    assert "Shoulder, " in html
    assert "2.1 cm" in html
    assert "± 0.4 cm" in html
    assert "93.0 cm" in html
    assert "2 April 2026" in html
    assert "Likes &lt;b&gt;room&lt;/b&gt;." in html
