"""A file that a user wrote: read within limits, checked against a model, and every fault of it said in one message."""

import re
import tomllib
from collections.abc import Collection, Iterator, Mapping
from difflib import get_close_matches
from pathlib import Path
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from fitcheck.core.errors import UsageError
from fitcheck.core.lengths import MM_PER_INCH, MM_PER_UNIT
from fitcheck.core.plain_file import MOST_LETTERS, read_plain

MOST_FAULTS = 20  # said at once; more are one misunderstanding
MOST_KNOWN = 25  # words listed where none is near
MISTAKEN_BY = (10.0, MM_PER_INCH, 0.1, 1 / MM_PER_INCH)  # cm and in taken for mm, and the other way round
M = TypeVar("M", bound=BaseModel)


def read_toml(path: Path, model: type[M], advice: str = "Correct it and try again.", context: Mapping[str, Any] | None = None) -> M:
    """Read a file as a model.

    Parameters
    ----------
    path : Path
    model : type of BaseModel
    advice : str
        What to do about faults.
    context : mapping, optional
        Handed on to the model's validators.

    Raises
    ------
    UsageError
        It cannot be read, is no plain file, too large, not TOML, or does not fit the model; all faults are told.
    """
    return checked(_read(path, advice), model, f"In {path.name}", advice, context)


def is_there(path: Path) -> bool:
    """Whether something of this name can be seen; a name that cannot be is nothing."""
    try:
        return path.exists()
    except (OSError, ValueError):
        return True  # reading it will say why not


def checked(facts: Mapping[str, Any], model: type[M], where: str, advice: str, context: Mapping[str, Any] | None = None) -> M:
    """Facts as a model.

    Raises
    ------
    UsageError
        They do not fit; `where` begins the sentence, and all faults are told.
    """
    try:
        return model.model_validate(facts, context=dict(context or {}))
    except ValidationError as error:
        raise UsageError(_listed(where, [fault(one, model, facts) for one in error.errors()]), advice) from error


def fault(error: ErrorDetails, model: type[BaseModel], facts: Mapping[str, Any]) -> str:
    """What is wrong at one place, as a sentence without its full stop: the key, what it is, what it can be, what was meant."""
    path = [part for part in error["loc"] if part != "[key]"]
    levels = list(_levels(model, facts, path))
    kind, ctx, value = error["type"], error.get("ctx", {}), _at(facts, path, error["input"])
    known = re.findall(r"'([^']*)'", str(ctx.get("expected", "")))
    if kind == "extra_forbidden":
        return f"`{key_words(path)}` is no key here; {_meant_key(path, levels[-1] if levels else None, model)}"
    if kind == "missing":
        return f"`{key_words(path)}` is missing"
    if kind == "literal_error" and "[key]" in error["loc"]:
        return f"`{key_words(path)}` is no key here; {meant(str(path[-1]), known)}"
    if kind == "literal_error":
        return f"`{key_words(path)}` is {_told(value)}; it can be {_listing(known)}{_nearest(str(value), known)}"
    if kind in _BOUNDS:
        least, most = _bounds(path, levels)
        unit, factor = _unit(path, levels, facts)
        size = f"too {_BOUNDS[kind]} ({least / factor:.10g} to {most / factor:.10g}{unit})" if most > least else f"too {_BOUNDS[kind]}"
        return f"`{key_words(path)}` is {_told(value)}, {size}{_perhaps_times(value, least / factor, most / factor)}"
    if kind in ("value_error", "assertion_error"):
        return f"{f'`{key_words(path)}`: ' if path else ''}{ctx.get('error', error['msg'])}"
    wanted = _WANTED.get(kind) or f"{error['msg'][0].lower()}{error['msg'][1:]}"
    return f"`{key_words(path)}` is {_told(value)}; {wanted}" if path else wanted


def meant(wrong: str, known: Collection[str]) -> str:
    """The known word that is nearest to a wrong one, as a question, or else all that are known."""
    near = get_close_matches(wrong, known, 1)
    more = f" and {len(known) - MOST_KNOWN} more" if len(known) > MOST_KNOWN else ""
    return f'did you mean "{near[0]}"?' if near else f"known are {', '.join(list(known)[:MOST_KNOWN])}{more}"


def key_words(path: list[Any]) -> str:
    """A place as a dotted key; rows of a list are counted from 1."""
    text = ""
    for part in path:
        text += f" {part + 1}" if isinstance(part, int) else f"{'.' if text else ''}{part}"
    return text[:MOST_LETTERS]


_BOUNDS = {"greater_than_equal": "small", "greater_than": "small", "less_than_equal": "large", "less_than": "large"}
_A_NUMBER = "it must be a number"
_WANTED = {
    "float_type": _A_NUMBER,
    "float_parsing": _A_NUMBER,
    "finite_number": _A_NUMBER,
    "int_type": "it must be a whole number",
    "string_type": 'it must be words in "quotes"',
    "model_type": "it must be a table of its own",
    "dict_type": "it must be a table of its own",
    "list_type": "it must be a list in [brackets]",
    "tuple_type": "it must be a list in [brackets]",
    "bool_parsing": "it must be true or false",
}


def _read(path: Path, advice: str) -> dict[str, Any]:
    name, data = path.name[:MOST_LETTERS], read_plain(path, advice)
    try:
        return tomllib.loads(data.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n"))
    except UnicodeDecodeError as error:
        raise UsageError(f"{name} is not plain text in UTF-8.", "Save it again as plain text.") from error
    except tomllib.TOMLDecodeError as error:
        raise UsageError(f"{name} is not valid TOML: {str(error)[:200]}.", 'Write one `key = value` a line, words in "quotes".') from error
    except (ValueError, RecursionError) as error:  # digits without end, tables within tables without end
        raise UsageError(f'"{name}" cannot be read: it holds what nobody types in.', advice) from error


def _listed(where: str, faults: list[str]) -> str:
    faults = [fault if fault.endswith("?") else f"{fault}." for fault in dict.fromkeys(faults)]
    if len(faults) == 1:
        return f"{where}, {faults[0]}"
    more = [f"and {len(faults) - MOST_FAULTS} more."] if len(faults) > MOST_FAULTS else []
    return "\n- ".join([f"{where}, {len(faults)} things are wrong:", *faults[:MOST_FAULTS], *more])


def _levels(model: type[BaseModel] | None, facts: Any, path: list[Any]) -> Iterator[type[BaseModel] | None]:
    """The model that holds each part of a path, from the outside inwards; None where it is no model."""
    for part in path:
        yield model
        if not isinstance(part, int):
            field = model.model_fields.get(str(part)) if model else None
            model = _inner(field.annotation) if field else None


def _inner(annotation: Any) -> type[BaseModel] | None:
    """The model within an annotation such as `list[Row]`."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((inner for part in get_args(annotation) if (inner := _inner(part))), None)


def _at(facts: Any, path: list[Any], otherwise: Any) -> Any:
    """What the user wrote at a place (a validator may have changed it since)."""
    for part in path:
        try:
            facts = facts[part]
        except (KeyError, IndexError, TypeError):
            return otherwise
    return facts


def _unit(path: list[Any], levels: list[type[BaseModel] | None], facts: Any) -> tuple[str, float]:
    """The unit of a number as the user wrote it, and what the bounds of the model, in mm, are to be divided by."""
    for depth in range(len(levels) - 1, -1, -1):
        model = levels[depth]
        if model and "unit" in model.model_fields:
            unit = _at(facts, [*path[:depth], "unit"], model.model_fields["unit"].default)
            return f" {unit}", MM_PER_UNIT.get(unit, 1.0) if isinstance(unit, str) else 1.0
    return (" mm" if str(path[-1]).endswith("_mm") else ""), 1.0


def _bounds(path: list[Any], levels: list[type[BaseModel] | None]) -> tuple[float, float]:
    """Least and most that a number may be, by the innermost field of a model that holds it."""
    held = [(model, part) for model, part in zip(levels, path, strict=True) if model and part in model.model_fields]
    field = held[-1][0].model_fields[held[-1][1]]
    limits = [*field.metadata, *_limits(field.annotation)]
    least, most = (next((getattr(m, n) for m in limits for n in names if hasattr(m, n)), 0.0) for names in (("ge", "gt"), ("le", "lt")))
    return least, most


def _limits(annotation: Any) -> Iterator[Any]:
    for mark in getattr(annotation, "__metadata__", ()):
        yield from getattr(mark, "metadata", [mark])
    for part in get_args(annotation):
        yield from _limits(part)


def _meant_key(path: list[Any], level: type[BaseModel] | None, model: type[BaseModel]) -> str:
    wrong, before = str(path[-1]), path[:-1]
    beside = [key_words([*before, name]) for name in (level.model_fields if level else {})]
    for known in (beside, _all_keys(model)):
        near = get_close_matches(wrong, [name.rpartition(".")[2] for name in known], 1) or [
            part for name in known if (part := name.rpartition(".")[2]).startswith(wrong)
        ]
        if near:
            return f"did you mean `{next(name for name in known if name.rpartition('.')[2] == near[0])}`?"
    return f"known are {', '.join(name.rpartition('.')[2] for name in beside)}"


def _all_keys(model: type[BaseModel], before: str = "") -> list[str]:
    """Every key that the model knows, with those of its tables."""
    keys: list[str] = []
    for name, field in model.model_fields.items():
        inner = _inner(field.annotation)
        keys += _all_keys(inner, f"{before}{name}.") if inner else [f"{before}{name}"]
    return keys


def _nearest(wrong: str, known: Collection[str]) -> str:
    return f"; {meant(wrong, known)}" if get_close_matches(wrong, known, 1) else ""


def _perhaps_times(value: Any, least: float, most: float) -> str:
    if not isinstance(value, int | float) or not value:
        return ""
    likely = next((value * factor for factor in MISTAKEN_BY if least <= value * factor <= most), None)
    return "" if likely is None else f"; did you mean {likely:.4g}?"


def _told(value: Any) -> str:
    """What the user wrote, told back shortly."""
    if isinstance(value, str):
        return f'"{value[:MOST_LETTERS]}"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return f"{value:.10g}"
    if isinstance(value, int):
        return str(value) if abs(value) < 10**12 else "a number of very many digits"
    return {"list": "a list", "tuple": "a list", "dict": "a table"}.get(type(value).__name__, str(value)[:MOST_LETTERS])


def _listing(words: list[str]) -> str:
    return " or ".join(filter(None, [", ".join(words[:-1]), words[-1] if words else ""]))
