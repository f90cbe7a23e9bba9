"""The fittings on the table and their one worker."""

import pytest

from fitcheck.core.errors import PhotoError
from fitcheck.web.bench import EMPTY, WARM, Bench
from fitcheck.web.place import Place
from fitcheck.web.work import MOST_PHOTOS, Held


@pytest.fixture
def bench(tmp_path):
    with Place(tmp_path) as place:
        made = Bench(place)
        yield made
        made.close()


def held(folder, id: str) -> Held:
    path = folder / f"{id}.jpg"
    path.write_bytes(b"x")
    return Held(id, path, (3, 4), None)


def test_a_fitting_cleared_away_leaves_nothing(bench):
    work = bench.begin()
    work.add(held(work.folder, "a"))
    bench.clear(work)
    bench.do(lambda: None).result(20)
    assert bench.get(work.id) is None
    assert not work.folder.exists()


def test_drafts_that_never_got_a_photo_do_not_pile_up(bench):
    kept = bench.begin()
    kept.add(held(kept.folder, "a"))
    for _ in range(3 * EMPTY):
        bench.begin()
    assert len(bench.works()) == 1 + EMPTY + 1
    assert bench.get(kept.id) is kept


def test_memory_is_held_for_the_latest_only(bench):
    works = [bench.begin() for _ in range(WARM + 1)]
    for work in works:
        work.kept = object()
        bench.warmed(work)
    assert [work.kept is None for work in works] == [True] + [False] * WARM


def test_no_more_photos_than_views(bench):
    work = bench.begin()
    for i in range(MOST_PHOTOS):
        work.add(held(work.folder, str(i)))
    with pytest.raises(PhotoError, match="4 photos at most"):
        work.add(held(work.folder, "more"))
    assert len(list(work.folder.iterdir())) == MOST_PHOTOS
    work.remove("0")
    assert len(list(work.folder.iterdir())) == MOST_PHOTOS - 1


def test_names_in_addresses_are_not_to_be_guessed(bench):
    names = {bench.begin().id for _ in range(5)}
    assert len(names) == 5
    assert all(len(name) >= 12 for name in names)
