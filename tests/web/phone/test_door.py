"""A phone let in for one fitting: what comes of what it sends, and when it is over; asked over sockets at this computer's own loop."""

import socket
from concurrent.futures import Future

import pytest
from web.phone.pocket import JPEG, LOOP, MP4, VIEWS, Pocket, is_shut, name

from fitcheck.core.errors import PhotoError, UsageError
from fitcheck.web.case import Look
from fitcheck.web.phone import door as door_module
from fitcheck.web.phone.door import Door
from fitcheck.web.phone.listener import PIECE_BYTES
from fitcheck.web.work import Work


def test_a_photo_comes_whole(phone, work, door):
    answer = phone.send(JPEG, name(1))
    assert answer["photo"]["view"] == "front"
    assert not answer["over"]
    assert work.photos[0].path.read_bytes() == JPEG
    assert door.state(work)["seen"]


def test_nothing_listens_before_it_is_asked_for_and_after_it_is_shut(door, work):
    assert door.link(work) == ""
    assert door.state(work) == {"open": False, "why": ""}
    door.open(work)
    phone = Pocket(door.link(work))
    assert phone.ask("GET", "/").status == 200
    door.close_for(work, "Enough.")
    assert is_shut(phone)
    assert door.link(work) == ""
    assert (door.state(work)["open"], door.state(work)["why"]) == (False, "Enough.")


def test_a_lost_connection_is_gone_on_with(phone):
    """Half a piece, and the line is cut; then the next one, told where to go on."""
    phone.say(JPEG[:PIECE_BYTES], asks="piece", file=name(1), at=0, size=len(JPEG))
    message = phone.sealed(JPEG[PIECE_BYTES : 2 * PIECE_BYTES], asks="piece", file=name(1), at=PIECE_BYTES, size=len(JPEG))
    with socket.create_connection((phone.host, phone.port)) as line:
        line.sendall(f"POST /say HTTP/1.1\r\nHost: {phone.host}:{phone.port}\r\nContent-Length: {len(message)}\r\n\r\n".encode())
        line.sendall(message[: len(message) // 2])
    assert phone.say(asks="have", file=name(1))["have"] == PIECE_BYTES
    assert phone.send(JPEG, name(1))["photo"]["view"] == "front"


def test_the_answer_to_a_whole_file_is_told_again(phone, work):
    first = phone.send(JPEG, name(1))
    assert phone.say(asks="have", file=name(1)) == first
    assert phone.say(JPEG[:9], asks="piece", file=name(1), at=0, size=9) == first
    assert len(work.photos) == 1


def test_a_message_overheard_and_sent_again_changes_nothing(phone, work):
    message = phone.sealed(JPEG[:600], asks="piece", file=name(1), at=0, size=len(JPEG))
    assert phone.heard(message)["have"] == 600
    assert phone.heard(message)["have"] == 600
    assert [path.stat().st_size for path in work.folder.iterdir()] == [600]


@pytest.mark.parametrize(("data", "size"), [(JPEG[:1000], 60_000_001), (MP4, 2_000_000_001), (b"<script>", 8), (JPEG[:1000], 999)])
def test_what_is_too_large_or_no_photo(phone, work, data, size):
    answer = phone.say(data, asks="piece", file=name(1), at=0, size=size)
    assert "larger than" in answer["problem"] or "neither a photo nor a film" in answer["problem"]
    assert not list(work.folder.iterdir())


@pytest.mark.parametrize(
    "words",
    [
        {},
        {"asks": "list"},
        {"asks": "have"},
        {"asks": "have", "file": "../../x"},
        {"asks": "piece", "file": name(1)},
        {"asks": "piece", "file": name(1), "at": -1, "size": 9},
        {"asks": "piece", "file": name(1), "at": "0", "size": 9},
        {"asks": "piece", "file": name(1), "at": 0, "size": 1.5},
        {"asks": ["piece"], "file": {"a": 1}, "at": None, "size": None},
    ],
)
def test_what_is_not_understood_is_said_and_changes_nothing(phone, work, words):
    assert phone.say(b"\xff\xd8\xff" + b"x" * 20, **words)["problem"]
    assert not list(work.folder.iterdir())


def test_shut_after_four_photos(phone, door, work):
    over = [phone.send(JPEG[:5000], name(n))["over"] for n in range(4)]
    assert over == [False, False, False, True]
    assert is_shut(phone)
    assert door.state(work)["why"] == "All four photos have come."


def test_a_fifth_photo_takes_the_place_of_the_one_that_was_found_fault_with(phone, table, work):
    table.looks[2] = Look((3, 4), "back", "It is blurred.", b"")
    assert [phone.send(JPEG[:5000], name(n))["over"] for n in range(4)] == [False] * 4
    table.looks = [Look((3, 4), "back", "", b"")]
    answer = phone.send(JPEG[:6000], name(5))
    assert (answer["photo"]["view"], answer["photo"]["trouble"], answer["over"]) == ("back", "", True)
    assert sorted(held.view for held in work.photos) == sorted(VIEWS)
    assert sorted(path.stat().st_size for path in work.folder.iterdir()) == [5000, 5000, 5000, 6000]


def test_shut_after_a_film(phone, table, door, work):
    answer = phone.send(MP4, name(1))
    assert (answer["film"], answer["over"]) == (True, True)
    assert table.films[0].read_bytes() == MP4
    assert is_shut(phone)
    assert door.state(work)["why"] == "The film has come."


def test_shut_when_the_phone_says_that_it_is_all(phone, door, work):
    phone.send(JPEG[:5000], name(1))
    assert phone.say(asks="enough")["over"]
    assert is_shut(phone)


def test_shut_when_its_time_is_over(table, work):
    door = Door(table, lambda: LOOP, life_s=0.5)
    door.open(work)
    phone = Pocket(door.link(work))
    assert phone.say(asks="have", file=name(1))["have"] == 0
    assert is_shut(phone)
    assert "quarter of an hour" in door.state(work)["why"]
    door.end()


def test_a_photo_that_cannot_be_used_is_told_and_may_be_sent_again(phone, table, work):
    table.looks.insert(0, PhotoError("this photo is damaged.", "Save it anew."))
    assert "Save it anew." in phone.send(JPEG[:5000], name(1))["problem"]
    assert not list(work.folder.iterdir())
    assert phone.send(JPEG[:5000], name(1))["photo"]["view"] == "front"


def test_a_photo_that_waits_for_its_turn_is_asked_for_again(phone, table, work, monkeypatch):
    """The computer is busy with another fitting: the phone is not kept without an answer."""
    monkeypatch.setattr(door_module, "SOON_S", 0.05)
    turn: Future[Look] = Future()
    monkeypatch.setattr(table, "ask", lambda task, path: turn)
    assert phone.send(JPEG[:5000], name(1))["looking"]
    assert phone.say(asks="have", file=name(1))["looking"]
    turn.set_result(Look((3, 4), "back", "", b""))
    assert phone.say(asks="have", file=name(1))["photo"]["view"] == "back"
    assert len(work.photos) == 1


def test_only_for_its_fitting(phone, table, door, work, tmp_path):
    """Asked for at another fitting, the first takes nothing any more."""
    (tmp_path / "other").mkdir()
    other = Work("other", tmp_path / "other")
    door.open(other)
    assert is_shut(phone)
    assert door.state(work) == {"open": False, "why": ""}
    assert Pocket(door.link(other)).send(JPEG[:5000], name(1))["photo"]
    assert (len(work.photos), len(other.photos)) == (0, 1)


@pytest.mark.parametrize("state", ["waiting", "checking", "done"])
def test_a_fitting_that_is_being_checked_takes_nothing(phone, door, work, state):
    work.state = state
    assert "Wait until it is done" in phone.send(JPEG[:5000], name(1))["problem"]
    with pytest.raises(UsageError):
        door.open(work)


def test_no_home_network_is_said(table, work):
    def nowhere() -> tuple[str, ...]:
        raise UsageError("This computer is in a public network.", "")

    with pytest.raises(UsageError, match="public"):
        Door(table, nowhere).open(work)


def test_the_other_of_two_addresses(table, work):
    door = Door(table, lambda: ("127.0.0.1", "127.0.0.2"))
    door.open(work, 1)
    assert Pocket(door.link(work)).host == "127.0.0.2"
    assert door.state(work)["others"] == 1
    door.end()
