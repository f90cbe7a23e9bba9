from dataclasses import replace

from fitcheck.core.check import FitCheck, PhotoResult
from fitcheck.report.picture.points import with_body_points


def test_each_body_point_once_the_photos_own_first(check: FitCheck, right: PhotoResult) -> None:
    tip, *others = right.sightings
    guessed = replace(tip, kind="pose", grade="detected")
    new = replace(tip, name="crown", side=None, kind="outline")
    elsewhere = replace(new, name="ear", view="left")
    seam_end = replace(tip, name="shoulder_seam_tip", kind="seam")
    landmark = replace(check.landmarks[0], sightings=(guessed, new, elsewhere, seam_end))
    shown = with_body_points(replace(right, sightings=(tip, *others, seam_end)), [landmark]).sightings
    assert {id(s) for s in shown} == {id(s) for s in (tip, *others, new)}
