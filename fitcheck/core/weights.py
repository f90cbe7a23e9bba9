"""Find the weights of a model and make sure they are the right ones."""

import hashlib
import importlib.metadata
import os
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from fitcheck.core.errors import ModelError


@cache
def weights(name: str) -> Path:
    """The weights file of model `name`, checked against the sha256 in its card.toml.

    Looked for in the folder the environment variable FITCHECK_MODELS names, in `models/` beside the package's source, where
    `pip install --target` puts data files (beside the package), and where any other installation says it put them.

    Parameters
    ----------
    name : str
        Folder under `models/`.

    Returns
    -------
    Path
        Checked once per process.

    Raises
    ------
    ModelError
        The weights are missing or differ from the card.
    """
    for folder in _folders(name):
        card_file = folder / "card.toml"
        if not card_file.is_file():
            continue
        card = tomllib.loads(card_file.read_text(encoding="utf-8"))
        file = folder / card["file"]
        if not file.is_file():
            raise ModelError(
                f"The weights {file.name} of the model {name} are missing.", f"Reinstall fitcheck, or run the script in models/{name}."
            )
        if hashlib.sha256(file.read_bytes()).hexdigest() != card["sha256"]:
            raise ModelError(f"The weights {file.name} are not the ones fitcheck was tested with.", "Reinstall fitcheck.")
        return Path(file)
    raise ModelError(f"The model {name} was not found.", "Reinstall fitcheck, or set FITCHECK_MODELS to its models folder.")


def _folders(name: str) -> Iterator[Path]:
    if "FITCHECK_MODELS" in os.environ:
        yield Path(os.environ["FITCHECK_MODELS"]) / name
    beside = Path(__file__).parents[2]
    yield beside / "models" / name
    yield beside / "share" / "fitcheck" / "models" / name
    try:
        installed = importlib.metadata.files("fitcheck") or []
    except importlib.metadata.PackageNotFoundError:
        return
    for file in installed:
        if file.parts[-3:] == ("models", name, "card.toml"):
            yield Path(str(file.locate())).parent
