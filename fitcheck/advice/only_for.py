"""Sentences that hold for some garments or fronts only: `(skirt, trousers) Take ...` is said of skirts and of trousers."""

import re
from collections.abc import Sequence

from fitcheck.core.fitting import FittingFacts, Front

UPPER_BODY = ("top", "dress", "jacket", "coat")
_FRONTS: dict[Front, str] = {
    "dart": "side dart",
    "waist_dart": "waist dart",
    "french_dart": "french dart",
    "shoulder_dart": "shoulder dart",
    "princess": "armhole princess",
    "shoulder_princess": "shoulder princess",
    "none": "plain front",
}
WORDS = (*UPPER_BODY, "skirt", "trousers", "upper body", "sleeve", "sleeveless", *_FRONTS.values())
_ONLY = re.compile(r"\(([a-z, ]+)\) ")


def only_for(text: str) -> tuple[str, ...]:
    """What a sentence is for: the words in front of it, none for a sentence that always holds."""
    found = _ONLY.match(text)
    return tuple(word.strip() for word in found[1].split(",")) if found else ()


def said_of(texts: Sequence[str], fitting: FittingFacts) -> tuple[str, ...]:
    """The sentences that hold for this garment and its front, without the words in front."""
    worn: set[str] = {fitting.kind}
    if fitting.kind in UPPER_BODY:
        worn |= {"upper body", "sleeveless" if fitting.sleeve == "none" else "sleeve", _FRONTS[fitting.front]}
    return tuple(_ONLY.sub("", text, count=1) for text in texts if not only_for(text) or worn & {*only_for(text)})
