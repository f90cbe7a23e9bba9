"""Trial solves: numbers only, and nothing of the fitting changes."""

import pytest

from fitcheck.body.placed import PlacedFile
from fitcheck.core.errors import UsageError
from fitcheck.stages.kept import Kept
from fitcheck.web.desk import _settings
from fitcheck.web.trials import tried


def test_as_it_lies_they_are_the_numbers_of_the_result(desk, case):
    result = desk._result(case)
    photos = tuple(photo.photo for photo in result.photos)
    now = _settings(case)
    (found,) = tried(desk._of(case).kept, photos, now, [now])
    assert found == {item.key: pytest.approx(item.value, abs=0.01) for item in result.measurements}


def test_one_for_each_that_is_asked_for(desk, case):
    photos = tuple(photo.photo for photo in desk._result(case).photos)
    now = _settings(case)
    assert tried(desk._of(case).kept, photos, now, []) == []
    assert len(tried(desk._of(case).kept, photos, now, [now, now])) == 2


def test_a_point_outside_its_picture_is_refused(desk, case):
    far = PlacedFile.model_validate({"point": [{"name": "waist_front", "view": "right", "xy": [99_999, 5]}]})
    with pytest.raises(UsageError):
        desk.tried(case, [far])


def test_photos_that_were_never_read_are_said_to_have_changed(desk, case):
    photos = tuple(photo.photo for photo in desk._result(case).photos)
    with pytest.raises(UsageError, match="have changed"):
        tried(Kept(), photos, _settings(case), [_settings(case)])
