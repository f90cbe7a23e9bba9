"""The short form about a fitting: what it asks, what was said last time, and the facts that come of it."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, get_args

from fitcheck.core.errors import UsageError
from fitcheck.core.fitting import FittingFacts, Front
from fitcheck.core.lengths import MM_PER_UNIT
from fitcheck.core.toml_file import checked
from fitcheck.diary.store import Diary
from fitcheck.web.choices import Choices

_FRACTIONS = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}
_NUMBER = re.compile(r"(?:(\d+(?:[.,]\d+)?)|(?:(\d+)\s+)?(\d+)/([1-9]\d*))")


@dataclass(frozen=True, slots=True)
class Choice:
    """One question with its answers: value and words."""

    name: str
    asks: str
    answers: tuple[tuple[str, str], ...]
    hint: str = ""


def _both(key: str, words: str, sign: int = 1) -> tuple[tuple[str, int, str], ...]:
    """The same on either side."""
    return tuple((f"{key}_{letter}", sign, f"{words}, your {side}") for letter, side in (("L", "left"), ("R", "right")))


FRONT_WORDS: Mapping[str, str] = {
    "dart": "a dart from the side seam",
    "waist_dart": "a dart from the waist",
    "french_dart": "a long dart from low on the side",
    "shoulder_dart": "a dart from the shoulder",
    "princess": "a princess seam from the armhole",
    "shoulder_princess": "a princess seam from the shoulder",
    "none": "none",
}
KIND = Choice("kind", "What is it?", tuple((k, k) for k in ("dress", "top", "jacket", "coat", "skirt", "trousers")))
CHOICES = (
    Choice("front", "How is the bust shaped?", tuple((k, FRONT_WORDS[k]) for k in get_args(Front))),
    Choice(
        "stage",
        "What was photographed?",
        (("tissue", "the paper pattern, pinned"), ("toile", "a toile"), ("garment", "the garment itself, cut")),
    ),
    Choice(
        "tissue",
        "Does it cover",
        (("", "as the photos show"), ("full", "both sides"), ("right", "my right half"), ("left", "my left half")),
    ),
    Choice("sleeve", "Sleeves", (("set_in", "set in"), ("none", "none"))),
    Choice("neckline", "The neckline", (("at_neck", "lies at the neck"), ("style", "is lower or wider, by design"))),
)
TAPE = (
    ("bust", "Bust, at its fullest"),
    ("high_bust", "High bust, under the arms"),
    ("waist", "Waist"),
    ("hip", "Hip"),
    ("shoulder_length", "Shoulder, neck to tip"),
    ("back_waist_length", "Back, neck bone to waist"),
    ("bust_span", "Between the bust points"),
    ("height", "Height"),
)
CARD = (
    ("card_bar_mm", "The 254 mm bar of a floor sheet, or the card's 100 mm bar, measures, in mm"),
    ("card_height_mm", "Floor to the card's lowest squares, in mm"),
)
HAND = (  # what photos cannot tell, by its name in the tables; with the sign that the words give it
    ("back_neck_below", 1, "Bone at the back of the neck, down to the neck seam"),
    ("neck_stand_off_front", 1, "Neck edge stands off, front"),
    ("neck_stand_off_back", 1, "Neck edge stands off, back"),
    *_both("neck_stand_off_side", "Neck edge stands off, side"),
    *_both("armhole_stand_off_front", "Armhole edge stands off, front"),
    *_both("armhole_stand_off_back", "Armhole edge stands off, back"),
    *_both("underarm_gap", "Armpit, down to the armhole seam"),
    *_both("sleeve_tight", "Sleeve too tight at the upper arm"),
    *_both("forearm_tight", "Sleeve too tight at the forearm"),
    *_both("wrist_tight", "Sleeve hem too tight"),
    *_both("leg_tight", "Leg too tight at the thigh"),
    *_both("calf_tight", "Leg too tight at the calf"),
    *_both("hem_front_rise", "Hem higher at the front"),
    *_both("hem_front_rise", "Hem higher at the back", -1),
    ("hip_height_difference", -1, "Hip higher on your right"),
    ("hip_height_difference", 1, "Hip higher on your left"),
)
MORE = (("size_bought", "Size bought"), ("maker", "Whose pattern"), ("seam_allowance_mm", "Seam allowance, in mm"))
TEXTS = ("wearer", "garment", "size_bought", "maker")


def facts_of(form: Mapping[str, str], choices: Choices, before: FittingFacts) -> FittingFacts:
    """The facts that a form tells; what it leaves out stays as it was before.

    Raises
    ------
    UsageError
        Something in it is impossible; all faults are told.
    """
    unit = MM_PER_UNIT[choices.units]
    said: dict[str, Any] = before.model_dump(exclude_defaults=True)
    for name in (*TEXTS, KIND.name, *(choice.name for choice in CHOICES)):
        if name in form:
            said[name] = form[name]
    if "tissue" in form:
        said = {key: value for key, value in said.items() if key not in ("tissue", "half")} | _covering(form["tissue"])
    for name, _ in (*CARD, MORE[2]):
        said |= {name: number(form[name])} if form.get(name) else {}
        if name in form and not form[name]:
            said.pop(name, None)
    if any(f"tape_{name}" in form for name, _ in TAPE):
        said["tape"] = {"unit": choices.units} | {name: number(form[f"tape_{name}"]) for name, _ in TAPE if form.get(f"tape_{name}")}
    if any(hand_field(key, sign) in form for key, sign, _ in HAND):
        said["observed"] = {
            key: _signed(_in_mm(form[hand_field(key, sign)], unit), sign) for key, sign, _ in HAND if form.get(hand_field(key, sign))
        }
    said |= {"units": choices.units, "finest": choices.finest}
    try:
        facts = checked(said, FittingFacts, "In what you told", "Correct it and try again.")
    except UsageError as error:
        raise UsageError(_by_its_label(error.problem), error.next_step) from error
    return facts.model_copy(update={"height_mm": facts.tape.height}) if "tape_height" in form else facts  # it stands in for a card unseen


def _covering(answer: str) -> dict[str, str]:
    """What the tissue covers; the half alone tells that it is one, and nothing told is left to the photos."""
    if answer in ("right", "left"):
        return {"half": answer, "tissue": "half"}
    return {"tissue": answer} if answer else {}


def _covered(facts: FittingFacts) -> str:
    """The answer that says these facts; a half of which no side was told was the right one."""
    told = facts.worn_told
    return "" if told.tissue is None else "full" if told.tissue == "full" else facts.half or "right"


def _by_its_label(said: str) -> str:
    """A sentence about keys, told by what stands beside the fields."""
    asks = (*((one.name, one.asks) for one in (KIND, *CHOICES)), *CARD, *MORE, *((f"tape.{name}", asks) for name, asks in TAPE))
    for key, words in (*asks, *((f"observed.{key}", f"{words}, in mm") for key, _, words in HAND)):
        said = said.replace(f"`{key}`", f"“{words}”")
    return said


def shown(facts: FittingFacts, choices: Choices) -> dict[str, str]:
    """The form's fields as they say these facts."""
    fields = {name: str(getattr(facts, name)) for name in (*TEXTS, KIND.name, *(choice.name for choice in CHOICES))}
    fields["tissue"] = _covered(facts)
    for name in ("card_bar_mm", "card_height_mm", "seam_allowance_mm"):
        value, usual = getattr(facts, name), FittingFacts.model_fields[name].default
        fields[name] = f"{value:g}" if value is not None and value != usual else ""
    for name, _ in TAPE:
        mm = getattr(facts.tape, name)
        fields[f"tape_{name}"] = f"{mm / MM_PER_UNIT[choices.units]:.4g}" if mm is not None else ""
    for key, sign, _ in HAND:
        mm = facts.observed.get(key, 0.0) * sign
        fields[hand_field(key, sign)] = f"{mm / MM_PER_UNIT[choices.units]:.4g}" if mm > 0 else ""
    return fields


def hand_field(key: str, sign: int) -> str:
    """The name of a field for something measured by hand."""
    return f"hand_{key}" if sign > 0 else f"hand_{key}_other"


def said_last(diary: Diary, number: int | None) -> FittingFacts:
    """What was told about a recorded fitting, or about the latest one, as far as it holds for the next."""
    entries = diary.entries()
    if number is None and not entries:
        return FittingFacts()
    number = entries[-1].number if number is None else number
    ((text,),) = diary.checked("fitting", "facts", "WHERE id = ?", [diary.entry(number).number])
    return facts_again(text)


def facts_again(text: str) -> FittingFacts:
    """Recorded facts read back: those a form asks for; none where a newer fitcheck wrote what this one does not know.

    What the tissue covers is not among them: the next photos show it.
    """
    import json

    kept = ("wearer", "garment", "maker", "size_bought", "kind", "front", "stage", "sleeve", "neckline", "tape", "seam_colours")
    found = json.loads(text)
    try:
        return FittingFacts.model_validate({key: found[key] for key in (*kept, *(name for name, _ in CARD)) if found.get(key) is not None})
    except ValueError:
        return FittingFacts()


def number(text: str) -> object:
    """`35.5`, `35,5`, `35 1/2` or `35½` as a number; what is none stays as it is, to be complained of."""
    for sign, words in _FRACTIONS.items():
        text = text.replace(sign, words)
    match = _NUMBER.fullmatch(text.strip())
    if match is None:
        return text
    whole, units, above, below = match.groups()
    return float(whole.replace(",", ".")) if whole else float(units or 0) + int(above) / int(below)


def _signed(value: object, sign: int) -> object:
    return value * sign if isinstance(value, float) else value


def _in_mm(text: str, unit: float) -> object:
    value = number(text)
    return value * unit if isinstance(value, float) else value
