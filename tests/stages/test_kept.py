"""Which stages run again when something else is asked."""

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.core.camera import LensProfile, Photo
from fitcheck.core.fitting import FittingFacts, TapeFacts
from fitcheck.core.records import SeamLine, Sighting
from fitcheck.core.settings import GivenSheet, Settings
from fitcheck.pipeline import check_fit
from fitcheck.stages.advise import advise
from fitcheck.stages.agree import agree, card_scales
from fitcheck.stages.kept import AFTER, GOES_BY, Kept, stage_keys
from fitcheck.stages.read import read
from fitcheck.stages.solve import solve

PHOTO = Photo("front", "front.jpg", "ab" * 32, np.zeros((4, 4, 3), np.uint8), None, "")
POINT = Sighting("shoulder_point", "wearer_right", "right", "placed", np.array([1.0, 2.0]), 2.0, kind="placed")
LAST = {"solve", "measure", "advise"}


@pytest.mark.parametrize(
    ("settings", "again"),
    [
        (Settings(placed_points=(POINT,)), LAST),
        (Settings(placed_seams=(SeamLine("side", "wearer_left", "left", np.zeros((2, 2)), 1.0),)), LAST),
        (Settings(FittingFacts(tape=TapeFacts(waist=700.0))), LAST),
        (Settings(FittingFacts(units="in")), {"advise"}),
        (Settings(FittingFacts(observed={"sleeve_tight_R": 3.0})), {"advise"}),
        (Settings(FittingFacts(seam_colours={"side": "blue"})), {"read", "cross_check"} | LAST),
        (Settings(FittingFacts(height_mm=1700.0)), {"agree", "read", "cross_check"} | LAST),
        (Settings(sheets={"front": GivenSheet("a4", np.zeros((4, 2)))}), {"agree", "read", "cross_check"} | LAST),
        (Settings(FittingFacts(card_bar_mm=99.0)), {"cards", "agree", "read", "cross_check"} | LAST),
        (Settings(lenses=(LensProfile("x", 1.5, 1, 0.01, 0, 0.1, 0, 0.1),)), {"cards", "agree", "read", "cross_check"} | LAST),
    ],
)
def test_only_stages_that_go_by_what_changed_run_again(settings, again):
    before, after = stage_keys([PHOTO], Settings()), stage_keys([PHOTO], settings)
    assert {stage for stage in before if before[stage] != after[stage]} >= again
    assert {stage for stage in before if before[stage] != after[stage]} <= again | {"advise"}


def test_another_photo_is_another_fitting():
    before, after = (stage_keys([photo], Settings()) for photo in (PHOTO, replace(PHOTO, sha256="cd" * 32)))
    assert all(before[stage] != after[stage] for stage in before)


def test_a_result_is_made_once_for_a_key():
    kept, made = Kept(), []

    def make(value):
        made.append(value)
        return value

    assert kept.under({"see": "a"})("see", make, 1) == 1
    assert kept.under({"see": "a"})("see", make, 2) == 1
    assert kept.under({"see": "b"})("see", make, 3) == 3
    assert made == [1, 3]


class Watched:
    """Settings that note which of their parts are looked at."""

    def __init__(self, settings, seen, prefix=""):
        self._given, self._seen, self._prefix = settings, seen, prefix

    def __getattr__(self, name):
        found = getattr(self._given, name)
        if name == "facts":
            return Watched(found, self._seen, "facts.")
        self._seen.add(self._prefix + name)
        return found


def test_no_stage_looks_at_settings_that_are_not_in_its_key(staged):
    calls = {
        "cards": lambda settings: card_scales(staged.photos, settings),
        "agree": lambda settings: agree(staged.seen, {}, settings),
        "read": lambda settings: read(staged.agreed, settings),
        "solve": lambda settings: solve(staged.fitting, settings),
    }
    for stage, call in calls.items():
        seen: set[str] = set()
        call(Watched(Settings(FittingFacts(height_mm=1650.0)), seen))
        assert seen == set(GOES_BY[stage]), stage
    assert advise.__annotations__["facts"] is FittingFacts  # which are all in its key
    assert set(AFTER) == set(GOES_BY)


def test_asked_again_with_a_placed_point_the_answer_is_that_of_a_whole_check(staged):
    kept = Kept()
    first = check_fit(staged.photos, kept=kept)
    right = next(s for s in staged.seen[1].stickers if s.name == "shoulder_point")
    settings = Settings(
        placed_points=(Sighting("shoulder_point", right.side, "right", "placed", right.xy_px - [9.0, 0.0], 2.0, kind="placed"),)
    )
    again, whole = check_fit(staged.photos, settings, kept=kept, drawn=False), check_fit(staged.photos, settings)
    assert [(m.key, m.value, m.sd) for m in again.measurements] == [(m.key, m.value, m.sd) for m in whole.measurements]
    assert [m.value for m in again.measurements] != [m.value for m in first.measurements]
    assert all(a.scale is f.scale and a.pose is f.pose and a.seams == f.seams for a, f in zip(again.photos, first.photos, strict=True))
