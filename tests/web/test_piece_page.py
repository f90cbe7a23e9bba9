"""Her own paper in the page, without a browser: photos to the read piece, put right, altered, printed and kept."""

import re
import subprocess

import ezdxf
import numpy as np
import pytest
from scenes.sheets.drafted import bodice
from scenes.sheets.make import Spec, make
from web.lying import begin, lying

FRONT = bodice("front", 1.0, 0.0, False, True)


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


@pytest.mark.parametrize("said", [b"[]", b"nothing", b'{"what": "sail"}', b'{"what": "corner", "index": 900, "to": [0, 0]}'])
def test_what_cannot_be_put_right_changes_nothing(asked, said):
    work = lying(asked, FRONT)
    answer = asked.post(f"/piece/{work.id}/put", said, "application/json")
    assert answer.status == 400
    assert len(work.steps) == 1


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


def test_it_goes_with_its_files(asked, photo):
    address = begin(asked)
    asked.post(f"{address}/photo", photo)
    work = asked.app.state.pieces.get(address.rsplit("/", 1)[1])
    assert list(work.folder.iterdir())
    asked.post(f"{address}/clear")
    assert not work.folder.exists()
    assert asked.get(address).status == 404
