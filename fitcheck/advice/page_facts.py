"""The few facts of the tables that pages about recorded fittings need, read without checking everything else.

Every check of a fitting goes through `table.knowledge`, which refuses faulty tables; reading all of them that way takes longer than a whole
command on the diary may.
"""

import math
import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from fitcheck.core.diary import Names, Target


@cache
def _blocks(table: str) -> dict[str, dict[str, Any]]:
    text = files("fitcheck.advice").joinpath("knowledge", f"{table}s.toml").read_text("utf-8")
    return {block["id"]: block for block in tomllib.loads(text)[table]}


def target(id: str, at: str, sleeve: str) -> Target | None:
    """What a measurement should read at one level; None for one the tables do not know.

    Parameters
    ----------
    sleeve : {"set_in", "none"}
    """
    row = _blocks("observable").get(id)
    if row is None:
        return None
    tolerance, model = row["tolerance"], row["model"]
    straying = math.hypot(model.get("level_sd", {}).get(at, model["sd"]), tolerance.get("doubt", 0.0))
    return Target(row.get("wanted", {}).get(sleeve, 0.0), tolerance["amount"], straying, row.get("of_body", False))


def alteration_names() -> Names:
    """Plain name of each alteration for amounts above (True) and below zero."""
    blocks = _blocks("alteration")
    return {
        (id, plus): row["plus" if plus or "minus" not in row else "minus"]["name"] for id, row in blocks.items() for plus in (True, False)
    }
