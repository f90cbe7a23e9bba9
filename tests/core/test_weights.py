"""The weights are found, and refused when they are not the ones on the card."""

import hashlib
import os
import shutil
import subprocess
import sys
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


def test_found_where_an_installation_to_any_folder_puts_them(tmp_path):
    """`pip install --target T` puts the package into T and data files into T/share."""
    root = Path(__file__).parents[2]
    shutil.copytree(root / "fitcheck" / "core", tmp_path / "fitcheck" / "core")
    shutil.copy(root / "fitcheck" / "__init__.py", tmp_path / "fitcheck")
    shutil.copytree(root / "models" / "folds", tmp_path / "share" / "fitcheck" / "models" / "folds")
    code = "from fitcheck.core.weights import weights; print(weights('folds'))"
    env = os.environ | {"PYTHONPATH": str(tmp_path)}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=tmp_path, env=env)
    assert Path(done.stdout.strip()) == tmp_path / "share" / "fitcheck" / "models" / "folds" / "folds.onnx"


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
