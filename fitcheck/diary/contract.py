"""What each row of the diary may hold, said once: new rows, imported ones, rescued ones and those read back all come through here."""

import json
import math
import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from fitcheck.core.errors import DiaryError
from fitcheck.diary.names import tidy

Check = Callable[[Any], Any]
VIEWS, SIDES = ("front", "right", "back", "left"), ("wearer_left", "wearer_right")  # those of core.records, which brings numpy along
LONGEST_NAME, LONGEST_TEXT = 200, 200_000  # as in fitting.toml; what a system takes as one word of a command
LONGEST_RESULT = 20_000_000  # a hundred times the usual `fitcheck.json`
LONGEST_PIECE = 400_000  # ten times the usual `piece.toml`
LARGEST_PX = 50_000
LARGEST_PHOTO_PX = 80_000_000  # no larger photo is ever checked
LARGEST = 1e6  # mm, degrees or pixels: far beyond any body or picture, near enough to be drawn
FIRST_YEAR, LAST_YEAR = 1900, 2199
_LARGEST_NUMBER = 2**53


class UnsoundError(DiaryError):
    """Something that the diary cannot keep, or that no fitcheck wrote; `why` names it."""

    def __init__(self, why: str) -> None:
        super().__init__(f"The diary cannot keep this: {why}.", "Nothing was changed; put it right and try again.")
        self.why = why


def _unsound(table: str, column: str, why: str) -> UnsoundError:
    article = "an" if table[0] in "aeiou" else "a"
    return UnsoundError(f"the {column.removesuffix('_mm').replace('_', ' ')} of {article} {table} {why}")


def text(most: int, least: int = 0) -> Check:
    """Words of any alphabet."""

    def check(value: Any) -> str:
        if not isinstance(value, str):
            raise ValueError("is no text")
        if not least <= len(value) <= most:
            raise ValueError("is missing" if len(value) < least else f"is longer than {most} characters")
        try:
            value.encode()
        except UnicodeEncodeError:
            raise ValueError("holds characters that are none") from None
        return value

    return check


def code(pattern: str) -> Check:
    """A word of our own making."""
    form = re.compile(pattern)

    def check(value: Any) -> str:
        if not isinstance(value, str) or not form.fullmatch(value):
            raise ValueError("is none that fitcheck writes")
        return value

    return check


def number(low: float = -LARGEST, high: float = LARGEST) -> Check:
    """A finite number."""

    def check(value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
            raise ValueError("is no number")
        if not low <= value <= high:
            raise ValueError(f"is not between {low:g} and {high:g}")
        return float(value)

    return check


def whole(low: int, high: int) -> Check:
    """A whole number."""

    def check(value: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise ValueError("is no whole number")
        if not low <= value <= high:
            raise ValueError(f"is not between {low} and {high}")
        return value

    return check


def one_of(*words: str | None) -> Check:
    """One of a few words."""

    def check(value: Any) -> str | None:
        if (value is not None and not isinstance(value, str)) or value not in words:
            raise ValueError("is none that fitcheck writes")
        return value

    return check


def maybe(inner: Check) -> Check:
    """The same, or nothing."""
    return lambda value: None if value is None else inner(value)


def _day(value: Any) -> str:
    try:
        day = date.fromisoformat(value)
    except (TypeError, ValueError):
        raise ValueError("is no date") from None
    if day.isoformat() != value or not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise ValueError(f"is no date (year-month-day, {FIRST_YEAR} to {LAST_YEAR})")
    return str(value)


def _name(value: Any) -> str:
    name = tidy(text(LONGEST_NAME)(value))
    if not name:
        raise ValueError("is missing")
    return name


def _facts(value: Any) -> str:
    try:
        told = json.loads(text(LONGEST_TEXT)(value))
    except RecursionError:
        raise ValueError("is none that fitcheck writes") from None
    if not isinstance(told, dict) or told.get("sleeve", "set_in") not in ("set_in", "none", None, ""):
        raise ValueError("are none that fitcheck writes")
    return str(value)


def _piece(value: Any) -> str:
    told = text(LONGEST_PIECE, 2)(value)
    from fitcheck.core.piece_facts import piece_facts  # only a diary that holds a piece needs numpy for its contract

    piece_facts(told)
    return str(told)


NUMBER = whole(1, _LARGEST_NUMBER)
ID = code(r"[a-z][a-z0-9_]{0,99}")
KEY = code(r"[a-z][A-Za-z0-9_]{0,199}")
SHA256 = code(r"[0-9a-f]{64}")
UID = code(r"[0-9a-f]{32}")
UNIT = one_of("mm", "deg")
SD = number(0.0)
_SIDE, _AMOUNT_SIDE = one_of("", *SIDES), one_of("both", *SIDES)
_FLAG = whole(0, 1)
TABLES: Mapping[str, Mapping[str, Check]] = {
    "wearer": {"id": NUMBER, "name": _name},
    "garment": {"id": NUMBER, "wearer": NUMBER, "name": _name, "maker": text(LONGEST_NAME), "size_bought": text(LONGEST_NAME)},
    "fitting": {
        "id": NUMBER,
        "uid": UID,
        "garment": NUMBER,
        "day": _day,
        "recorded": text(40),
        "stage": one_of("", "tissue", "toile", "garment"),
        "retake": _FLAG,
        "fingerprint": code(r"[0-9a-f]{64}(\+\d{1,16})?"),
        "photos": whole(0, len(VIEWS)),
        "summary": text(LONGEST_TEXT),
        "facts": _facts,
    },
    "result": {"fitting": NUMBER, "data": text(LONGEST_RESULT, 2)},
    "photo": {
        "fitting": NUMBER,
        "view": one_of(*VIEWS),
        "file": text(5000),
        "kept": one_of("copy", "reference"),
        "sha256": text(64),
        "width_px": whole(1, LARGEST_PX),
        "height_px": whole(1, LARGEST_PX),
    },
    "measurement": {
        "fitting": NUMBER,
        "key": KEY,
        "value": number(),
        "sd": SD,
        **{f"{end}_{axis}_px": maybe(number()) for end in ("from", "to") for axis in "xy"},
    },
    "posture": {"fitting": NUMBER, "id": ID, "side": _SIDE, "value": number(), "unit": UNIT, "sd": SD},
    "advised": {
        "fitting": NUMBER,
        "alteration": ID,
        "side": _AMOUNT_SIDE,
        "amount_mm": number(),
        "sd_mm": SD,
        "probability": number(-1e-6, 1 + 1e-6),
        "now": _FLAG,
    },
    "expected": {"fitting": NUMBER, "alteration": ID, "side": _AMOUNT_SIDE, "key": KEY, "before": number(), "after": number()},
    "placed": {"fitting": NUMBER, "view": one_of(*VIEWS), "name": ID, "side": _SIDE, "x_px": number(), "y_px": number()},
    "tape": {"wearer": NUMBER, "day": _day, "name": text(LONGEST_NAME, 1), "value_mm": number(0.1, LARGEST)},
    "note": {"id": NUMBER, "wearer": NUMBER, "fitting": maybe(NUMBER), "day": _day, "text": text(LONGEST_TEXT)},
    "piece": {"id": NUMBER, "garment": NUMBER, "fitting": maybe(NUMBER), "name": text(60, 1), "day": _day, "data": _piece},
    "leftover": {"uid": UID},
}


def sound(table: str, row: Mapping[str, Any]) -> dict[str, Any]:
    """The columns of a row that are given, each checked; names come back tidied.

    Raises
    ------
    UnsoundError
        A value is not what its column may hold, or a column does not exist.
    """
    columns, found = TABLES[table], {}
    for column, value in row.items():
        if column not in columns:
            raise _unsound(table, str(column)[:40], "is not known")
        try:
            found[column] = columns[column](value)
        except ValueError as error:
            raise _unsound(table, column, str(error)) from None
    if table == "photo" and row.get("width_px", 1) * row.get("height_px", 1) > LARGEST_PHOTO_PX:
        raise _unsound(table, "size", f"is beyond {LARGEST_PHOTO_PX // 10**6} megapixels")
    if table == "photo" and row.get("kept") == "copy" and row.get("file", f"{row.get('view')}.jpg") != f"{row.get('view')}.jpg":
        raise _unsound(table, "file", "is none that fitcheck writes")
    return found


def whole_row(table: str, row: Mapping[str, Any]) -> dict[str, Any]:
    """A row with every column of its table but its own number, which may be missing.

    Raises
    ------
    UnsoundError
        As `sound`, or a column is missing.
    """
    missing = TABLES[table].keys() - row.keys() - {"id"}
    if missing:
        raise _unsound(table, min(missing), "is missing")
    return sound(table, row)
