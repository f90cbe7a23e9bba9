"""The body points to be shown in a photo, wherever in the chain they were seen."""

from collections.abc import Iterable
from dataclasses import replace

from fitcheck.core.check import PhotoResult
from fitcheck.core.records import Landmark


def with_body_points(result: PhotoResult, landmarks: Iterable[Landmark]) -> PhotoResult:
    """One photo with the sightings of body points in it, each point once.

    Points read off seam lines are left out: the seam line itself shows them. Points that only the solved landmarks rest on (pose,
    outline) are added.

    Parameters
    ----------
    result : PhotoResult
    landmarks : iterable of Landmark
    """
    own = [s for s in result.sightings if s.kind != "seam"]
    others = [s for landmark in landmarks for s in landmark.sightings if s.view == result.photo.view and s.kind != "seam"]
    # The photo's own come last and win.
    return replace(result, sightings=tuple({(s.name, s.side): s for s in (*others, *own)}.values()))
