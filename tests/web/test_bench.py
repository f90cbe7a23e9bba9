"""The fittings on the table and their one worker."""

import signal
import time
from concurrent.futures import FIRST_COMPLETED, wait

import pytest
from web import crash
from web.opened import SAMPLES

from fitcheck.core.errors import PhotoError
from fitcheck.core.records import VIEWS
from fitcheck.web.bench import EMPTY, Bench
from fitcheck.web.case import Look
from fitcheck.web.choices import Choices
from fitcheck.web.desk import Desk
from fitcheck.web.place import Place
from fitcheck.web.reader import GoneError
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
    return Held(id, path, Look((3, 4), None, "", b""))


def test_a_fitting_cleared_away_leaves_nothing(bench):
    work = bench.begin()
    work.add(held(work.folder, "a"))
    bench.clear(work)
    bench.ask(crash.number).result(20)
    assert bench.get(work.id) is None
    assert not work.folder.exists()


def test_drafts_that_never_got_a_photo_do_not_pile_up(bench):
    kept = bench.begin()
    kept.add(held(kept.folder, "a"))
    for _ in range(3 * EMPTY):
        bench.begin()
    assert len(bench.works()) == 1 + EMPTY + 1
    assert bench.get(kept.id) is kept


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


def checked(bench, folder, views=("right",)):
    """A fitting, checked."""
    work = bench.begin()
    for view in views:
        path = SAMPLES / folder / f"{view}.jpg"
        work.add(Held(view, path, Look((1, 1), None, "", b""), view))
    bench.check(work, Choices())
    until = time.monotonic() + 120
    while work.state in ("waiting", "checking") and time.monotonic() < until:
        time.sleep(0.01)
    return work


def test_a_check_tells_which_photo_it_reads(bench):
    said = []
    work = bench.begin()
    for view in VIEWS[:2]:
        work.add(Held(view, SAMPLES / "control" / f"{view}.jpg", Look((1, 1), None, "", b""), view))
    heard = work.told
    work.told = lambda stage, share, photo=None, /: (said.append((stage, share, photo)), heard(stage, share, photo))
    bench.check(work, Choices())
    while work.state in ("waiting", "checking"):
        time.sleep(0.01)
    assert work.state == "done"
    for stage in ("wearer and scale card", "seam lines and folds"):
        assert [(p.view, p.number, p.of) for s, _, p in said if s == stage and p] == [("front", 1, 2), ("right", 2, 2)]
    shares = [share for _, share, _ in said]
    assert shares == sorted(shares)


def test_a_crash_in_one_fitting_leaves_the_others_alive(bench):
    """The reader dies; what was asked fails with a sentence, and the other fitting is answered as before."""
    work = checked(bench, "forward_shoulder")
    assert work.state == "done"
    case = work.case(work.checked, Choices())
    before = bench.ask(Desk.marks, case, "cm").result(60)
    with pytest.raises(GoneError, match="SIGSEGV"):
        bench.ask(crash.die, signal.SIGSEGV).result(60)
    assert bench.ask(Desk.marks, case, "cm").result(120) == before


def test_a_fitting_thrown_away_while_it_is_checked_stops_that(bench):
    work = bench.begin()
    work.add(Held("front", SAMPLES / "control" / "front.jpg", Look((1, 1), None, "", b""), "front"))
    bench.check(work, Choices())
    while work.state == "waiting":
        time.sleep(0.01)
    bench.clear(work)
    assert bench.ask(crash.chatter).result(60) == "said"
    assert not work.folder.exists()


def in_progress(work) -> bool:
    return work.state in ("waiting", "checking")


def begun(work) -> None:
    """Wait until something long about a fitting is going on."""
    while work.state == "waiting" or not work.share:
        time.sleep(0.01)
    assert work.state == "checking"


def test_a_correction_is_answered_while_another_fitting_is_read(bench):
    """At once by the process that does not read; one that lives in the other is answered as soon as it is read anew."""
    works = [checked(bench, "forward_shoulder") for _ in range(2)]
    other = bench.begin()
    for view in VIEWS:
        other.add(Held(view, SAMPLES / "control" / f"{view}.jpg", Look((1, 1), None, "", b""), view))
    bench.check(other, Choices())
    begun(other)
    asked = [bench.ask(Desk.marks, work.case(work.checked, Choices()), "cm") for work in works]
    wait(asked, 120, FIRST_COMPLETED)
    assert in_progress(other)
    first, second = (answer.result(120)["numbers"] for answer in asked)
    assert first == second
    while in_progress(other):
        time.sleep(0.01)
    assert other.state == "done"
