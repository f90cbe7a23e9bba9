"""Ordinary pictures through `fitcheck check`: python -m tests.benchmarks.ordinary_photos [FOLDER_OF_PICTURES ...]

The people (and things) that scikit-image and matplotlib carry, and the pictures in the folders given (wheels of vision packages bring
some), as they are and mistreated: cropped, turned, upside down, grey, tiny, huge, 16 bit, CMYK, transparent, moving, wrongly named, two
people, nobody; without a card, with a card pasted in, and with the wearer's height told. Each runs as the command does, in a fresh
folder. A run is right if it ends with exit code 0, a report and something measured, or with another code and at most three plain
sentences, and never a traceback; without a card it must say so; no alteration may be proposed, for none of these is a fitting. Prints
every answer and ends with code 1 if any is wrong.
"""

import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import cv2
import matplotlib
import numpy as np
from PIL import Image
from skimage import data
from typer.testing import CliRunner

from fitcheck.cli import app
from fitcheck.photo.load import SUFFIXES

RUNNER = CliRunner()
CARD_TALL = 0.25  # of the picture
Write = Callable[[Image.Image, Path], None]


def pictures(folders: list[str]) -> Iterator[tuple[str, Image.Image]]:
    """Name and picture, RGB, at least 500 px on the short side."""
    sample = Path(matplotlib.get_data_path()) / "sample_data" / "grace_hopper.jpg"
    found = {
        "astronaut": Image.fromarray(data.astronaut()),
        "camera": Image.fromarray(data.camera()),
        "coffee (nobody)": Image.fromarray(data.coffee()),
        "brick (nobody)": Image.fromarray(data.brick()),
        "grace_hopper": Image.open(sample),
        "white (nobody)": Image.new("RGB", (800, 1000), "white"),
        "noise (nobody)": Image.fromarray(np.random.default_rng(0).integers(0, 256, (700, 900, 3), dtype=np.uint8)),
    }
    for folder in folders:
        found |= {p.name: Image.open(p) for p in sorted(Path(folder).iterdir()) if p.suffix.lower() in SUFFIXES}
    for name, image in found.items():
        rgb = image.convert("RGB")
        grow = max(1.0, 500 / min(rgb.size))
        yield name, rgb.resize((round(rgb.width * grow), round(rgb.height * grow)))


def as_file(suffix: str, change: Callable[[Image.Image], Image.Image] = lambda image: image, **options: object) -> Write:
    """Write `front<suffix>`, changed."""

    def write(image: Image.Image, folder: Path) -> None:
        change(image).save(folder / f"front{suffix}", **options)

    return write


def all_four(image: Image.Image, folder: Path) -> None:
    for view in ("front", "right", "back", "left"):
        image.save(folder / f"{view}.jpg")


def sixteen_bit(image: Image.Image, folder: Path) -> None:
    deep = np.asarray(image)[..., ::-1].astype(np.uint16) * 257
    cv2.imwrite(str(folder / "front.png"), deep)


def sixteen_bit_grey(image: Image.Image, folder: Path) -> None:
    cv2.imwrite(str(folder / "front.png"), np.asarray(image.convert("L")).astype(np.uint16) * 257)


def moving_gif(image: Image.Image, folder: Path) -> None:
    """Under a jpg's name, since gif is not among the files looked for."""
    frames = [image.convert("P"), image.rotate(5).convert("P")]
    frames[0].save(folder / "front.gif", save_all=True, append_images=frames[1:])
    (folder / "front.gif").rename(folder / "front.jpg")


def moving_webp(image: Image.Image, folder: Path) -> None:
    image.save(folder / "front.webp", save_all=True, append_images=[image.rotate(5)])


def garbage(suffix: str) -> Write:
    """Random bytes under a photo's name."""

    def write(image: Image.Image, folder: Path) -> None:
        (folder / f"front{suffix}").write_bytes(np.random.default_rng(1).bytes(20_000))

    return write


def renamed(image: Image.Image, folder: Path) -> None:
    """A jpg that calls itself heic."""
    image.save(folder / "front.jpg")
    (folder / "front.jpg").rename(folder / "front.heic")


def half_a_file(image: Image.Image, folder: Path) -> None:
    image.save(folder / "front.jpg")
    whole = (folder / "front.jpg").read_bytes()
    (folder / "front.jpg").write_bytes(whole[: len(whole) // 2])


def transparent(image: Image.Image) -> Image.Image:
    out = image.convert("RGBA")
    out.putalpha(Image.linear_gradient("L").resize(image.size))
    return out


def two_people(image: Image.Image) -> Image.Image:
    out = Image.new("RGB", (2 * image.width, image.height))
    out.paste(image, (0, 0))
    out.paste(image.transpose(Image.Transpose.FLIP_LEFT_RIGHT), (image.width, 0))
    return out


def middle(image: Image.Image) -> Image.Image:
    w, h = image.size
    part = image.crop((w // 4, h // 4, 3 * w // 4, 3 * h // 4))
    return part.resize((2 * part.width, 2 * part.height))


def huge(image: Image.Image) -> Image.Image:
    grow = (24e6 / (image.width * image.height)) ** 0.5
    return image.resize((round(image.width * grow), round(image.height * grow)))


def with_card(image: Image.Image) -> Image.Image:
    """A scale card beside the picture's middle, on a strip of wall of its own."""
    cell = max(6, round(image.height * CARD_TALL / 33))
    board = np.full((33 * cell, 24 * cell), 245, np.uint8)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)
    for number in range(12):
        row, column = divmod(number, 3)
        y, x = round((5.5 + row * 6) * cell), round((3.5 + column * 6) * cell)
        side = round(4.5 * cell)
        board[y : y + side, x : x + side] = cv2.aruco.generateImageMarker(dictionary, number, side)
    card = Image.fromarray(board).convert("RGB")
    out = Image.new("RGB", (image.width + card.width + 40, max(image.height, card.height + 40)), (150, 150, 150))
    out.paste(image, (0, 0))
    out.paste(card, (image.width + 20, (out.height - card.height) // 2))
    return out


MISTREATED: dict[str, tuple[Write, tuple[str, ...]]] = {
    "as it is": (as_file(".jpg"), ()),
    "four times the same": (all_four, ()),
    "height told": (as_file(".jpg"), ("--height-mm", "1650")),
    "cropped to the middle": (as_file(".jpg", middle), ()),
    "turned by 90": (as_file(".jpg", lambda image: image.transpose(Image.Transpose.ROTATE_90)), ()),
    "upside down": (as_file(".jpg", lambda image: image.transpose(Image.Transpose.ROTATE_180)), ()),
    "turned by 17": (as_file(".jpg", lambda image: image.rotate(17, expand=True)), ("--height-mm", "1650")),
    "grey": (as_file(".png", lambda image: image.convert("L")), ()),
    "black and white": (as_file(".png", lambda image: image.convert("1")), ()),
    "tiny": (as_file(".jpg", lambda image: image.resize((90, 120))), ()),
    "huge": (as_file(".jpg", huge), ()),
    "a thin strip": (as_file(".jpg", lambda image: image.resize((5000, 410))), ("--height-mm", "1650")),
    "16 bit": (sixteen_bit, ()),
    "16 bit grey": (sixteen_bit_grey, ()),
    "CMYK": (as_file(".jpg", lambda image: image.convert("CMYK")), ()),
    "palette": (as_file(".png", lambda image: image.convert("P")), ()),
    "transparent": (as_file(".png", transparent), ()),
    "moving gif": (moving_gif, ()),
    "moving webp": (moving_webp, ()),
    "gif named gif": (as_file(".gif", lambda image: image.convert("P")), ()),
    "garbage named heic": (garbage(".heic"), ()),
    "garbage named jpg": (garbage(".jpg"), ()),
    "empty file": (lambda image, folder: (folder / "front.png").touch(), ()),
    "jpg named heic": (renamed, ()),
    "half a file": (half_a_file, ()),
    "two people": (as_file(".jpg", two_people), ()),
    "two people, height told": (as_file(".jpg", two_people), ("--height-mm", "1650")),
    "with a card": (as_file(".jpg", with_card), ()),
    "two people with a card": (as_file(".jpg", lambda image: with_card(two_people(image))), ()),
    "upside down with a card": (as_file(".jpg", lambda image: with_card(image.transpose(Image.Transpose.ROTATE_180))), ()),
    "cropped with a card": (as_file(".jpg", lambda image: with_card(middle(image))), ()),
    "card four times": (lambda image, folder: all_four(with_card(image), folder), ()),
    "card turned on its side": (as_file(".jpg", lambda image: with_card(image).transpose(Image.Transpose.ROTATE_90)), ()),
}


def fault(code: int, said: str, exception: BaseException | None, folder: Path, carded: bool) -> str:
    """What is wrong with an answer; "" where nothing is."""
    if exception is not None and not isinstance(exception, SystemExit):
        return f"crashed: {exception!r}"
    if "Traceback" in said:
        return "traceback"
    if code == 0:
        if "Nothing could be measured" in said:
            return "nothing measured but no error"
        if "This round:" in said:
            return "an alteration out of nothing"
        told = (folder / "report.html").exists() and (folder / "fitcheck.json").exists()
        return ("" if carded else "measured without a scale") if told else "no report"
    text = " ".join(said.split())
    if not text.endswith(".") and not text.endswith(")."):
        return "no whole sentence"
    return "" if 1 <= text.count(". ") + 1 <= 3 else "too many words"


def main(folders: list[str]) -> int:
    """Number of wrong answers."""
    wrong = 0
    for name, image in pictures(folders):
        for treatment, (write, options) in MISTREATED.items():
            with tempfile.TemporaryDirectory() as work:
                folder = Path(work)
                write(image, folder)
                begun = time.perf_counter()
                result = RUNNER.invoke(app, ["check", str(folder), *options])
                seconds = time.perf_counter() - begun
                carded = "card" in treatment or bool(options)
                problem = fault(result.exit_code, result.output, result.exception, folder, carded)
                wrong += bool(problem)
                said = " ".join(result.output.replace(work, "FOLDER").split())
                print(
                    f"{'WRONG ' + problem if problem else 'ok':6s} {name:18s} {treatment:26s} {result.exit_code} {seconds:4.1f} s  {said}",
                    flush=True,
                )
    print(f"{wrong} wrong")
    return wrong


if __name__ == "__main__":
    sys.exit(min(1, main(sys.argv[1:])))
