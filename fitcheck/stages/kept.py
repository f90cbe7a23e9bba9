"""Results of stages, kept under keys of what each stage goes by, so that asking again does only what has changed.

A photo is known by the fingerprint of its file. Of the settings every stage goes by a few (`GOES_BY`) and by the results of the stages
before it (`AFTER`), so its key is a digest of the former and of their keys.
"""

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, is_dataclass
from typing import Any, ParamSpec, TypeVar

import numpy as np
from pydantic import BaseModel

from fitcheck.core.camera import Photo
from fitcheck.core.settings import Settings

Given = ParamSpec("Given")
Result = TypeVar("Result")

# What of the settings each stage goes by; `facts.x` is a fact of the fitting.
GOES_BY: dict[str, tuple[str, ...]] = {
    "see": (),
    "cards": ("lenses", "facts.camera", "facts.card_bar_mm", "facts.card_height_mm"),
    "agree": ("lenses", "sheets", "facts.camera", "facts.height_mm", "facts.worn_told"),
    "read": ("facts.seam_colours", "facts.worn_told"),
    "cross_check": (),
    "solve": ("placed_points", "placed_seams", "facts.tape"),
    "measure": (),
    "advise": ("facts", "last_round"),
}
AFTER: dict[str, tuple[str, ...]] = {
    "see": (),
    "cards": (),
    "agree": ("see", "cards"),
    "read": ("agree",),
    "cross_check": ("read",),
    "solve": ("cross_check",),
    "measure": ("solve",),
    "advise": ("measure",),
}


def stage_keys(photos: Sequence[Photo], settings: Settings) -> dict[str, str]:
    """The key of every stage for these photos and settings."""
    pictures = [
        (photo.view, photo.name, photo.sha256, photo.rgb.shape, photo.focal_px, photo.camera_model, photo.flags) for photo in photos
    ]
    keys: dict[str, str] = {}
    for stage, names in GOES_BY.items():
        before = [keys[name] for name in AFTER[stage]] or pictures
        keys[stage] = _digest([stage, before, [_setting(settings, name) for name in names]])
    return keys


class Kept:
    """The latest result of every stage of one fitting."""

    def __init__(self) -> None:
        self._held: dict[str, tuple[str, Any]] = {}

    def under(self, keys: Mapping[str, str]) -> "KeptRun":
        """A run of the stages under these keys."""
        return KeptRun(self._held, keys)


class KeptRun:
    """Runs stages of one check: `run("read", read, photos, settings)` is `read(photos, settings)`, or what is held under its key."""

    def __init__(self, held: dict[str, tuple[str, Any]], keys: Mapping[str, str]) -> None:
        self._held, self._keys = held, keys

    def __call__(self, stage: str, make: Callable[Given, Result], *given: Given.args, **named: Given.kwargs) -> Result:
        key, held = self._keys[stage], self._held.get(stage)
        if held is not None and held[0] == key:
            found: Result = held[1]
            return found
        made = make(*given, **named)
        self._held[stage] = key, made
        return made


def _setting(settings: Settings, name: str) -> object:
    found: object = settings
    for part in name.split("."):
        found = getattr(found, part)
    return found


def _digest(parts: object) -> str:
    return hashlib.sha256(json.dumps(parts, default=_plain, sort_keys=True).encode()).hexdigest()


def _plain(value: object) -> object:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, BaseModel):
        return value.model_dump()
    if is_dataclass(value) and not isinstance(value, type):
        return asdict(value)
    raise TypeError(f"{type(value).__name__} cannot be part of a key")
