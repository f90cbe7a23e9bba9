"""What folds read together usually mean, in words; and how much each reading counts, which is nothing until draped scenes prove it.

A reading of folds.toml is said beside the photo. It enters the fit equation only by its likelihood ratio: a significant group raises the
log odds of the first alteration it means by the log of that ratio. A ratio of 1, which is that of all readings that are not proven, says
nothing.
"""

import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Annotated, Literal

from pydantic import Field, ValidationError

from fitcheck.advice.rows import Id, Knowledge, Positive, Sourced, Words
from fitcheck.advice.table import knowledge
from fitcheck.core.errors import KnowledgeError
from fitcheck.core.folds import FoldGroup
from fitcheck.core.records import View, measurement_key
from fitcheck.core.side_words import on_side


class FoldRow(Sourced):
    """One reading of folds; see the head of folds.toml."""

    id: Id
    at: Id
    name: Words
    says: Words
    views: tuple[View, ...]
    sided: bool
    means: Annotated[dict[Id, Literal["plus", "minus"]], Field(min_length=1)]
    likelihood_ratio: Positive = 1.0

    @property
    def place(self) -> str:
        """`<id>_<at>`."""
        return measurement_key(self.id, self.at, None)

    def names(self, table: Knowledge) -> list[str]:
        """What it usually means, as names of alterations, the likeliest first."""
        return [table.alterations[id].direction(1.0 if way == "plus" else -1.0).name for id, way in self.means.items()]


@cache
def fold_rows() -> Mapping[str, FoldRow]:
    """The readings that come with fitcheck, by place."""
    return load_folds(files("fitcheck.advice") / "knowledge" / "folds.toml", knowledge())


def load_folds(file: Traversable, table: Knowledge) -> dict[str, FoldRow]:
    """Load and check folds.toml.

    Raises
    ------
    KnowledgeError
        A block lacks its source or has an unknown key; a place is there twice; an alteration is unknown. All faults are listed.
    """
    faults: list[str] = []
    rows: list[FoldRow] = []
    try:
        blocks = tomllib.loads(file.read_text(encoding="utf-8")).get("fold", [])
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise KnowledgeError(f"folds.toml cannot be read: {error}.", "Correct it; its head explains every key.") from error
    for block in blocks:
        try:
            rows.append(FoldRow.model_validate(block))
        except ValidationError as error:
            label = f"{block.get('id')} {block.get('at')}"
            faults += [f"{label}: `{'.'.join(str(p) for p in e['loc'])}` {e['msg']}" for e in error.errors()]
    places = [row.place for row in rows]
    faults += [f"`{place}` stands there twice" for place in dict.fromkeys(places) if places.count(place) > 1]
    for row in rows:
        faults += [f"{row.place}: `{id}` is no alteration" for id in row.means if id not in table.alterations]
    if faults:
        raise KnowledgeError(f"folds.toml does not hold together: {'; '.join(faults)}.", "Correct it; its head explains every key.")
    return {row.place: row for row in rows}


def fold_leans(groups: Sequence[FoldGroup], rows: Mapping[str, FoldRow] | None = None) -> dict[str, float]:
    """Nats by which the groups that are seen raise the log odds of alterations; nothing for readings that are not proven.

    Parameters
    ----------
    groups : sequence of FoldGroup
    rows : mapping of str to FoldRow, optional
        By place; those that come with fitcheck.
    """
    leans: dict[str, float] = {}
    for place in dict.fromkeys(measurement_key(group.id, group.at, None) for group in groups if group.significant):
        row = (fold_rows() if rows is None else rows).get(place)
        if row is not None and row.likelihood_ratio != 1:
            first = next(iter(row.means))
            leans[first] = leans.get(first, 0.0) + math.log(row.likelihood_ratio)
    return leans


def in_words(groups: Sequence[FoldGroup], table: Knowledge) -> tuple[FoldGroup, ...]:
    """The groups with what each usually means; a group that the table cannot read says nothing."""
    return tuple(replace(group, says=_says(group, table)) for group in groups)


def _says(group: FoldGroup, table: Knowledge) -> str:
    row = fold_rows().get(measurement_key(group.id, group.at, None))
    if row is None:
        return ""
    says = row.says.replace(" {side}", f" {on_side(group.side)}".rstrip())
    sentences = [says, f"Such folds usually mean: {' or '.join(row.names(table))}."]
    if not group.significant:
        sentences.append("Here they are faint.")
    if row.likelihood_ratio == 1:
        sentences.append("They decide nothing: see whether a measured gap agrees.")
    return " ".join(sentences)
