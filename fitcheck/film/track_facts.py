"""What a film's track says of the camera: the focal length, and which phone took it.

Phones write them as metadata items of the movie or of its picture track: a list of keys and a list of values (boxes `keys` and `ilst`
inside `meta`; QuickTime file format, metadata chapter; key names from memory). Times, places and anything else are passed over.
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

FOCAL_KEY = "camera.focal_length.35mm_equivalent"  # the end of the key's name
MAKE_KEY, MODEL_KEY = "quicktime.make", "quicktime.model"
LARGEST_BOX_BYTES = 16_000_000  # of the movie's description that is read; a phone's takes a few hundred kilobytes
MOST_BOXES = 10_000
SHORTEST_MM, LONGEST_MM = 8.0, 500.0  # of a lens that films people; what lies beyond is a wrong item (estimate)
_HOLDERS = {b"moov", b"trak", b"meta", b"udta"}
_NUMBERS = {21: {1: ">b", 2: ">h", 4: ">i", 8: ">q"}, 22: {1: ">B", 2: ">H", 4: ">I", 8: ">Q"}, 23: {4: ">f"}, 24: {8: ">d"}}


@dataclass(frozen=True, slots=True)
class TrackFacts:
    """What the file says.

    Attributes
    ----------
    equivalent_mm : float or None
        Focal length as 35 mm equivalent.
    camera_model : str
        Maker and model, or "".
    """

    equivalent_mm: float | None = None
    camera_model: str = ""


def track_facts(path: Path) -> TrackFacts:
    """What a film says of its camera; nothing where it says nothing, or is damaged: a film is no worse for it."""
    found: dict[str, str | float] = {}
    try:
        for keys, values in _lists(_movie(path)):
            found |= {key: value for number, value in values.items() if (key := keys.get(number, ""))}
    except (OSError, struct.error, ValueError):
        return TrackFacts()
    focal = next((value for key, value in found.items() if key.endswith(FOCAL_KEY)), None)
    maker, model = (_text(found, end) for end in (MAKE_KEY, MODEL_KEY))
    name = model if model.lower().startswith(maker.lower()) else f"{maker} {model}".strip()
    try:
        number = float(focal) if focal is not None else 0.0
    except ValueError:
        number = 0.0
    return TrackFacts(number if SHORTEST_MM <= number <= LONGEST_MM else None, name)


def _text(found: dict[str, str | float], end: str) -> str:
    return next((value for key, value in found.items() if key.endswith(end) and isinstance(value, str)), "").strip()[:80]


def _movie(path: Path) -> bytes:
    """The box that describes the film; the pictures themselves are passed over unread."""
    with path.open("rb") as file:
        for _ in range(MOST_BOXES):
            head = file.read(8)
            if len(head) < 8:
                return b""
            size, kind, behind = *struct.unpack(">I4s", head), 8
            if size == 1:
                size, behind = struct.unpack(">Q", file.read(8))[0], 16
            if kind == b"moov":
                return file.read(min(size - behind, LARGEST_BOX_BYTES)) if size > behind else b""
            if size < behind:
                return b""
            file.seek(size - behind, 1)
    return b""


def _boxes(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    at = 0
    while at + 8 <= len(data):
        size, kind = struct.unpack_from(">I4s", data, at)
        if size < 8:
            return
        yield kind, data[at + 8 : at + size]
        at += size


def _lists(data: bytes) -> Iterator[tuple[dict[int, str], dict[int, str | float]]]:
    """The lists of keys and of values, from the film as a whole and from each track."""
    keys: dict[int, str] = {}
    values: dict[int, str | float] = {}
    for kind, inside in _boxes(data):
        if kind in _HOLDERS:
            whole = kind == b"meta" and inside[:4] == b"\0\0\0\0"  # with or without a version before its boxes
            yield from _lists(inside[4:] if whole else inside)
        elif kind == b"keys":
            keys = {i: name[:200].decode("utf-8", "replace") for i, (_, name) in enumerate(_boxes(inside[8:]), 1)}
        elif kind == b"ilst":
            values = {int.from_bytes(number, "big"): _value(item) for number, item in _boxes(inside)}
    if keys and values:
        yield keys, values


def _value(item: bytes) -> str | float:
    for kind, inside in _boxes(item):
        if kind == b"data" and len(inside) >= 8:
            what, payload = struct.unpack_from(">I", inside)[0], inside[8:]
            form = _NUMBERS.get(what, {}).get(len(payload))
            return float(struct.unpack(form, payload)[0]) if form else payload[:200].decode("utf-8", "replace")
    return ""
