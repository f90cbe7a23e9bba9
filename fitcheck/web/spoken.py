"""What is said to her while she stands before the camera: the sentences, and which of them are recorded."""

import tomllib
from functools import cache
from importlib.resources import files

LANGUAGE, SAYS = "language", "says"
ENDING = ".mp3"


@cache
def sentences() -> tuple[str, dict[str, str]]:
    """The language, and every sentence by its name."""
    told = tomllib.loads((files("fitcheck.web") / "spoken.toml").read_text("utf-8"))
    return str(told[LANGUAGE]), {str(name): str(words) for name, words in told[SAYS].items()}


def recording(name: str) -> bytes | None:
    """A sentence as it was recorded, MP3 data; None where there is no such."""
    path = files("fitcheck.web") / "static" / "voice" / f"{name}{ENDING}"
    return path.read_bytes() if name in sentences()[1] and path.is_file() else None
