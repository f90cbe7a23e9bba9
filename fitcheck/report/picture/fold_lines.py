"""Folds in the report: which group each belongs to, in which colour it is drawn, and the lines to draw."""

from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.core.check import FitCheck
from fitcheck.core.folds import FoldGroup
from fitcheck.core.records import Floats, View
from fitcheck.report.words.sentences import plain, side_words

# P. Tol, "Colour schemes" (2021), muted: told apart with every common kind of colour blindness, and unlike the colours of gaps and seams.
GROUP_COLOURS = ("#882255", "#332288", "#117733", "#AA4499", "#44AA99", "#999933")
FAINT_COLOUR = "#8A8A8A"  # folds of no group, or too faint to count
_KINDS = {
    "fold_fan": "Folds fanning",
    "fold_horizontals": "Taut level folds",
    "fold_loose_horizontals": "Loose level folds",
    "fold_verticals": "Upright folds",
    "fold_v": "V from the neck",
    "fold_diagonal": "Diagonal fold",
    "fold_smiles": "Smile lines",
}


@dataclass(frozen=True, slots=True)
class DrawnFold:
    """One fold line of the overlay; hollows are dashed."""

    points_px: Floats
    colour: str
    hollow: bool
    title: str


@dataclass(frozen=True, slots=True)
class Reading:
    """One group as the page tells it."""

    title: str
    says: str
    colour: str
    counts: bool


def group_name(group: FoldGroup) -> str:
    """`Folds fanning, bust point, your left`."""
    return ", ".join(word for word in (_KINDS.get(group.id, plain(group.id).capitalize()), plain(group.at), side_words(group.side)) if word)


def group_of_each(check: FitCheck) -> list[str]:
    """Key of the group that each fold belongs to, "" for none."""
    keys = [""] * len(check.folds)
    for group in check.fold_groups:
        for number in group.folds:
            keys[number] = group.key
    return keys


def readings(check: FitCheck) -> list[Reading]:
    """The groups in words, in the order of their colours."""
    colours = _colours(check.fold_groups)
    return [Reading(group_name(group), group.says, colours[group.key], group.significant) for group in check.fold_groups if group.says]


def drawn_folds(check: FitCheck, view: View) -> list[DrawnFold]:
    """The fold lines of one photo."""
    colours, names = _colours(check.fold_groups), {group.key: group_name(group) for group in check.fold_groups}
    return [
        DrawnFold(fold.points_px, colours.get(key, FAINT_COLOUR), fold.kind == "valley", names.get(key, "Fold"))
        for fold, key in zip(check.folds, group_of_each(check), strict=True)
        if fold.view == view
    ]


def _colours(groups: Sequence[FoldGroup]) -> dict[str, str]:
    counting = [group.key for group in groups if group.significant]
    chosen = {key: GROUP_COLOURS[i % len(GROUP_COLOURS)] for i, key in enumerate(counting)}
    return {group.key: chosen.get(group.key, FAINT_COLOUR) for group in groups}
