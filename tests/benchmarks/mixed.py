"""Photos of two fittings mixed: python -m tests.benchmarks.mixed SCENES_FOLDER

Every folder below with four photos is a fitting. Each by itself must be measured whole; then each of its photos is exchanged for the
same view of every other fitting, and the odd photo must be named and left out, or nothing be measured at all. Prints what went otherwise.
"""

import sys
from pathlib import Path

from fitcheck.core.errors import FitcheckError
from fitcheck.core.records import VIEWS, View
from fitcheck.core.seen import SeenPhoto
from fitcheck.core.settings import Settings
from fitcheck.photo.load import find_views, load_photo
from fitcheck.stages.agree import agree, card_scales
from fitcheck.stages.cross_check import cross_checked
from fitcheck.stages.people import find_everyone
from fitcheck.stages.read import read
from fitcheck.stages.see import see_photos


def left_out(seen: dict[View, SeenPhoto]) -> set[View]:
    """Views that are not measured; all four where the program refuses."""
    try:
        photos = list(seen.values())
        agreed = agree(photos, card_scales([photo.photo for photo in photos], Settings()), Settings())
        return {photo.view for photo in cross_checked(read(agreed, Settings())).photos if not photo.usable}
    except FitcheckError:
        return set(VIEWS)


def main(folder: Path) -> None:
    scenes = sorted(path.parent for path in folder.glob("*/front.jpg") if len(find_views(path.parent)) == len(VIEWS))
    seen = {}
    for scene in scenes:
        opened = [load_photo(path, view) for view, path in find_views(scene).items()]
        photos = see_photos(opened, find_everyone(opened))
        seen[scene.name] = {photo.view: photo for photo in photos}
    wrong = [f"{name}: {sorted(out)} left out of a true fitting" for name, own in seen.items() if (out := left_out(own))]
    print(f"{len(seen) - len(wrong)} of {len(seen)} fittings measured whole")
    named = tried = 0
    for name, own in seen.items():
        for other, theirs in seen.items():
            for odd in VIEWS if other != name else ():
                out = left_out(own | {odd: theirs[odd]})
                tried += 1
                named += out in ({odd}, set(VIEWS))
                if odd not in out or len(out) in (2, 3):
                    wrong.append(f"{name} with {odd} of {other}: left out {sorted(out)}")
    print(f"the odd photo named, or nothing measured, in {named} of {tried} mixtures")
    print("\n".join(wrong))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
