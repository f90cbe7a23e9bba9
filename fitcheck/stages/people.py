"""Before the first stage: who is in each photo."""

from collections.abc import Iterator, Sequence

from fitcheck.core.camera import Photo
from fitcheck.core.progress import Begins, unheard_of
from fitcheck.core.records import Pose
from fitcheck.vision.person.pose import find_people


def find_everyone(photos: Sequence[Photo], begins: Begins = unheard_of) -> Iterator[Pose | None]:
    """The wearer in each photo, in their order, each looked for when it is asked for; `begins` is told of each."""
    for photo in photos:
        begins(photo.view)
        yield find_people(photo)
