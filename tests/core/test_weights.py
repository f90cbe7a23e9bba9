"""The weights are found, and refused when they are not the ones on the card."""

import hashlib
import tomllib
from pathlib import Path

import pytest

from fitcheck.core.errors import ModelError
from fitcheck.core.weights import weights


@pytest.fixture(autouse=True)
def _forget():
    weights.cache_clear()
    yield
    weights.cache_clear()


def test_found_beside_the_source():
    file = weights("pose_landmarker")
    card = tomllib.loads((file.parent / "card.toml").read_text())
    assert hashlib.sha256(file.read_bytes()).hexdigest() == card["sha256"]
    assert card["licence"] == "Apache-2.0"


def _folder(tmp_path: Path, content: bytes, sha256: str) -> None:
    folder = tmp_path / "toy"
    folder.mkdir()
    (folder / "toy.bin").write_bytes(content)
    (folder / "card.toml").write_text(f'file = "toy.bin"\nsha256 = "{sha256}"\n')


def test_own_folder_wins_and_is_checked(tmp_path, monkeypatch):
    monkeypatch.setenv("FITCHECK_MODELS", str(tmp_path))
    _folder(tmp_path, b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")  # FIPS 180-4's own example
    assert weights("toy").read_bytes() == b"abc"


def test_changed_weights_are_refused(tmp_path, monkeypatch):
    monkeypatch.setenv("FITCHECK_MODELS", str(tmp_path))
    _folder(tmp_path, b"abd", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")
    with pytest.raises(ModelError, match="not the ones"):
        weights("toy")


def test_missing_file_and_missing_model(tmp_path, monkeypatch):
    monkeypatch.setenv("FITCHECK_MODELS", str(tmp_path))
    _folder(tmp_path, b"abc", "0" * 64)
    (tmp_path / "toy" / "toy.bin").unlink()
    with pytest.raises(ModelError, match="missing"):
        weights("toy")
    with pytest.raises(ModelError, match="not found"):
        weights("no_such_model")
