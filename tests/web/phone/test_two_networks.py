"""The whole way between two machines: the computer's page in one network namespace, the phone's browser in another, a cable between."""

import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
import pytest
from film.drawn_film import Shot, write_film
from playwright.sync_api import Page, expect
from web.opened import CHECKED_MS, SAMPLES, Opened, window
from web.phone.two_networks import Home, home, ip

AXE = (Path(__file__).parents[1] / "axe/axe.min.js").read_text()
ARGS = ["--no-sandbox", "--disable-dev-shm-usage"]


@pytest.fixture(scope="module")
def at_home(tmp_path_factory) -> Iterator[Home]:
    with home("192.168.77", tmp_path_factory.mktemp("home")) as made:
        yield made


@pytest.fixture(scope="module")
def running(at_home, tmp_path_factory) -> Iterator[Opened]:
    opened = Opened(tmp_path_factory.mktemp("user"), before=["ip", "netns", "exec", at_home.computer])
    yield opened
    opened.stop()


@pytest.fixture(scope="module")
def player(browser):
    """What started the browser of the other tests starts more of them."""
    return browser.browser_type


@pytest.fixture(scope="module")
def computer(player, at_home, running) -> Iterator[Page]:
    browser = player.launch(executable_path=at_home.browser(at_home.computer), args=ARGS)
    yield window(browser, running)
    browser.close()


@pytest.fixture(scope="module")
def phone(player, at_home) -> Iterator[Page]:
    browser = player.launch(executable_path=at_home.browser(at_home.phone), args=ARGS)
    yield browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True).new_page()
    browser.close()


def let_in(computer: Page) -> str:
    """Ask for the code, and read it off the screen as a phone's camera would."""
    computer.locator("nav").get_by_role("button", name="New fitting").click()
    computer.wait_for_url("**/fitting/*")
    computer.get_by_role("button", name="Use my phone").click()
    return code_on(computer)


def code_on(computer: Page) -> str:
    square = computer.locator("#phone-code")
    expect(square).to_be_visible()
    while square.evaluate("image => !image.complete || !image.naturalWidth"):
        computer.wait_for_timeout(50)
    seen = cv2.imdecode(np.frombuffer(square.screenshot(), np.uint8), cv2.IMREAD_COLOR)
    # the detector misses some codes at one size and reads them at another, as a phone does while it is held nearer
    sizes = (cv2.resize(seen, None, fx=share, fy=share, interpolation=cv2.INTER_CUBIC) for share in (1.0, 1.5, 2.0, 0.75))
    return next((read for size in sizes if (read := cv2.QRCodeDetector().detectAndDecode(size)[0])), "")


def gone(at_home: Home) -> bool:
    """Whether the computer comes to listen on its own loop only."""
    return any(at_home.listening() == {"127.0.0.1"} or subprocess.run(["sleep", "0.1"], check=True).returncode for _ in range(50))


def test_photos_by_phone(at_home, running, computer, phone):
    """From the square to the list of photos; what listens is the loop only, then also the home network, then the loop only."""
    assert at_home.listening() == {"127.0.0.1"}
    link = let_in(computer)
    assert re.fullmatch(r"http://192\.168\.77\.1:\d+/#[\w-]{43}", link)
    assert at_home.listening() == {"127.0.0.1", "192.168.77.1"}
    phone.goto(link)
    assert not phone.evaluate("isSecureContext")  # as on any phone: no help from the browser's own encryption
    phone.set_input_files("#photos", [SAMPLES / "forward_shoulder" / f"{view}.jpg" for view in ("front", "right")])
    expect(phone.locator("li").nth(0)).to_contain_text("shows your front", timeout=CHECKED_MS)
    expect(phone.locator("li").nth(1)).to_contain_text("shows your right side", timeout=CHECKED_MS)
    expect(computer.locator("#list img")).to_have_count(2)
    assert sorted(computer.locator("#list select").evaluate_all("all => all.map(one => one.value)")) == ["front", "right"]
    originals = {(SAMPLES / "forward_shoulder" / f"{view}.jpg").read_bytes() for view in ("front", "right")}
    assert {path.read_bytes() for path in running.unrecorded} == originals
    phone.get_by_role("button", name="That is all").click()
    expect(phone.locator("#told")).to_contain_text("Go on at your computer")
    expect(computer.locator("#phone-told")).to_contain_text("this is all")
    assert gone(at_home)
    with pytest.raises(OSError, match="refused"):
        reach(at_home, link)


def reach(at_home: Home, link: str) -> None:
    """Open a plain connection from the phone's network."""
    port = re.search(r":(\d+)/", link)[1]
    code = f"import socket; socket.create_connection(('{at_home.address}', {port}), timeout=5)"
    done = subprocess.run(["ip", "netns", "exec", at_home.phone, sys.executable, "-c", code], capture_output=True, text=True, check=False)
    if done.returncode:
        raise OSError(done.stderr)


def test_the_computers_own_page_is_not_reached(at_home, running, computer):
    """While a phone is let in, the page itself still listens on the loop only."""
    link = let_in(computer)
    reach(at_home, link)
    with pytest.raises(OSError, match="refused"):
        reach(at_home, f"http://{at_home.address}:{running.port}/")
    computer.get_by_role("button", name="Let the phone in no more").click()
    expect(computer.locator("#phone-told")).to_contain_text("You let the phone in no more")
    assert gone(at_home)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_code_is_shown_to_everybody(at_home, computer, scheme):
    """By the accessibility checker, at every width; in the dark the square stays dark on white, as cameras want it."""
    computer.emulate_media(color_scheme=scheme)
    assert let_in(computer)
    computer.evaluate(AXE)
    found = computer.evaluate("axe.run(document, {resultTypes: ['violations']})")["violations"]
    assert [(row["id"], [node["html"][:120] for node in row["nodes"]]) for row in found] == []
    for width in (390, 320, 1280):
        computer.set_viewport_size({"width": width, "height": 900})
        assert computer.evaluate("document.documentElement.scrollWidth") <= width
        assert code_on(computer).startswith("http://192.168.77.1:")
    computer.emulate_media(color_scheme="light")
    computer.get_by_role("button", name="Let the phone in no more").click()
    expect(computer.locator("#phone-code")).to_be_hidden()


def test_a_lost_connection(at_home, computer, phone, tmp_path):
    """The Wi-Fi goes in the middle of a file and comes back: what had come is not sent again."""
    link = let_in(computer)
    large = tmp_path / "large.jpg"
    large.write_bytes((SAMPLES / "forward_shoulder" / "front.jpg").read_bytes() + bytes(np.random.default_rng(1).bytes(12_000_000)))
    at_home.slow("40mbit")
    phone.goto(link)
    expect(phone.locator("#choose")).to_be_visible()
    before = at_home.sent()
    phone.set_input_files("#photos", large)
    while phone.locator("progress").evaluate("bar => bar.value") < 0.4:
        phone.wait_for_timeout(20)
    at_home.connection(False)
    expect(phone.locator("#told")).to_contain_text("The connection is lost. Trying again", timeout=CHECKED_MS)
    assert phone.locator("progress").evaluate("bar => bar.value") < 0.9
    at_home.connection(True)
    expect(phone.locator("li")).to_contain_text("shows your front", timeout=CHECKED_MS)
    expect(phone.locator("#told")).to_contain_text("Choose more")
    assert at_home.sent() - before < 1.25 * large.stat().st_size
    expect(computer.locator("#list img")).to_have_count(1)
    computer.get_by_role("button", name="Let the phone in no more").click()
    expect(computer.locator("#phone-told")).to_contain_text("You let the phone in no more")


def test_a_film_by_phone(at_home, running, computer, phone, tmp_path):
    """It comes whole, that is all, and its views are there."""
    film = write_film(SAMPLES / "forward_shoulder", tmp_path / "VID_0001.mp4", Shot(rate=10, stand_s=2.0, turn_s=1.0))
    phone.goto(let_in(computer))
    phone.set_input_files("#film", film)
    expect(phone.locator("li")).to_contain_text("The film is there", timeout=CHECKED_MS)
    expect(phone.locator("#told")).to_contain_text("Go on at your computer")
    assert gone(at_home)
    expect(computer.locator("#list img")).to_have_count(4, timeout=CHECKED_MS)
    views = computer.locator("#list select").evaluate_all("all => all.map(one => one.value)")
    assert sorted(views) == ["back", "front", "left", "right"]
    assert film.read_bytes() in {path.read_bytes() for path in running.home.rglob("*.mp4")}


def test_an_old_code(at_home, computer, phone):
    """Its page says what to do."""
    link = let_in(computer)
    phone.goto("about:blank")
    phone.goto(link.rpartition("#")[0] + "#" + "A" * 43)
    expect(phone.locator("#told")).to_contain_text("This code holds no more")
    phone.goto("about:blank")
    phone.goto(link.rpartition("#")[0])
    expect(phone.locator("#told")).to_contain_text("works only by the code on your computer")
    expect(phone.locator("#choose")).to_be_hidden()
    phone.goto("about:blank")


LISTEN = """import socket, sys
wire = socket.socket(socket.AF_PACKET, socket.SOCK_RAW, socket.ntohs(3))
wire.bind(("wire", 0))
sys.stdout.buffer.write(b"on")
while True:
    sys.stdout.buffer.write(wire.recv(70000))
    sys.stdout.buffer.flush()
"""


def test_nothing_readable_goes_over_the_network(at_home, computer, phone, tmp_path):
    """Listened to on the wire: neither the key nor anything of the photo's file."""
    link = let_in(computer)
    with open(tmp_path / "heard", "wb") as kept:
        listener = subprocess.Popen(["ip", "netns", "exec", at_home.phone, sys.executable, "-u", "-c", LISTEN], stdout=kept)
    while (tmp_path / "heard").stat().st_size == 0:
        phone.wait_for_timeout(50)
    phone.goto(link)
    phone.set_input_files("#photos", SAMPLES / "forward_shoulder" / "back.jpg")
    expect(phone.locator("li")).to_contain_text("shows your back", timeout=CHECKED_MS)
    phone.wait_for_timeout(500)
    listener.kill()
    listener.wait()
    heard = (tmp_path / "heard").read_bytes()
    photo = (SAMPLES / "forward_shoulder" / "back.jpg").read_bytes()
    assert len(heard) > len(photo)
    assert b"/say" in heard  # what is not sealed would be seen
    assert link.rpartition("#")[2].encode() not in heard
    assert not any(photo[at : at + 16] in heard for at in range(0, len(photo) - 16, 997))
    assert b'"photo": {' not in heard  # as answers begin
    phone.get_by_role("button", name="That is all").click()
    assert gone(at_home)


def test_a_public_network_is_refused(player, at_home, running, computer):
    """The same computer, given an address that is open to the internet."""
    for words in ("addr flush dev wire", "addr add 203.0.113.1/24 dev wire", "route add default dev wire"):
        ip("-n", at_home.computer, *words.split())
    computer.locator("nav").get_by_role("button", name="New fitting").click()
    computer.wait_for_url("**/fitting/*")
    computer.get_by_role("button", name="Use my phone").click()
    expect(computer.locator("#phone-told")).to_contain_text("This computer is in a public network")
    expect(computer.locator("#phone-code")).to_be_hidden()
    assert at_home.listening() == {"127.0.0.1"}
