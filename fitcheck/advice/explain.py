"""One thing of the trade explained: an alteration, a measurement or a word, with everything the tables know of it."""

import re
from difflib import get_close_matches

from fitcheck.advice.folds import FoldRow, fold_rows
from fitcheck.advice.rows import Alteration, Direction, Knowledge, Observable
from fitcheck.core.errors import UsageError

_FRONTS = {"steps_dart": "front with a dart", "steps_princess": "princess front", "steps_none": "front without either"}
_TISSUES = {"steps_half": "half tissue", "steps_full": "full tissue"}

READS_AS_NOTHING_MM = 1.6  # what inches, told to an eighth, read as 0
_DRAWN = re.compile(r"\{drawn:[^}]*\}")


def explain(id: str, table: Knowledge) -> str:
    """What it is, how it looks, how it is done, cautions and sources, as plain markdown with `{mm:...}` fields.

    Parameters
    ----------
    id : str
        Of an alteration, a measurement or a reading of folds (spaces for underscores are fine), or a word of the glossary.

    Raises
    ------
    UsageError
        Nothing is called so; the nearest names are offered.
    """
    asked = _key(id)
    if asked in table.alterations:
        return "\n".join(_alteration(table.alterations[asked], table)) + "\n"
    if asked in table.observables:
        return "\n".join(_observable(table.observables[asked], table)) + "\n"
    if asked in table.places:
        return "\n".join(_observable(table.places[asked][0], table)) + "\n"
    if folds := [row for place, row in fold_rows().items() if asked in (place, row.id)]:
        return "\n".join(line for row in folds for line in _folds(row, table)) + "\n"
    words = {_key(word): term for term in table.glossary for word in (term.word, *term.also.split(",")) if word}
    if asked in words:
        term = words[asked]
        also = f" (also {term.also})" if term.also else ""
        return f"# {term.word}{also}\n\n{term.means}\n\nSource: {term.source}.\n"
    near = get_close_matches(asked, [*table.alterations, *table.observables, *fold_rows(), *words], n=3, cutoff=0.5)
    hint = f"Did you mean {' or '.join(near)}?" if near else "'fitcheck rules' lists all names."
    raise UsageError(f'Nothing is called "{id}".', hint)


def _key(name: str) -> str:
    return name.strip().lower().replace(" ", "_").replace("-", "_")


def _alteration(row: Alteration, table: Knowledge) -> list[str]:
    a = row.amounts
    lines = [f"# {row.name[0].upper()}{row.name[1:]}", "", "## What it is", ""]
    lines.append(f"A change of {row.line}, on {', '.join(row.pieces)}: full at {row.full_at}, nothing at {row.nothing_at}.")
    lines.append(f"The amount is {row.amount_is}.")
    lines += ["", "## How it looks when it is lacking", ""]
    for direction, sign in zip(row.directions, (1.0, -1.0), strict=False):
        lines.append(f"{_capital(direction.name)}, {{mm:{a.usual[1]:g}}} of it:")
        for key, per_10 in {**row.effects.per_10, **row.effects.one_side_per_10}.items():
            observable, _ = table.places[key]
            finding = table.findings[key]
            shown = sign * per_10 * a.usual[1] / 10
            if observable.unit == "mm" and abs(shown) < READS_AS_NOTHING_MM:
                continue
            text = finding.plus if shown > 0 else finding.minus
            text = text.replace("{amount}", f"{{{observable.unit}:{abs(shown):.1f}}}").replace(" {side}", "")
            lines.append(f"- {text}")
    lines += ["", "## How it is done", "", f"Here with {{mm:{a.usual[1]:g}}} of it.", ""]
    for direction in row.directions:
        lines += [_worked(text, a.usual[1]) for text in _direction(direction)]
    lines += ["## Cautions", ""]
    lines.append(f"- Less than {{mm:{a.smallest:g}}} is not worth a cut; {{mm:{a.usual[0]:g}}} to {{mm:{a.usual[1]:g}}} is usual.")
    most = [(direction.name, a.most(sign)) for direction, sign in zip(row.directions, (1.0, -1.0), strict=False)]
    alike = len({most_mm for _, most_mm in most}) == 1
    for name, most_mm in most[:1] if alike else most:
        more = "More" if alike else f"{_capital(name)}: more"
        lines.append(
            f"- {more} than {{mm:{most_mm:g}}} at once asks for a look by an experienced fitter; check size and seam allowance first."
        )
    lines += [f"- Look again at {text}." for text in dict.fromkeys(text for d in row.directions for text in d.look_again)]
    reviewed = "" if a.reviewed and row.effects.reviewed else " Not yet reviewed by an experienced fitter."
    return [*lines, "", "## Sources", "", f"Amounts: {a.source}. What it shows: {row.effects.source}.{reviewed}"]


def _worked(text: str, amount_mm: float) -> str:
    """A step with an amount in place of the wearer's own; what only her drawing knows stays words."""
    text = _DRAWN.sub("as much as the drawing says", text)
    return text.replace("{amount}", f"{{cut:{amount_mm:g}}}").replace("{half_amount}", f"{{cut:{amount_mm / 2:g}}}")


def _direction(direction: Direction) -> list[str]:
    lines = [f"{_capital(direction.name)}:"]
    lines += [f"- {text}" for text in direction.steps]
    for field, label in {**_TISSUES, **_FRONTS}.items():
        lines += [f"- ({label}) {text}" for text in getattr(direction, field)]
    lines += [f"- To match: {text}" for text in direction.matching]
    return [*lines, ""]


def _observable(row: Observable, table: Knowledge) -> list[str]:
    lines = [f"# {_capital(row.name)}", "", f"A number above zero means that {row.plus}.", ""]
    lines.append(f"It counts as fitting within {{{row.unit}:{row.tolerance.amount:g}}} either way.")
    lines += ["", "## How to measure it", "", f"{row.ask}.", "", "## What can be behind it", ""]
    for at in row.levels:
        key = f"{row.id}_{at}" if at else row.id
        for alteration in table.alterations.values():
            per_10 = alteration.effects.per_10.get(key, 0.0) or alteration.effects.one_side_per_10.get(key, 0.0)
            if per_10:
                where = f" ({at})" if at else ""
                lines.append(f"- {alteration.name}{where}: lacking {{mm:10}} of it shows {{{row.unit}:{per_10:g}}} (`{alteration.id}`)")
    return [*lines, "", "## Sources", "", f"Tolerance: {row.tolerance.source}. Straying of cloth: {row.model.source}."]


def _folds(row: FoldRow, table: Knowledge) -> list[str]:
    lines = [f"# {_capital(row.name)}", "", row.says.replace(" {side}", ""), f"They show in the photo from {' or '.join(row.views)}."]
    lines += ["", "## What can be behind it", ""]
    lines += [f"- {name} (`{id}`)" for name, id in zip(row.names(table), row.means, strict=True)]
    lines += ["", "## Cautions", "", "- Folds show that cloth is short or long somewhere, hardly by how much."]
    if row.likelihood_ratio == 1:
        lines.append("- They decide nothing: only a measured gap does.")
    return [*lines, "", "## Sources", "", f"{row.source}.", ""]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
