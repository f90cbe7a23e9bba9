"""Pictures that are no fittings: one clear sentence and an exit code, never a traceback. More: benchmarks/ordinary_photos.py."""

from collections.abc import Callable
from pathlib import Path

import cv2
import matplotlib
import numpy as np
import pytest
from PIL import Image
from skimage import data
from typer.testing import CliRunner

from fitcheck.cli import app

RUNNER = CliRunner()
NO_CARD = "No scale card was found in any photo"
Write = Callable[[Path], object]


def astronaut(long_side: int = 1024) -> Image.Image:
    return Image.fromarray(data.astronaut()).resize((long_side, long_side))


def said(folder: Path, *options: str) -> tuple[int, str]:
    """Exit code and the answer in one line."""
    result = RUNNER.invoke(app, ["check", str(folder), *options])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert "Traceback" not in result.output
    return result.exit_code, " ".join(result.output.split())


def sixteen_bit(folder: Path) -> None:
    cv2.imwrite(str(folder / "front.png"), np.asarray(astronaut())[..., ::-1].astype(np.uint16) * 257)


def see_through(folder: Path) -> None:
    image = astronaut().convert("RGBA")
    image.putalpha(Image.linear_gradient("L").resize(image.size))
    image.save(folder / "front.png")


def moving(folder: Path) -> None:
    astronaut(600).save(folder / "front.webp", save_all=True, append_images=[astronaut(600).rotate(5)])


UNSCALED: dict[str, Write] = {
    "portrait": lambda folder: astronaut().save(folder / "front.jpg"),
    "a side no multiple of four": lambda folder: astronaut(998).save(folder / "front.jpg"),
    "upside down": lambda folder: astronaut().rotate(180).save(folder / "front.jpg"),
    "grey": lambda folder: astronaut().convert("L").save(folder / "front.png"),
    "CMYK": lambda folder: astronaut().convert("CMYK").save(folder / "front.jpg"),
    "sixteen bit": sixteen_bit,
    "see-through": see_through,
    "moving": moving,
    "huge": lambda folder: astronaut(4600).save(folder / "front.jpg"),
}


@pytest.mark.parametrize("write", UNSCALED.values(), ids=UNSCALED)
def test_a_person_without_a_card(tmp_path: Path, write: Write) -> None:
    write(tmp_path)
    code, answer = said(tmp_path)
    assert code == 4
    assert answer.startswith(NO_CARD)
    assert "fitcheck card" in answer
    assert not (tmp_path / "report.html").exists()


def gif_named_jpg(folder: Path) -> None:
    astronaut().convert("P").save(folder / "front.gif")
    (folder / "front.gif").rename(folder / "front.jpg")


UNUSABLE: dict[str, tuple[Write, str]] = {
    "garbage": (lambda folder: (folder / "front.heic").write_bytes(bytes(range(256)) * 40), "front.heic is not a photo. Give a "),
    "empty": (lambda folder: (folder / "front.png").touch(), "front.png is not a photo. Give a "),
    "gif": (gif_named_jpg, "front.jpg is not a photo. Give a "),
    "tiny": (lambda folder: astronaut(120).save(folder / "front.jpg"), "front.jpg is only 120 x 120 pixels"),
}


@pytest.mark.parametrize(("write", "answer"), UNUSABLE.values(), ids=UNUSABLE)
def test_files_that_are_no_photos(tmp_path: Path, write: Write, answer: str) -> None:
    write(tmp_path)
    code, text = said(tmp_path)
    assert code == 3
    assert text.startswith(answer)


@pytest.mark.parametrize("picture", [data.coffee(), data.brick(), np.full((600, 800, 3), 255, np.uint8)], ids=["cup", "wall", "white"])
def test_nobody(tmp_path: Path, picture: np.ndarray) -> None:
    Image.fromarray(picture).resize((900, 1000)).convert("RGB").save(tmp_path / "front.jpg")
    code, answer = said(tmp_path)
    assert code == 4
    assert answer.startswith("Nobody was found in any photo.")


def test_her_height_does_not_help_where_her_feet_are_not_seen(tmp_path: Path) -> None:
    astronaut().save(tmp_path / "front.jpg")
    code, answer = said(tmp_path, "--height-mm", "1650")
    assert code == 4
    assert "your height cannot stand in for it: no photo shows you from head to feet." in answer


def beside_card(image: Image.Image, turned: bool = False) -> Image.Image:
    """The picture, by itself perhaps upside down, with a scale card pasted beside it."""
    board = np.full((330, 240), 245, np.uint8)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)
    for number in range(12):
        y, x = 55 + number // 3 * 60, 35 + number % 3 * 60
        board[y : y + 45, x : x + 45] = cv2.aruco.generateImageMarker(dictionary, number, 45)
    out = Image.new("RGB", (image.width + 300, image.height), (150, 150, 150))
    out.paste(image.rotate(180) if turned else image, (0, 0))
    out.paste(Image.fromarray(board), (image.width + 30, image.height // 3))
    return out


def test_a_portrait_beside_a_card_is_no_fitting(tmp_path: Path) -> None:
    portrait = Image.open(Path(matplotlib.get_data_path()) / "sample_data" / "grace_hopper.jpg").resize((1024, 1200))
    beside_card(portrait.convert("RGB")).save(tmp_path / "front.jpg")
    code, answer = said(tmp_path)
    assert code == 4
    assert answer.startswith("No seam lines and no stickers were found on the wearer, so nothing of the fit can be measured.")


def test_a_picture_not_turned_upright_is_told_so(tmp_path: Path) -> None:
    beside_card(astronaut(), turned=True).save(tmp_path / "front.jpg")
    code, answer = said(tmp_path)
    assert code == 4
    assert answer.startswith("The photos stand on their heads or lie on their sides. Turn them upright")
