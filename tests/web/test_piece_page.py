"""Her own paper in the page, without a browser: photos to the read piece, put right, altered, printed and kept."""

import json
import re
import subprocess
from datetime import date

import ezdxf
import numpy as np
import pytest
from diary.conftest import fit_check, new_fitting, step
from piece.own_pieces import as_read
from scenes.sheets.drafted import bodice
from scenes.sheets.make import Spec, make
from web.asked import Asked

from fitcheck.diary.reading import pieces as kept_pieces
from fitcheck.diary.recording import record
from fitcheck.diary.store import Diary
from fitcheck.piece.piece_file import kept_piece
from fitcheck.web import piece_tasks
from fitcheck.web.piece_work import PieceWork, Told

FRONT, BACK = bodice("front", 1.0, 0.0, False, True), bodice("back", 1.0, 0.0, False, False)


@pytest.fixture(scope="module")
def photo(tmp_path_factory):
    """A front with a side dart, size 1, cut out along its seam line, on wood."""
    folder = tmp_path_factory.mktemp("front")
    make(Spec(31, surface="wood", nested=False, drafted=FRONT, tilt_deg=8.0, size=(2000, 1500), hands=0), folder)
    return (folder / "photo_1.jpg").read_bytes()


@pytest.fixture(scope="module")
def nested(tmp_path_factory):
    folder = tmp_path_factory.mktemp("nested")
    truth = make(Spec(11, surface="dark", piece="skirt", nested=True, size=(2800, 2100), hands=0, tilt_deg=5.0), folder)
    return (folder / "photo_1.jpg").read_bytes(), truth


def begin(asked: Asked, **form: str) -> str:
    answer = asked.post("/pieces", form)
    assert answer.status == 303
    return answer.headers["location"]


def lying(asked: Asked, drafted, garment: str = "", wearer: str = "") -> PieceWork:
    """A piece on the table as if it had been read without fault."""
    address = begin(asked, garment=garment, wearer=wearer)
    work = asked.app.state.pieces.get(address.rsplit("/", 1)[1])
    found = piece_tasks.blank(asked.house.bench.desk, as_read(drafted))
    work.told = Told(drafted.name, drafted.allowance)
    work.was_read(found.piece, found.picture)
    return work


def test_a_photo_is_read_and_shown_upright(asked, photo):
    address = begin(asked)
    assert "Drop the piece" in asked.get(address).text
    id = asked.post(f"{address}/photo", photo).data["id"]
    assert asked.get(f"{address}/photos/{id}.jpg").body.startswith(b"\xff\xd8")
    assert asked.post(f"{address}/read", {"name": "front", "allowance": "0"}).status == 303
    marks = asked.get(f"{address}/marks.json").data
    assert [edge["name"] for edge in marks["seams"]] == [
        "neck",
        "shoulder",
        "armhole",
        "side_upper",
        "mouth_1",
        "side_lower",
        "waist",
        "centre",
    ]
    assert sum(point["what"] == "dart" for point in marks["points"]) == 3
    assert asked.get(f"{address}/picture.jpg").body.startswith(b"\xff\xd8")
    work = asked.app.state.pieces.get(address.rsplit("/", 1)[1])
    shoulder = np.array(next(edge["points"] for edge in marks["seams"] if edge["name"] == "shoulder")) * marks["mm_per_px"]
    assert float(np.hypot(*(shoulder[-1] - shoulder[0]))) == pytest.approx(
        float(np.hypot(*np.diff(FRONT.edges["shoulder"], axis=0)[0])), abs=1.0
    )
    assert paper_under(work) > 0.97


def paper_under(work) -> float:
    """Of what is inside the outline as it is drawn, the share that is pale in the picture."""
    import cv2

    picture = work.picture
    grey = cv2.imdecode(np.frombuffer(picture.jpeg, np.uint8), cv2.IMREAD_GRAYSCALE)
    inside = np.zeros_like(grey)
    cv2.fillPoly(inside, [np.round((work.piece.outline - picture.low) / picture.mm_per_px).astype(np.int32)], 1)
    inside = cv2.erode(inside, np.ones((7, 7), np.uint8)) > 0
    return float((grey[inside] > 100).mean())


def test_one_of_nested_sizes_is_named_or_clicked(asked, nested):
    data, truth = nested
    address = begin(asked)
    asked.post(f"{address}/photo", data)
    assert asked.post(f"{address}/read", {"name": "skirt_front", "allowance": "1.5"}).status == 303
    text = asked.get(address).text
    assert "Several size lines are seen. Choose yours below, or click it." in text
    assert re.findall(r"(\d): ([a-z ]+)</label>", text)[0] == ("1", "solid line")
    assert asked.get(f"{address}/picture.jpg").body.startswith(b"\xff\xd8")
    work = asked.app.state.pieces.get(address.rsplit("/", 1)[1])
    assert asked.post(f"{address}/read", {"size": truth["style"]}).status == 303
    by_name = work.piece.area_mm2()
    asked.post(f"{address}/anew")
    line, card = np.array(truth["cutting_line"]), truth["cards"][0]
    turn = np.radians(card["turn_deg"])
    place = (line[np.argmax(line[:, 0])] - card["middle"]) @ np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    assert asked.post(f"{address}/read", {"at": f"{place[0]},{place[1]}"}).status == 303
    assert work.piece.area_mm2() == pytest.approx(by_name, rel=1e-6)


@pytest.mark.parametrize(
    ("form", "says"),
    [
        ({}, "There is no photo of the piece yet."),
        ({"allowance": "much"}, "The allowance is no number."),
        ({"bar": "900"}, "bar cannot be 900."),
    ],
)
def test_what_is_missing_or_no_number_is_told(asked, form, says):
    answer = asked.post(f"{begin(asked)}/read", form)
    assert answer.status == 400
    assert says in answer.text


@pytest.mark.parametrize(
    ("spec", "says"),
    [
        ({"without_card": True, "drafted": FRONT}, "Photo 1 does not show the scale card."),
        ({"blank": True, "drafted": FRONT}, "No paper can be told from the table."),
        ({"tilt_deg": 60.0, "drafted": FRONT}, "held"),
    ],
    ids=["no card", "no paper", "60 degrees"],
)
def test_bad_photos_get_the_sentence_of_the_reading(asked, tmp_path, spec, says):
    make(Spec(32, surface="dark", nested=False, size=(2000, 1500), hands=0, **spec), tmp_path)
    address = begin(asked)
    asked.post(f"{address}/photo", (tmp_path / "photo_1.jpg").read_bytes())
    answer = asked.post(f"{address}/read", {"name": "front"})
    assert answer.status == 400
    assert says in answer.text
    assert "--" not in re.sub(r"<!--.*?-->", "", answer.text.split("<main")[1])
    assert asked.get(address).status == 200


def test_no_photo_at_all_is_refused(asked):
    answer = asked.post(f"{begin(asked)}/photo", b"this is no photo, but long enough", "application/json")
    assert answer.status == 400
    assert "no photo that can be read" in answer.data["problem"]


def test_a_corner_is_moved_taken_back_and_moved_again(asked):
    work = lying(asked, FRONT)
    tip = work.piece.edges["armhole"][0]
    said = {"what": "corner", "index": 2, "to": [tip[0] + 5, tip[1]]}
    found = asked.post(f"/piece/{work.id}/put", json.dumps(said).encode()).data
    assert found["back"]
    assert not found["forth"]
    assert work.piece.edges["shoulder"][-1][0] == pytest.approx(tip[0] + 5, abs=0.01)
    assert asked.post(f"/piece/{work.id}/back").data["forth"]
    assert work.piece.edges["shoulder"][-1][0] == pytest.approx(tip[0], abs=0.01)
    asked.post(f"/piece/{work.id}/forth")
    assert work.piece.edges["shoulder"][-1][0] == pytest.approx(tip[0] + 5, abs=0.01)


@pytest.mark.parametrize("said", [b"[]", b"nothing", b'{"what": "sail"}', b'{"what": "corner", "index": 900, "to": [0, 0]}'])
def test_what_cannot_be_put_right_changes_nothing(asked, said):
    work = lying(asked, FRONT)
    answer = asked.post(f"/piece/{work.id}/put", said, "application/json")
    assert answer.status == 400
    assert len(work.steps) == 1


def test_a_forward_shoulder_is_done_on_front_and_back(asked):
    """10 mm off the front at the armhole end, as much onto the back; both shoulders stay as long as each other."""
    lying(asked, BACK, "bodice", "Anna")
    work = lying(asked, FRONT, "bodice", "Anna")
    form = {"other_0": "forward_shoulder", "amount_0": "1", "with_back": "yes"}
    assert asked.post(f"/piece/{work.id}/alter", form).status == 303
    text = asked.get(f"/piece/{work.id}").text
    assert "Forward shoulder" in text
    assert "Front</strong>, altered" in text
    assert "Back</strong>, altered" in text
    assert "back shoulder / front shoulder" in text
    outcome = work.outcome[2]
    front, back = outcome.after
    assert front.edges["shoulder"][-1][1] - work.piece.edges["shoulder"][-1][1] == pytest.approx(10, abs=1.0)
    assert front.done == (("forward_shoulder", 10.0),)
    lengths = [float(np.hypot(*np.diff(piece.edges["shoulder"], axis=0).T).sum()) for piece in (front, back)]
    assert lengths[0] == pytest.approx(lengths[1], abs=1.0)
    svg = asked.get(f"/piece/{work.id}/drawing/1.svg")
    assert svg.headers["content-type"].startswith("image/svg+xml")
    assert 'id="before"' in svg.text


def test_alone_it_says_what_the_partner_needs(asked):
    work = lying(asked, FRONT)
    asked.post(f"/piece/{work.id}/alter", {"other_0": "waist_width", "amount_0": "4"})
    text = asked.get(f"/piece/{work.id}").text
    assert re.search(r"The waist of the front becomes [\d.]+ cm longer; so must its waistband, skirt or bodice", text)


def test_an_alteration_for_another_piece_is_passed_over_with_a_sentence(asked):
    work = lying(asked, FRONT)
    asked.post(f"/piece/{work.id}/alter", {"other_0": "crotch_depth", "amount_0": "1"})
    assert "is not for this piece" in asked.get(f"/piece/{work.id}").text


def test_files_to_print_and_to_cut_by(asked, tmp_path):
    work = lying(asked, FRONT)
    asked.post(f"/piece/{work.id}/alter", {"other_0": "full_small_bust", "amount_0": "1.5"})
    for paper, size in (("a4", "595.276 x 841.89"), ("letter", "612 x 792")):
        (tmp_path / "p.pdf").write_bytes(asked.get(f"/piece/{work.id}/file/0.pdf?paper={paper}").body)
        told = subprocess.run(["pdfinfo", str(tmp_path / "p.pdf")], capture_output=True, text=True, check=True).stdout
        assert size in told
    (tmp_path / "p.pdf").write_bytes(asked.get(f"/piece/{work.id}/file/0.pdf?paper=sheet").body)
    assert re.search(
        r"Pages:\s+1\n", subprocess.run(["pdfinfo", str(tmp_path / "p.pdf")], capture_output=True, text=True, check=True).stdout
    )
    assert asked.get(f"/piece/{work.id}/file/0.svg").text.startswith("<?xml")
    (tmp_path / "p.dxf").write_bytes(asked.get(f"/piece/{work.id}/file/0.dxf").body)
    assert not ezdxf.readfile(tmp_path / "p.dxf").audit().has_errors
    for wrong in ("file/7.pdf", "file/0.exe", "drawing/7.svg"):
        assert asked.get(f"/piece/{work.id}/{wrong}").status == 404


def test_it_is_kept_and_the_next_round_starts_from_there(asked):
    with Diary(asked.house.diary_folder, create=True) as diary:
        record(diary, new_fitting(fit_check(1, steps=(step(10.0),)), day=date(2026, 4, 1)))
    work = lying(asked, FRONT, "bodice", "Anna")
    assert work.round.alterations == (("forward_shoulder", 10.0, False),)
    assert "This round of bodice" in asked.get(f"/piece/{work.id}").text
    asked.post(f"/piece/{work.id}/alter", {"round_0": "yes"})
    assert asked.post(f"/piece/{work.id}/keep", {}).status == 303
    assert "Kept in the diary with bodice of Anna" in asked.get(f"/piece/{work.id}").text
    with Diary(asked.house.diary_folder) as diary:
        states = [(name, fitting, kept_piece(text).done) for name, fitting, text in kept_pieces(diary, "Anna", "bodice")]
    assert states == [("front", None, ()), ("front", 1, (("forward_shoulder", 10.0),))]
    assert "Front: next round" in asked.get("/pieces").text
    again = asked.app.state.pieces.get(begin(asked, wearer="Anna", garment="bodice", kept="front").rsplit("/", 1)[1])
    assert again.piece.done == (("forward_shoulder", 10.0),)
    assert again.round.alterations == ()
    assert asked.get(f"/piece/{again.id}").status == 200


def test_without_a_name_it_is_not_kept(asked):
    work = lying(asked, FRONT)
    answer = asked.post(f"/piece/{work.id}/keep", {"wearer": "Anna"})
    assert answer.status == 400
    assert "The diary needs to know which garment this is." in answer.text


def test_it_goes_with_its_files(asked, photo):
    address = begin(asked)
    asked.post(f"{address}/photo", photo)
    work = asked.app.state.pieces.get(address.rsplit("/", 1)[1])
    assert list(work.folder.iterdir())
    asked.post(f"{address}/clear")
    assert not work.folder.exists()
    assert asked.get(address).status == 404
