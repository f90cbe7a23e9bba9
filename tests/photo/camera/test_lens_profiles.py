"""The file of calibrated lenses: kept whole, several cameras, and used only for the lens it was made for."""

import json
import os
from dataclasses import asdict, replace

import numpy as np
import pytest

from fitcheck.core.camera import FULL_FRAME_DIAGONAL_MM, LensProfile, Photo
from fitcheck.core.errors import OutputError, UsageError
from fitcheck.photo.camera.lens_prior import FOCUS_SD, lens_prior
from fitcheck.photo.camera.lens_profiles import keep_lens, known_camera, lens_for, profile_path, read_lenses

LENS = LensProfile("Invented One", 4 / 3, 0.6, 0.003, -0.05, 0.01, 0.02, 0.02, equivalent_mm=26.0, photos=10)


def photo(width=1500, height=2000, equivalent=26.0, model="Invented One"):
    focal = None if equivalent is None else equivalent * np.hypot(width, height) / FULL_FRAME_DIAGONAL_MM
    return Photo("front", "front.jpg", "", np.zeros((height, width, 3), np.uint8), focal, model)


def test_kept_and_read_again(tmp_path):
    path = tmp_path / "new" / "lenses.json"
    assert read_lenses(path) == ()
    other = replace(LENS, camera_model="Invented Two")
    keep_lens(path, LENS)
    keep_lens(path, other)
    better = replace(LENS, focal_sd=0.001, equivalent_mm=26.2)
    keep_lens(path, better)
    assert read_lenses(path) == (other, better)
    keep_lens(path, replace(LENS, equivalent_mm=52.0))  # its second lens
    assert len(read_lenses(path)) == 3
    assert [p.name for p in path.parent.iterdir()] == ["lenses.json"]


def test_a_failed_write_leaves_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "lenses.json"
    keep_lens(path, LENS)

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    with pytest.raises(OutputError, match="No space left"):
        keep_lens(path, replace(LENS, camera_model="Invented Two"))
    assert read_lenses(path) == (LENS,)
    assert [p.name for p in tmp_path.iterdir()] == ["lenses.json"]


@pytest.mark.parametrize("text", ["", "{}}", '{"version": 2}', '{"cameras": [{"camera_model": "x"}]}', '{"version": 1, "more": 1}'])
def test_what_is_no_profile_is_refused_and_not_overwritten(tmp_path, text):
    path = tmp_path / "lenses.json"
    path.write_text(text)
    for action in (lambda: read_lenses(path), lambda: keep_lens(path, LENS)):
        with pytest.raises(UsageError, match="not a lens profile"):
            action()
    assert path.read_text() == text


def test_numbers_only(tmp_path):
    path = tmp_path / "lenses.json"
    keep_lens(path, LENS)
    data = json.loads(path.read_text())
    data["cameras"][0]["focal"] = "wide"
    path.write_text(json.dumps(data))
    with pytest.raises(UsageError):
        read_lenses(path)


@pytest.mark.parametrize(
    "odd",
    [
        {"focal": 0.0},
        {"focal": 99.0},
        {"shape": 0.0},
        {"focal_sd": -0.1},
        {"k1": 1e308},
        {"equivalent_mm": 0.0},
        {"camera_model": "x" * 999},
    ],
)
def test_a_lens_that_cannot_be_is_no_profile(tmp_path, odd):
    path = tmp_path / "lenses.json"
    path.write_text(json.dumps({"version": 1, "cameras": [asdict(LENS) | odd]}))
    with pytest.raises(UsageError, match="not a lens profile"):
        read_lenses(path)


def test_a_pipe_or_a_device_is_not_read(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "endless").symlink_to("/dev/zero")
    for name in ("pipe", "endless"):
        with pytest.raises(UsageError, match="no plain file"):
            read_lenses(tmp_path / name)


def test_a_camera_named_by_hand_that_is_not_calibrated_is_asked_about():
    known_camera("Invented One", [LENS])
    known_camera("", [LENS])
    known_camera("Anything", [])
    with pytest.raises(UsageError, match='"Invented Onne", which was not calibrated; did you mean "Invented One"'):
        known_camera("Invented Onne", [LENS])


def test_it_lies_in_the_users_own_settings(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert profile_path().name == "lenses.json"
    assert "fitcheck" in str(profile_path().parent)


@pytest.mark.parametrize(
    ("changed", "used"),
    [
        ({}, True),
        ({"width": 3000, "height": 4000}, True),  # another size of picture, same shape
        ({"width": 2000, "height": 1500}, True),  # held lying
        ({"width": 1500, "height": 1500}, False),  # cropped
        ({"equivalent": 26.4}, True),
        ({"equivalent": 27.0}, False),  # zoomed
        ({"equivalent": None}, True),
        ({"model": "Invented Two"}, False),
        ({"model": ""}, False),
    ],
)
def test_used_for_its_own_lens_only(changed, used):
    assert (lens_for(photo(**changed), [LENS]) == LENS) is used


def test_a_camera_named_by_hand_and_one_with_two_lenses():
    bare = photo(equivalent=None, model="")
    assert lens_for(bare, [LENS], "Invented One") == LENS
    both = [LENS, replace(LENS, equivalent_mm=52.0)]
    assert lens_for(bare, both, "Invented One") is None
    assert lens_for(photo(equivalent=52.0), both) == both[1]


def test_profile_before_file_before_guess():
    with_profile = lens_prior(photo(), [LENS])
    assert with_profile.focal_px == pytest.approx(0.6 * 2500)
    assert with_profile.focal_sd == pytest.approx(np.hypot(0.003, FOCUS_SD))
    assert (with_profile.k1, with_profile.k1_sd, with_profile.higher[0]) == (-0.05, 0.01, 0.02)
    from_file = lens_prior(photo(equivalent=27.0), [LENS])
    assert (from_file.focal_px, from_file.k1) == (photo(equivalent=27.0).focal_px, 0.0)
    assert lens_prior(photo(equivalent=None, model="")).guessed
    assert lens_prior(photo(equivalent=None, model="")).focal_sd > 0.2
