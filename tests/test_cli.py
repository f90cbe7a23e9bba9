"""The commands as a user meets them: good runs, and one clear sentence for every kind of bad input."""

import json
import shutil
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from typer.testing import CliRunner

from fitcheck.cli import app
from fitcheck.core.camera import LensProfile
from fitcheck.photo.camera.lens_profiles import keep_lens
from fitcheck.photo.load import load_photo

SAMPLES = Path(__file__).parents[1] / "sample_images"
run = CliRunner().invoke


@pytest.fixture
def folder(tmp_path) -> Path:
    """A copy of the front photo only, which keeps these runs short."""
    (tmp_path / "fitting").mkdir()
    shutil.copy(SAMPLES / "forward_shoulder" / "front.jpg", tmp_path / "fitting" / "front.jpg")
    return tmp_path / "fitting"


def says(result, code: int, *words: str) -> None:
    """One sentence of problem and one of advice on stderr, no traceback, the right exit code."""
    assert result.exit_code == code, result.output
    for word in words:
        assert word in result.stderr
    assert "Traceback" not in result.output
    assert len(result.stderr.strip().splitlines()) == 1


def huge_png(path: Path, width: int, height: int) -> None:
    """A tiny file whose header claims a huge picture."""
    head = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = b"IDAT" + zlib.compress(b"\0" * 100)
    chunks = [struct.pack(">I", len(c) - 4) + c + struct.pack(">I", zlib.crc32(c)) for c in (head, body, b"IEND")]
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + b"".join(chunks))


def test_check_writes_page_and_data_and_prints_the_answer(tmp_path):
    result = run(app, ["check", str(SAMPLES / "forward_shoulder"), "--out", str(tmp_path), "--units", "in"])
    assert result.exit_code == 0, result.output
    assert "orward shoulder" in result.stdout
    assert "/8 in" in result.stdout
    data = json.loads((tmp_path / "fitcheck.json").read_text())
    assert [step["id"] for step in data["round"]] == ["rounded_erect_upper_back", "forward_shoulder"]  # balance first
    page = (tmp_path / "report.html").read_text()
    assert "orward shoulder" in page
    assert "/8\u00a0in" in page


def test_help_names_every_command_and_option():
    assert all(word in run(app, ["--help"]).stdout for word in ("check", "card", "calibrate", "rules"))
    text = run(app, ["check", "--help"], env={"COLUMNS": "200"}).stdout
    assert all(option in text for option in ("--out", "--units", "--card-bar", "--height-mm", "--scale-corners", "--profile"))
    text = run(app, ["calibrate", "--help"], env={"COLUMNS": "200"}).stdout
    assert all(word in text for word in ("--camera", "--profile", "FITCHECK_PROFILE", "8 or more"))


def test_rules_show_sources_and_what_is_unreviewed():
    text = run(app, ["rules"]).stdout
    assert "orward shoulder" in text
    assert "common practice" in text
    assert "nreviewed" in text or "not reviewed" in text.lower()


def test_card_is_written(tmp_path):
    assert run(app, ["card", "--paper", "letter", "--out", str(tmp_path / "card.pdf")]).exit_code == 0
    assert (tmp_path / "card.pdf").read_bytes().startswith(b"%PDF")
    says(run(app, ["card", "--out", str(tmp_path / "absent" / "card.pdf")]), 5, "cannot be written")


def test_no_folder_and_empty_folder(tmp_path):
    says(run(app, ["check", str(tmp_path / "absent")]), 3, "no folder")
    says(run(app, ["check", str(tmp_path)]), 3, "no photo named")


def test_text_named_jpg(folder):
    (folder / "front.jpg").write_text("not a photo")
    says(run(app, ["check", str(folder)]), 3, "front.jpg", "not a photo")


def test_truncated_jpeg(folder):
    path = folder / "front.jpg"
    path.write_bytes(path.read_bytes()[:60000])
    says(run(app, ["check", str(folder)]), 3, "front.jpg", "damaged")


def test_one_pixel_and_thirty_thousand_pixels(folder):
    Image.new("RGB", (1, 1)).save(folder / "front.jpg")
    says(run(app, ["check", str(folder)]), 3, "1 x 1")
    (folder / "front.jpg").unlink()
    huge_png(folder / "front.png", 30000, 30000)
    says(run(app, ["check", str(folder)]), 3, "megapixels")


def test_nobody_in_the_picture(folder):
    from skimage import data

    cat = Image.fromarray(data.chelsea()).resize((1500, 1000))
    cat.save(folder / "front.jpg")
    says(run(app, ["check", str(folder)]), 4, "Nobody")
    assert not (folder / "report.html").exists()


def test_no_card(folder):
    rgb = np.array(Image.open(folder / "front.jpg"))
    rgb[200:1100, 880:1420] = rgb[210:211, 880:1420]
    Image.fromarray(rgb).save(folder / "front.jpg")
    says(run(app, ["check", str(folder)]), 4, "No scale card", "fitcheck card")
    assert run(app, ["check", str(folder), "--height-mm", "1635"]).exit_code == 0
    data = json.loads((folder / "fitcheck.json").read_text())
    assert "scale_without_card" in json.dumps(data["photos"])
    assert "times less exact" in (folder / "report.html").read_text()


def test_two_people(folder):
    rgb = np.array(Image.open(folder / "front.jpg"))
    wide = np.concatenate([rgb, rgb[:, 250:1150]], axis=1)
    Image.fromarray(wide).save(folder / "front.jpg", quality=92)
    result = run(app, ["check", str(folder)])
    assert "More than one person" in result.stdout


def test_a_card_printed_at_95_percent_is_corrected_by_its_bar(folder, tmp_path):
    def span(*options: str) -> float:
        assert run(app, ["check", str(folder), "--out", str(tmp_path), *options]).exit_code == 0
        data = json.loads((tmp_path / "fitcheck.json").read_text())
        return next(p["value"] for p in data["posture"] if p["id"] == "bust_span")

    assert span("--card-bar", "95") / span() == pytest.approx(0.95, abs=0.01)


def test_a_calibrated_camera_is_used_from_its_profile(folder, tmp_path, monkeypatch):
    def distance(profile: Path) -> float:
        monkeypatch.setenv("FITCHECK_PROFILE", str(profile))
        assert run(app, ["check", str(folder), "--out", str(tmp_path)]).exit_code == 0
        return json.loads((tmp_path / "fitcheck.json").read_text())["photos"][0]["card"]["distance_mm"]

    photo = load_photo(folder / "front.jpg", "front")
    focal = photo.focal_px / np.hypot(*photo.rgb.shape[:2])
    keep_lens(tmp_path / "longer.json", LensProfile(photo.camera_model, 4 / 3, 1.2 * focal, 0.001, 0.0, 0.01, 0.0, 0.01))
    assert distance(tmp_path / "longer.json") / distance(tmp_path / "absent.json") == pytest.approx(1.2, abs=0.02)
    (tmp_path / "broken.json").write_text("{}}")
    says(run(app, ["check", str(folder), "--profile", str(tmp_path / "broken.json")]), 2, "not a lens profile")


def test_calibrating_with_nothing_to_go_by(tmp_path):
    says(run(app, ["calibrate", str(tmp_path / "absent")]), 3, "no folder")
    profile = tmp_path / "lenses.json"
    says(run(app, ["calibrate", str(SAMPLES / "control"), "--profile", str(profile)]), 3, "4 photos", "8 are needed")
    assert not profile.exists()


def test_options_that_make_no_sense(folder):
    says(run(app, ["check", str(folder), "--card-bar", "9"]), 2, "--card-bar is 9", "did you mean 90")
    says(run(app, ["check", str(folder), "--card-height", "9"]), 2, "--card-height is 9")
    says(run(app, ["check", str(folder), "--scale-corners", "front:a4:1,2"]), 2, "scale-corners")
    (folder / "fitting.toml").write_text("waist = 3")
    says(run(app, ["check", str(folder)]), 2, "fitting.toml", "waist")


def test_an_earlier_report_survives_a_failed_run(folder):
    assert run(app, ["check", str(folder)]).exit_code == 0
    before = (folder / "report.html").read_bytes()
    (folder / "front.jpg").write_text("broken now")
    assert run(app, ["check", str(folder)]).exit_code == 3
    assert (folder / "report.html").read_bytes() == before
    assert sorted(p.name for p in folder.iterdir()) == ["fitcheck.json", "front.jpg", "report.html"]


def test_output_that_cannot_be_written(folder, tmp_path):
    (tmp_path / "taken").write_text("a file, no folder")
    says(run(app, ["check", str(folder), "--out", str(tmp_path / "taken")]), 5, "cannot be written")


def test_help_texts_keep_the_names_of_tables() -> None:
    for command in ("size", "sheet"):
        assert "[tape]" in CliRunner().invoke(app, [command, "--help"], env={"COLUMNS": "200"}).output


def test_data_for_scripts_stands_alone_on_stdout(folder, tmp_path):
    result = run(app, ["check", str(folder), "--out", str(tmp_path), "--json"])
    assert result.exit_code == 0
    assert json.loads(result.stdout) == json.loads((tmp_path / "fitcheck.json").read_text("utf-8"))
    assert "report.html" in result.stderr


def test_a_measurement_misspelt_in_observed_is_named(folder):
    (folder / "fitting.toml").write_text("[observed]\nsleve_tight_R = 12\nwaist_mark_above_frnt = 3")
    result = run(app, ["check", str(folder)])
    assert result.exit_code == 2
    assert '"waist_mark_above_front"' in result.stderr
    assert "2 things are wrong" in result.stderr


def test_short_help_and_completion_are_there():
    for words in (["-h"], ["check", "-h"], ["diary", "list", "-h"]):
        assert run(app, words).exit_code == 0
    assert "--install-completion" in run(app, ["--help"]).stdout


def test_a_check_that_is_not_recorded_loads_no_diary(tmp_path):
    """Its data base alone is a hundredth of a whole check."""
    told = """
import sys
from fitcheck.cli import app
try:
    app(["check", sys.argv[1]])
except SystemExit:
    print({"sqlite3", "fitcheck.diary.store"} & {*sys.modules}, "fitcheck.report.write" in sys.modules)
"""
    ran = subprocess.run([sys.executable, "-c", told, str(tmp_path)], capture_output=True, text=True, check=True)
    assert ran.stdout.splitlines()[-1] == "set() True"
