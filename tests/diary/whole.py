"""Whether everything a diary holds is whole: used by the tests and the benchmark of sudden stops."""

import json
from collections.abc import Collection

from PIL import Image

from fitcheck.diary.photos import FOLDER
from fitcheck.diary.reading import read_fitting
from fitcheck.diary.store import Diary


def check_whole(diary: Diary, known: Collection[int] = ()) -> set[int]:
    """Numbers of all fittings, once each was found complete: rows, result, photos; and nothing else lies about.

    Fittings in `known` were found complete before and are only looked for.
    """
    assert diary.rows("PRAGMA integrity_check") == [("ok",)]
    assert diary.rows("PRAGMA foreign_key_check") == []
    numbers = {entry.number for entry in diary.entries()}
    for number in numbers.difference(known):
        fitting = read_fitting(diary, number)
        assert len(fitting.photos) == fitting.entry.photos == 2
        assert len(fitting.measurements) == 1
        assert len(fitting.round) == len(fitting.posture) == 1
        assert json.loads(diary.rows("SELECT data FROM result WHERE fitting = ?", [number])[0][0])["version"] == 1
        for photo in fitting.photos:
            with Image.open(photo.file) as image:
                image.load()
    with diary.writing():
        pass  # sweeps what an interrupted recording left
    owned = {uid for (uid,) in diary.rows("SELECT uid FROM fitting")}
    photos = diary.folder / FOLDER
    assert {p.name for p in photos.iterdir()} == owned if photos.exists() else not owned
    return numbers
