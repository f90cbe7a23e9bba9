"""Before the first stage: who is in each photo. It needs nothing else, so a command begins it while the other stages are still loading."""

from collections.abc import Sequence

from fitcheck.core.camera import Photo
from fitcheck.core.progress import Begins, unheard_of
from fitcheck.core.records import Pose
from fitcheck.vision.person.pose import find_people


def find_everyone(photos: Sequence[Photo], begins: Begins = unheard_of) -> tuple[Pose | None, ...]:
    """The wearer in each photo, in their order; `begins` is told of each."""
    found = []
    for photo in photos:
        begins(photo.view)
        found.append(find_people(photo))
    return tuple(found)
